"""What variants have been through since they were switched on, and the circles in which some go for ever."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Codes = NDArray[np.uint64]
Rows = NDArray[np.intp]

_TURNS = 8
"""Turns for which there is room at first."""

_EVEN_V = 1e-6
"""By less than this two phases differ by rounding alone: kept are the first with the most, the last with the least."""

_NEARLY = 1.01
"""By what factor volts over all may differ and still count as about the same."""


class Past:
    """The conditions each row has been through, turn by turn.

    `turns` is how many these are, shape (rows,).
    """

    def __init__(self, conditions: int, rows: int) -> None:
        """Make room for so many conditions and rows."""
        self.turns = np.zeros(rows, dtype=np.intp)
        self._weights = _hash_weights(conditions)
        self._codes = np.zeros((_TURNS, rows), dtype=np.uint64)
        self._notes: list[tuple[Rows, Rows, Flags, Array]] = []

    def note(self, rows: Rows, conditions: Flags, volts: Array) -> None:
        """Note under which conditions some rows stood still, and where: volts of the core and the reference."""
        turns = self.turns[rows]
        if turns.max(initial=0) >= len(self._codes):
            self._codes = np.concatenate([self._codes, np.zeros_like(self._codes)])
        self._codes[turns, rows] = self._weights @ conditions.astype(np.uint64)
        self._notes.append((rows, turns, conditions, volts))
        self.turns[rows] += 1

    def been_there(self, rows: Rows, following: Flags, since: Rows) -> Flags:
        """Tell which rows had been under conditions `following` before, in turn `since` or later."""
        last = self.turns[rows].max(initial=0)
        turn = np.arange(last)[:, None]
        known = self._codes[:last, rows] == self._weights @ following.astype(np.uint64)
        return np.asarray((known & (turn >= since) & (turn < self.turns[rows])).any(axis=0))

    def noted(self, rows: Rows) -> tuple[Flags, Array]:
        """Return all that was noted of some rows: conditions and volts, shape (turns, ..., rows), 0 beyond the last."""
        last = self.turns[rows].max(initial=0)
        _, _, conditions, volts = self._notes[0]
        every = np.zeros((last, len(conditions), len(rows)), dtype=np.bool_)
        stood = np.zeros((last, len(volts), len(rows)))
        column = np.full(len(self.turns), -1)
        column[rows] = np.arange(len(rows))
        for of, turns, conditions, volts in self._notes:
            asked = column[of] >= 0
            every[turns[asked], :, column[of[asked]]] = conditions[:, asked].T
            stood[turns[asked], :, column[of[asked]]] = volts[:, asked].T
        return every, stood

    def circle(self, rows: Rows, back: Flags, every: Flags, levels: Array) -> tuple[Rows, Rows, Flags]:
        """Return the turns of two phases of the circle of rows that are about to come back, and what changes in it.

        The circle is all since they were last under the conditions `back`; the phases are the one with the most
        volts over all, which `levels` tells, shape (turns, rows), and of those with the least the one most unlike it.
        `every` are the conditions noted.
        """
        codes = self._weights @ back.astype(np.uint64)
        inside, restless = np.zeros(len(rows), dtype=np.bool_), np.zeros_like(back)
        first, most = np.zeros(len(rows), dtype=np.intp), np.full(len(rows), -np.inf)
        within = np.zeros(levels.shape, dtype=np.bool_)
        for number, (there, level) in enumerate(zip(every, levels, strict=True)):
            inside = (inside | (self._codes[number, rows] == codes)) & (number < self.turns[rows])
            restless |= (there != back) & inside
            within[number] = inside
            higher = inside & (level > most + _EVEN_V)
            first, most = np.where(higher, number, first), np.where(higher, level, most)
        return first, _lowest(first, within, every, levels), restless


def _lowest(first: Rows, within: Flags, every: Flags, levels: Array) -> Rows:
    """Return, row by row, the phase with the least volts; of those nearly even in that, the one most unlike `first`.

    Which of two phases has a little less changes with a meter put in; what is on and off in it does not.
    """
    start = every[first, :, np.arange(len(first))].T
    least = np.where(within, levels, np.inf).min(axis=0)
    other, most = first, np.full(len(first), -1)
    for number, (there, level) in enumerate(zip(every, levels, strict=True)):
        unlike = (there != start).sum(axis=0)
        better = within[number] & (level <= _NEARLY * least + _EVEN_V) & (unlike >= most)
        other, most = np.where(better, number, other), np.where(better, unlike, most)
    return other


def _hash_weights(count: int) -> Codes:
    numbers = np.arange(1, count + 1, dtype=np.uint64)
    return numbers * np.uint64(0x9E3779B97F4A7C15) ^ (numbers << np.uint64(17))
