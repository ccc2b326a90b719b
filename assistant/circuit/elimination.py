"""Sparse elimination of many equally structured systems at once.

Wiring is nearly a tree, so a fill-reducing order leaves a handful of neighbours at each pivot.  The order is worked
out once for the network; the numbers are then eliminated pivot by pivot with every variant of the boat in one numpy
row.  The cost per variant grows in proportion to the network, and an open needs no special care: it is a zero.
Diagonal pivots suffice, because every node leaks a little to the reference and sources stand behind resistances.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

_CROWDED = 8
_ALL = slice(None)


@dataclass(frozen=True, slots=True)
class Step:
    """The elimination of one node: its neighbours left, and where the entries between them are kept.

    `lines` is the same, a neighbour a line, for going through one by one, which is quicker with many variants: the
    neighbour, its entry in the pivot's column, and of all neighbours the entry in its row and that in the pivot's.
    """

    pivot: int
    diagonal: int
    others: Index
    column: Index
    row: Index
    square: Index
    lines: tuple[tuple[int, int, tuple[tuple[int, int], ...]], ...]


@dataclass(frozen=True, slots=True)
class Pattern:
    """Where each matrix entry is kept, and in which order nodes are eliminated.

    `slots` maps ``(row, column)`` to a row of the value array; `early` is the number of first steps that touch
    only nodes whose equations do not change while a solution is being refined.
    """

    size: int
    slots: dict[tuple[int, int], int]
    steps: tuple[Step, ...]
    early: int

    @property
    def entries(self) -> int:
        """Return the number of kept matrix entries."""
        return len(self.slots)


def make_pattern(size: int, couplings: Iterable[Sequence[int]], late: frozenset[int]) -> Pattern:
    """Return the elimination pattern of a network.

    Parameters
    ----------
    size : number of unknown nodes.
    couplings : groups of nodes whose equations share entries (the nodes of each element).
    late : nodes that carry changing elements; they are eliminated last.

    Notes
    -----
    Minimum degree among the early nodes, then among the rest (Tinney's second scheme, from memory).
    """
    neighbours: list[set[int]] = [set() for _ in range(size)]
    for group in couplings:
        for a in group:
            neighbours[a].update(b for b in group if b != a)
    slots: dict[tuple[int, int], int] = {}

    def slot(a: int, b: int) -> int:
        return slots.setdefault((a, b), len(slots))

    steps: list[Step] = []
    left = [set(n) for n in neighbours]
    waiting = set(range(size)) - late
    early = 0
    remaining = set(range(size))
    while remaining:
        pool = waiting or remaining
        pivot = min(pool, key=lambda n: (len(left[n]), n))
        if waiting and len(left[pivot]) > _CROWDED:
            waiting = set()
            continue
        others = sorted(left[pivot])
        steps.append(make_step(pivot, others, slot))
        for a in others:
            left[a].discard(pivot)
            left[a].update(b for b in others if b != a)
        early += bool(waiting)
        waiting.discard(pivot)
        remaining.discard(pivot)
    return Pattern(size, slots, tuple(steps), early)


def widened(pattern: Pattern, couplings: Iterable[Sequence[int]]) -> Pattern:
    """Return a pattern with further couplings, nodes eliminated in the same order; its first entries are the same."""
    left: list[set[int]] = [set() for _ in range(pattern.size)]
    for group in (*pattern.slots, *couplings):
        for a in group:
            left[a].update(b for b in group if b != a)
    slots = dict(pattern.slots)
    steps = []
    for pivot in (step.pivot for step in pattern.steps):
        others = sorted(left[pivot])
        steps.append(make_step(pivot, others, lambda a, b: slots.setdefault((a, b), len(slots))))
        for a in others:
            left[a].discard(pivot)
            left[a].update(b for b in others if b != a)
    return Pattern(pattern.size, slots, tuple(steps), pattern.early)


def make_step(pivot: int, others: Sequence[int], slot: Callable[[int, int], int]) -> Step:
    """Return the elimination of a node with these neighbours; `slot` tells where an entry is kept."""
    diagonal = slot(pivot, pivot)
    column = [slot(o, pivot) for o in others]
    row = [slot(pivot, o) for o in others]
    square = [[slot(a, b) for b in others] for a in others]
    return Step(
        pivot=pivot,
        diagonal=diagonal,
        others=np.array(others, dtype=np.intp),
        column=np.array(column, dtype=np.intp),
        row=np.array(row, dtype=np.intp),
        square=np.array(square, dtype=np.intp).reshape(-1),
        lines=tuple(
            (other, entry, tuple(zip(line, row, strict=True)))
            for other, entry, line in zip(others, column, square, strict=True)
        ),
    )


def rest_of(pattern: Pattern) -> tuple[Pattern, Index]:
    """Return the pattern of what the early steps leave, nodes in order of elimination, and where its entries are."""
    steps = pattern.steps[pattern.early :]
    place = {step.pivot: number for number, step in enumerate(steps)}
    kept = {(a, b): slot for (a, b), slot in pattern.slots.items() if a in place and b in place}
    slots = {(place[a], place[b]): number for number, (a, b) in enumerate(kept)}
    rest = tuple(
        make_step(
            place[step.pivot], [place[other] for other in step.others.tolist()], lambda a, b: slots[a, b]
        )
        for step in steps
    )
    return Pattern(len(place), slots, rest, 0), np.array(list(kept.values()), dtype=np.intp)


def eliminate(steps: Sequence[Step], values: Array, sources: Array) -> None:
    """Eliminate some steps in place.

    Parameters
    ----------
    values : matrix entries, shape (entries, variants); multipliers replace the eliminated columns.
    sources : right-hand sides, shape (size, variants).
    """
    entries, sides, product = list(values), list(sources), np.empty(values.shape[1])
    for step in steps:
        inverse, sent = 1.0 / entries[step.diagonal], sides[step.pivot]
        for other, entry, square in step.lines:
            factor, side = entries[entry], sides[other]
            factor *= inverse
            np.multiply(factor, sent, out=product)
            side -= product
            for target, row in square:
                changed = entries[target]
                np.multiply(factor, entries[row], out=product)
                changed -= product


def substitute(
    steps: Sequence[Step], values: Array, sources: Array, volts: Array, columns: Index | slice = _ALL
) -> None:
    """Fill in the voltages of some steps, after elimination, shape (at least size, variants).

    Parameters
    ----------
    columns : the variants of `values` and `sources` that `volts` are of.
    """
    for step in reversed(steps):
        rest = sources[step.pivot][columns]
        for other, row in zip(step.others.tolist(), step.row.tolist(), strict=True):
            rest = rest - values[row][columns] * volts[other]
        np.divide(rest, values[step.diagonal][columns], out=volts[step.pivot])


def sources_of(pattern: Pattern, values: Array, volts: Array) -> tuple[Array, Array]:
    """Return the right-hand sides from which `substitute` finds these voltages, and the sum of their terms' sizes."""
    sources, sizes = np.empty((2, pattern.size, volts.shape[1]))
    for step in pattern.steps:
        own = values[step.diagonal] * volts[step.pivot]
        others = values[step.row] * volts[step.others]
        sources[step.pivot] = own + others.sum(axis=0)
        sizes[step.pivot] = np.abs(own) + np.abs(others).sum(axis=0)
    return sources, sizes


def solve_densely(places: Index, values: Array, sources: Array) -> Array:
    """Return the solutions of a handful of systems, shape (size, variants), which is then quicker than elimination.

    Parameters
    ----------
    places : row and column of each matrix entry, shape (2, entries).
    values : the entries, shape (entries, variants).
    sources : right-hand sides, shape (size, variants).

    Raises
    ------
    numpy.linalg.LinAlgError
        When one of the systems is singular.
    """
    size, variants = sources.shape
    matrix = np.zeros((variants, size, size))
    matrix[:, places[0], places[1]] = values.T
    return np.asarray(np.linalg.solve(matrix, sources.T[..., None])[..., 0].T)


def solve_again(pattern: Pattern, values: Array, sources: Array) -> Array:
    """Return the voltages for further right-hand sides of already eliminated systems.

    `sources` has shape (size, variants) or (size, sides, variants) and is left as it was.
    """
    work = sources.copy()
    for step in pattern.steps:
        if len(step.others):
            factor = values[step.column]
            if work.ndim == 3:
                factor = factor[:, None, :]
            work[step.others] -= factor * work[step.pivot]
    volts = np.empty_like(work)
    for step in reversed(pattern.steps):
        rest = work[step.pivot]
        if len(step.others):
            row = values[step.row]
            if work.ndim == 3:
                row = row[:, None, :]
            rest = rest - (row * volts[step.others]).sum(axis=0)
        volts[step.pivot] = rest / values[step.diagonal]
    return volts


def selected_inverse(pattern: Pattern, values: Array) -> Array:
    """Return the entries of the inverse wherever the pattern keeps one, shape (entries, variants).

    Notes
    -----
    Takahashi's recursion (1973, from memory): from the last pivot backwards, each entry needs only entries between
    the neighbours of its pivot, which the pattern keeps.
    """
    inverse = np.empty_like(values)
    for step in reversed(pattern.steps):
        if not len(step.others):
            inverse[step.diagonal] = 1.0 / values[step.diagonal]
            continue
        count = len(step.others)
        square = inverse[step.square].reshape(count, count, -1)
        upper = values[step.row] / values[step.diagonal]
        inverse[step.row] = -(upper[:, None] * square).sum(axis=0)
        inverse[step.column] = -(square * values[step.column][None]).sum(axis=1)
        inverse[step.diagonal] = 1.0 / values[step.diagonal] - (upper * inverse[step.column]).sum(axis=0)
    return inverse
