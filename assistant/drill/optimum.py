"""The exact optimum: how few steps any way of choosing needs, where the suspects are few enough to try them all.

A boat with its complaint is made a puzzle: each story that is left (a fault at one severity) gives one outcome at each
step on offer.  Dynamic programming over the sets of stories then finds the least mean number of steps after which only
one repair is left, or only such as nothing tells apart.  The tool's own rule plays the same puzzle.  Both play without
meter noise and without the second answer that confirms a verdict, so the two figures differ by the choice alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import BoatState, Measurement
from assistant.diagnosis import Belief, Diagnosis, SignQuery
from assistant.diagnosis.choose import Field, field_of, forecast, gains_bits, sign_outcomes
from assistant.diagnosis.ending import foremost
from assistant.diagnosis.table import cells_behind
from assistant.diagnosis.verdict import standing_repairs

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

MOST_SUSPECTS = 12
"""So many repairs may be in question for the optimum to be worked out."""

_MOST_SETS = 5_000
"""So many sets of stories are gone through before a puzzle counts as too large."""


class TooLargeError(Exception):
    """A puzzle has more sets of stories than are gone through."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Puzzle:
    """Stories in question and what each step would show on each.

    Attributes
    ----------
    weights : of the stories, shape (stories,), sum 1.
    repairs : number of each story's repair, shape (stories,).
    outcomes : number of the outcome of each step on each story, shape (steps, stories).
    """

    weights: Array
    repairs: Rows
    outcomes: Rows

    def all(self) -> Rows:
        """Return the numbers of all stories."""
        return np.arange(len(self.weights))

    def is_single(self, stories: Rows) -> bool:
        """Tell whether one repair cures all of these stories."""
        return bool((self.repairs[stories] == self.repairs[stories[0]]).all())

    def splits(self, stories: Rows) -> Rows:
        """Return the different ways in which steps part these stories, shape (ways, stories), outcomes renumbered."""
        ways = np.array([_renumbered(row) for row in self.outcomes[:, stories]])
        return np.unique(ways[ways.max(axis=1) > 0], axis=0)

    def gains(self, stories: Rows, ways: Rows) -> Array:
        """Return the information (bits) about the repair that each way of parting brings."""
        order = np.argsort(self.repairs[stories], kind="stable")
        weights = self.weights[stories][order, None]
        _, repairs = np.unique(self.repairs[stories][order], return_inverse=True)
        field = Field(
            stories[order], weights / weights.sum(), repairs.astype(np.intp), int(repairs.max()) + 1
        )
        shown = ways[:, order]
        chances = (shown[:, None, :] == np.arange(int(ways.max()) + 1)[None, :, None]).astype(np.float64)
        return gains_bits(field, chances)


def _renumbered(row: Rows) -> Rows:
    """Return the outcomes numbered in the order in which they come up."""
    _, first, inverse = np.unique(row, return_index=True, return_inverse=True)
    return np.asarray(np.argsort(np.argsort(first))[inverse], dtype=np.intp)


def puzzle_of(diagnosis: Diagnosis, belief: Belief, states: Sequence[BoatState]) -> Puzzle | None:
    """Return the puzzle that a belief leaves, or None when more than `MOST_SUSPECTS` repairs are in question."""
    table = diagnosis.table
    standing = standing_repairs(table, belief)
    if len(standing) > MOST_SUSPECTS:
        return None
    field = field_of(table, belief)
    kept = np.flatnonzero(cells_behind(table, standing)[field.cells])
    if len(set(field.repairs[kept].tolist())) < 2:
        return None
    weights = field.weights.sum(axis=1)[kept]
    small = Field(field.cells[kept], field.weights[kept], field.repairs[kept], field.count)
    rows = list(_outcome_rows(diagnosis, small, states))
    outcomes = np.unique(np.concatenate(rows), axis=0)
    return Puzzle(weights=weights / weights.sum(), repairs=field.repairs[kept], outcomes=outcomes)


def _outcome_rows(diagnosis: Diagnosis, field: Field, states: Sequence[BoatState]) -> Iterator[Rows]:
    """Yield, state by state, the likeliest outcome of every step on the nominal boat of every story."""
    draws = field.weights.shape[1]
    for state in states:
        offered = [o.what for o in diagnosis.offers((state,)).all(field, state, None)]
        readings = [what for what in offered if isinstance(what, Measurement)]
        for first in range(0, len(readings), 64):
            chances = forecast(diagnosis.table, field, readings[first : first + 64]).outcomes(field)
            yield chances.argmax(axis=1)[:, ::draws]
        for query in (what for what in offered if isinstance(what, SignQuery)):
            yield sign_outcomes(diagnosis.table, field, query).argmax(axis=0)[None, ::draws]


def fewest_steps(puzzle: Puzzle) -> float:
    """Return the least mean number of steps that any way of choosing needs.

    Raises
    ------
    TooLargeError
        When more sets of stories come up than are gone through.
    """
    return _Search(puzzle).cost(puzzle.all())


class _Search:
    """Dynamic programming over sets of stories; a branch is left as soon as it cannot be the best."""

    def __init__(self, puzzle: Puzzle) -> None:
        self._puzzle = puzzle
        self._known: dict[bytes, float] = {}

    def cost(self, stories: Rows) -> float:
        """Return the least cost of a set: mean steps times its weight."""
        if self._puzzle.is_single(stories):
            return 0.0
        key = stories.tobytes()
        if key not in self._known:
            if len(self._known) >= _MOST_SETS:
                raise TooLargeError
            self._known[key] = self._search(stories)
        return self._known[key]

    def _search(self, stories: Rows) -> float:
        ways = self._puzzle.splits(stories)
        if not len(ways):
            return 0.0
        own = float(self._puzzle.weights[stories].sum())
        gains = self._puzzle.gains(stories, ways)
        best = np.inf
        for way in ways[np.argsort(-gains, kind="stable")]:
            if best <= own + 1e-12:
                break
            cost = own
            for part in _parts(stories, way):
                cost += self.cost(part)
                if cost >= best:
                    break
            best = min(best, cost)
        return best


def _parts(stories: Rows, way: Rows) -> list[Rows]:
    return [stories[way == outcome] for outcome in range(int(way.max()) + 1)]


def greedy_steps(puzzle: Puzzle) -> float:
    """Return the mean number of steps of the tool's rule.

    Each is the one with the most information about the repair, or one of nearly as much that more often ends the hunt.
    """

    def cost(stories: Rows) -> float:
        if puzzle.is_single(stories):
            return 0.0
        ways = puzzle.splits(stories)
        if not len(ways):
            return 0.0
        gains = puzzle.gains(stories, ways)
        if gains.max() < 1e-9:
            return 0.0
        own = float(puzzle.weights[stories].sum())

        def ends(way: int) -> float:
            return (
                sum(float(puzzle.weights[p].sum()) for p in _parts(stories, ways[way]) if puzzle.is_single(p))
                / own
            )

        chosen = ways[foremost(gains.tolist(), ends)]
        return own + sum(cost(part) for part in _parts(stories, chosen))

    return cost(puzzle.all())
