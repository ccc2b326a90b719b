"""Numbers worked out column by column, kept for the columns last asked for.

From one question to the next the boats in question are mostly the same ones, so most columns are there already.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Rows = NDArray[np.intp]


class Columns:
    """Columns of numbers that hang on nothing but their number, and on what (`key`) they are the numbers of."""

    def __init__(self, count: int) -> None:
        """Keep nothing yet, of so many columns that there are."""
        self._place = np.full(count, -1)
        self._key: object = None
        self._numbers: Array | None = None

    def get(self, key: object, columns: Rows, work: Callable[[Rows], Array], *, keep: bool = True) -> Array:
        """Return some columns in this order, not to be written to; `work` works those out that are not there.

        Parameters
        ----------
        keep : keep these columns, and no others, where some had to be worked out.
        """
        at = self._place[columns] if key is self._key else np.full(len(columns), -1)
        new = np.flatnonzero(at < 0)
        if self._numbers is not None and not len(new):
            return self._numbers[:, at]
        worked = work(columns[new])
        numbers = worked
        if self._numbers is not None and len(new) < len(columns):
            old = np.flatnonzero(at >= 0)
            numbers = np.empty((len(worked), len(columns)))
            numbers[:, new], numbers[:, old] = worked, self._numbers[:, at[old]]
        if keep:
            self._place[:] = -1
            self._place[columns] = np.arange(len(columns))
            self._key, self._numbers = key, numbers
        return numbers
