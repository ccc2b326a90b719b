"""What readings show on some cells, and how far each cell stands for severities between the rungs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Shown:
    """What readings show on every draw of some cells.

    `values`, `unrest` and `loaded` have shape (readings, cells, draws); `loaded` is the share of the volts between two
    points that the meter's own input takes away, or the share of its rated volts that a test lamp pulls down, else 0.
    `near` and `smooth` tell of each draw whether each cell and the next are severities of one story, and whether the
    one goes over into the other without anything coming on or going off; both have shape (cells - 1, draws).  `lean` is
    that of the cells.
    """

    values: Array
    unrest: Array
    loaded: Array
    near: Flags
    smooth: Flags
    lean: Array

    def spread(self) -> Array:
        """Return the standard deviation among the draws of each cell, shape (readings, cells, 1)."""
        usable = np.nan_to_num(self.values, posinf=0.0)
        return np.asarray(usable.std(axis=2, keepdims=True))

    def reach(self) -> tuple[Array, Array]:
        """Return how far below and above its value each cell stands for, shape of `values`, both >= 0.

        A fault may be of any severity, the grid has a few: a cell stands for all up to half way to its neighbours.
        Towards the end of the range, or half way to where something comes on or goes off, it goes on as on its other
        side; with that on either side, a cell stands for as much as half way to the nearer neighbour.
        """
        usable = np.nan_to_num(self.values, posinf=0.0)
        half = 0.5 * np.diff(usable, axis=1)
        none, end = np.zeros_like(usable[:, :1]), np.zeros((1, usable.shape[2]), dtype=np.bool_)
        before, after = np.concatenate([none, -half], axis=1), np.concatenate([half, none], axis=1)
        first, last = np.concatenate([end, self.smooth]), np.concatenate([self.smooth, end])
        lean = self.lean[:, None]
        below = np.where(first, before, np.where(last, -after * lean, 0.0))
        above = np.where(last, after, np.where(first, -before / lean, 0.0))
        low = np.minimum(np.minimum(below, above), 0.0)
        high = np.maximum(np.maximum(below, above), 0.0)
        nearer = self._nearer(half)
        return np.where(first | last, -low, nearer), np.where(first | last, high, nearer)

    def _nearer(self, half: Array) -> Array:
        """Return how far it is half way to the nearer neighbour of each cell, 0 without one."""
        far = np.full((len(half), 1, half.shape[2]), np.inf)
        away = np.where(self.near, np.abs(half), np.inf)
        nearer = np.minimum(np.concatenate([far, away], axis=1), np.concatenate([away, far], axis=1))
        return np.where(np.isinf(nearer), 0.0, nearer)
