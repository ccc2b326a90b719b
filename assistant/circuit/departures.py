"""Large matrices of which most columns are, but for a few numbers, one of some patterns.

A fault changes little of a boat's equations: what is eliminated before the fault comes into play is that of the boat
without it, to the last bit.  So a column is kept as the number of its pattern and the numbers in which it departs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

ROUNDING = 1e-12
"""By so small a share of its terms a number differs by rounding alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Departures:
    """A matrix, column by column.

    Attributes
    ----------
    base : the patterns, shape (numbers, patterns).
    pattern : the pattern of each column.
    starts : where the departures of each column begin, and where those of the last end.
    at, values : which number of its column departs, and what it is.
    """

    base: Array
    pattern: Rows
    starts: Rows
    at: NDArray[np.int32]
    values: Array

    @classmethod
    def of(cls, matrix: Array, base: Array, pattern: Rows, size: Array | None = None) -> Departures:
        """Return a matrix as departures.

        Parameters
        ----------
        size : what rounding is measured by, shape of the matrix; the numbers of the patterns when left out.
        """
        known = base[:, pattern]
        near = np.abs(matrix - known) <= ROUNDING * np.abs(known if size is None else size)
        columns, at = np.nonzero(~near.T)
        counts = np.bincount(columns, minlength=matrix.shape[1])
        return cls(
            base=base,
            pattern=pattern,
            starts=_starts(counts),
            at=at.astype(np.int32),
            values=matrix[at, columns],
        )

    def within(self, base: Array, numbers: Rows) -> Departures:
        """Return the columns of a larger matrix, of which these are some `numbers`, and which else are its `base`."""
        return replace(self, base=base, at=numbers[self.at].astype(np.int32))

    @classmethod
    def none(cls, matrix: Array) -> Departures:
        """Return a matrix each column of which is a pattern of its own."""
        count = matrix.shape[1]
        return cls(
            base=matrix,
            pattern=np.arange(count),
            starts=np.zeros(count + 1, dtype=np.intp),
            at=np.zeros(0, dtype=np.int32),
            values=np.zeros(0),
        )

    @classmethod
    def arranged(cls, pieces: Sequence[Departures], order: Rows) -> Departures:
        """Return pieces with the same patterns as one; `order` are the columns, numbered side by side.

        Each piece is written to where it belongs at once: joined first, all would be held twice.
        """
        counts = np.concatenate([np.diff(piece.starts) for piece in pieces])[order]
        starts, place = _starts(counts), np.argsort(order)
        at, values = np.empty(starts[-1], dtype=np.int32), np.empty(starts[-1])
        first = 0
        for piece in pieces:
            to = starts[place[first : first + len(piece.pattern)]]
            there = np.arange(len(piece.at)) + np.repeat(to - piece.starts[:-1], np.diff(piece.starts))
            at[there], values[there] = piece.at, piece.values
            first += len(piece.pattern)
        pattern = np.concatenate([piece.pattern for piece in pieces])[order]
        return cls(base=pieces[0].base, pattern=pattern, starts=starts, at=at, values=values)

    def _found(self, columns: Rows) -> tuple[Rows, Rows]:
        """Return how many departures columns have, and where these stand."""
        first, counts = self.starts[columns], self.starts[columns + 1] - self.starts[columns]
        return counts, np.arange(counts.sum()) + np.repeat(first - np.cumsum(counts) + counts, counts)

    def take(self, numbers: Rows, columns: Rows) -> Array:
        """Return some numbers (each once) of some columns, shape (numbers, columns)."""
        taken = self.base[np.ix_(numbers, self.pattern[columns])]
        counts, found = self._found(columns)
        place = np.full(len(self.base), -1)
        place[numbers] = np.arange(len(numbers))
        row = place[self.at[found]]
        wanted = row >= 0
        column = np.repeat(np.arange(len(columns)), counts)[wanted]
        taken[row[wanted], column] = self.values[found[wanted]]
        return taken


def _starts(counts: Rows) -> Rows:
    return np.concatenate([np.zeros(1, dtype=np.intp), np.cumsum(counts, dtype=np.intp)])
