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

    def __init__(self) -> None:
        """Keep nothing yet."""
        self._key: object = None
        self._columns: Rows = np.zeros(0, dtype=np.intp)
        self._numbers: Array | None = None

    def get(self, key: object, columns: Rows, work: Callable[[Rows], Array], *, keep: bool = True) -> Array:
        """Return some columns in this order, not to be written to; `work` works those out that are not there.

        Parameters
        ----------
        keep : keep these columns, and no others, where some had to be worked out.
        """
        kept = self._columns if key is self._key else self._columns[:0]
        at = np.minimum(np.searchsorted(kept, columns), len(kept) - 1)
        there = kept[at] == columns if len(kept) else np.zeros(len(columns), dtype=np.bool_)
        new = np.flatnonzero(~there)
        if self._numbers is not None and not len(new):
            return self._numbers[:, at]
        worked = work(columns[new])
        numbers = worked
        if self._numbers is not None and len(new) < len(columns):
            old = np.flatnonzero(there)
            numbers = np.empty((len(worked), len(columns)))
            numbers[:, new], numbers[:, old] = worked, self._numbers[:, at[old]]
        if keep:
            self._key = key
            self._columns, first = np.unique(columns, return_index=True)
            sorted_already = len(first) == len(columns) and bool((np.diff(first) > 0).all())
            self._numbers = numbers if sorted_already else numbers[:, first]
        return numbers
