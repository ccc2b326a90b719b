"""The fault table: what every hypothesis predicts, computed boat state by boat state when first asked for.

A hypothesis at one severity is a cell; each cell is simulated for a few draws of the tolerances.  Readings and signs
of a cell are then mean values with a spread.  Nothing in here is typed in: symptoms are what the simulated boats show.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import (
    BoatState,
    Fault,
    Measurement,
    MeterFunction,
    MeterProfile,
    Solution,
    Solver,
    Variant,
    ohms_shown,
    ready_state,
    volts_shown,
)
from assistant.circuit.solve import Hold
from assistant.diagnosis.model import Hypothesis, SignQuery
from assistant.diagnosis.signs import sign_levels, sign_probabilities

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_DRAWS = 4
_DRAWS_A_SEVERITY = 2
HEALTHY_BOATS = 400
"""Healthy boats drawn within tolerance for a band."""

_HEALTHY_DRAWS = 64


def _draws_of(hypothesis: Hypothesis) -> int:
    """Return how many tolerance draws a cell gets: steps of severity already spread the readings."""
    if not hypothesis.modes:
        return _HEALTHY_DRAWS
    return _DRAWS_A_SEVERITY if len(hypothesis.severities) > 1 else _DRAWS


@dataclass(frozen=True, slots=True)
class Cells:
    """All (hypothesis, severity) pairs in order, and the variants that simulate them.

    Variants come cell by cell; `owner` is the cell's hypothesis, `first` its first variant, `share` the part of the
    hypothesis' weight it carries, `of_variant` the cell of each variant.
    """

    owner: Rows
    share: Array
    first: Rows
    of_variant: Rows
    variants: tuple[Variant, ...]

    def columns(self, cells: Rows) -> tuple[Rows, Rows]:
        """Return the numbers of the variants of some cells, in order, and where each cell's begin among them."""
        ends = np.append(self.first, len(self.variants))
        runs = [np.arange(ends[c], ends[c + 1]) for c in cells]
        counts = np.array([len(r) for r in runs], dtype=np.intp)
        starts = np.cumsum(counts) - counts
        return (np.concatenate(runs) if runs else np.zeros(0, dtype=np.intp)), starts


@dataclass(frozen=True, slots=True)
class Shown:
    """What readings show on the variants of some cells.

    `values` and `unrest` have shape (readings, variants); variants come cell by cell, each cell's from `starts` on,
    `counts` of them.  `linked` tells, between each cell and the next, whether they are neighbouring severities of one
    hypothesis.
    """

    values: Array
    unrest: Array
    starts: Rows
    counts: Rows
    linked: Flags

    def by_cell(self, columns: Array) -> Array:
        """Return the mean over each cell's variants, along the last axis."""
        return np.asarray(np.add.reduceat(columns, self.starts, axis=-1) / self.counts)

    def by_variant(self, columns: Array) -> Array:
        """Return values of cells spread out over their variants, along the last axis."""
        return np.repeat(columns, self.counts, axis=-1)

    def spread(self) -> Array:
        """Return, for each variant, the standard deviation of the values among the variants of its cell."""
        usable = np.nan_to_num(self.values, posinf=0.0)
        mean = self.by_variant(self.by_cell(usable))
        return self.by_variant(np.sqrt(self.by_cell((usable - mean) ** 2)))

    def reach(self) -> tuple[Array, Array]:
        """Return how far below and above its value each cell stands for, shape (readings, cells), both >= 0.

        A fault may be of any severity, the grid has a few: a cell stands for all up to half way to its neighbours.
        """
        mean = self.by_cell(np.nan_to_num(self.values, posinf=0.0))
        half = 0.5 * np.diff(mean, axis=-1) * self.linked
        none = np.zeros_like(mean[..., :1])
        before = np.concatenate([none, -half], axis=-1)
        after = np.concatenate([half, none], axis=-1)
        low = np.minimum(np.minimum(before, after), 0.0)
        high = np.maximum(np.maximum(before, after), 0.0)
        return -low, high


def make_cells(hypotheses: Sequence[Hypothesis]) -> Cells:
    """Return the cells of these hypotheses; the healthy boat gets more tolerance draws than the rest."""
    owner: list[int] = []
    share: list[float] = []
    first: list[int] = []
    of_variant: list[int] = []
    variants: list[Variant] = []
    for number, hypothesis in enumerate(hypotheses):
        for severity in hypothesis.severities:
            faults = tuple(Fault(m.part, m.mode, severity) for m in hypothesis.modes)
            draws = _draws_of(hypothesis)
            owner.append(number)
            share.append(1.0 / len(hypothesis.severities))
            first.append(len(variants))
            of_variant.extend([len(owner) - 1] * draws)
            variants.extend(Variant(faults=faults, draw=1 + (len(variants) + d) % _HEALTHY_DRAWS) for d in range(draws))
    return Cells(
        np.array(owner, dtype=np.intp),
        np.array(share),
        np.array(first, dtype=np.intp),
        np.array(of_variant, dtype=np.intp),
        tuple(variants),
    )


def healthy_cells() -> Cells:
    """Return one cell of many healthy boats, the nominal one first."""
    variants = tuple(Variant(draw=d) for d in range(HEALTHY_BOATS + 1))
    return Cells(
        np.zeros(1, dtype=np.intp),
        np.ones(1),
        np.zeros(1, dtype=np.intp),
        np.zeros(len(variants), dtype=np.intp),
        variants,
    )


class StateTable:
    """Predictions of all variants in one boat state."""

    def __init__(self, solver: Solver, cells: Cells, state: BoatState, meter: MeterProfile, draws: int) -> None:
        self._draws = draws
        self._solver = solver
        self._cells = cells
        self._meter = meter
        self.state = state
        self.solution: Solution = solver.solve(state, cells.variants, draws=draws)
        firsts = [cells.variants[i] for i in cells.first]
        self._levels: dict[SignQuery, Array] = {}
        self._hold: Hold = solver.hold(self.solution, firsts, cells.first, draws=draws)

    def shown(self, readings: Sequence[Measurement], cells: Rows | None = None) -> Shown:
        """Return what readings in this state would show on some cells (all when left out).

        All readings must be of one function.  Variants that alternate show the mean of both phases, and their
        unrest; those without a solution show nan.
        """
        of_cell = np.arange(len(self._cells.owner)) if cells is None else cells
        columns, starts = self._cells.columns(of_cell)
        network = self._solver.network
        red = np.array([network.node(m.red) for m in readings], dtype=np.intp)
        black = np.array([network.node(m.black) for m in readings], dtype=np.intp)
        counts = np.diff(np.append(starts, len(columns)))
        linked = (np.diff(of_cell) == 1) & (np.diff(self._cells.owner[of_cell]) == 0)
        ohm = np.repeat(self._hold.between(red, black, of_cell), counts, axis=1)
        failed = self.solution.failed[columns]
        if readings[0].function is not MeterFunction.DC_VOLTS:
            values = np.where(failed, np.nan, ohms_shown(ohm, self._meter))
            return Shown(values, np.zeros_like(values), starts, counts, linked)
        phase, other = self.solution.phase.volts[:, columns], self.solution.other.volts[:, columns]
        first, second = phase[red] - phase[black], other[red] - other[black]
        values = volts_shown(0.5 * (first + second), ohm, self._meter)
        return Shown(np.where(failed, np.nan, values), 0.5 * np.abs(first - second), starts, counts, linked)

    def levels(self, query: SignQuery) -> Array:
        """Return how likely each level of a sign shows on each cell, shape (levels, cells)."""
        if query not in self._levels:
            network, variants = self._solver.network, self._cells.variants
            chances = sign_probabilities(network, self.solution, query, variants, self._draws)
            self._levels[query] = self.mean_of_cells(chances)
        return self._levels[query]

    def mean_of_cells(self, columns: Array) -> Array:
        """Return the mean over the variants of each cell, along the last axis."""
        counts = np.bincount(self._cells.of_variant)
        return np.asarray(np.add.reduceat(columns, self._cells.first, axis=-1) / counts)


class FaultTable:
    """Predictions of every hypothesis in every boat state, each state simulated when first needed."""

    def __init__(self, solver: Solver, hypotheses: Sequence[Hypothesis], meter: MeterProfile) -> None:
        self.solver = solver
        self.hypotheses = tuple(hypotheses)
        self.cells = make_cells(hypotheses)
        self.meter = meter
        self.highest_v = _highest_volts(solver)
        self._states: dict[BoatState, StateTable] = {}
        self._healthy: dict[BoatState, StateTable] = {}

    def state(self, state: BoatState) -> StateTable:
        """Return the predictions in a boat state."""
        if state not in self._states:
            self._states[state] = StateTable(self.solver, self.cells, state, self.meter, _HEALTHY_DRAWS)
        return self._states[state]

    def healthy(self, state: BoatState) -> StateTable:
        """Return what many healthy boats show in a boat state, the nominal boat first."""
        if state not in self._healthy:
            self._healthy[state] = StateTable(self.solver, healthy_cells(), state, self.meter, HEALTHY_BOATS)
        return self._healthy[state]

    def is_known(self, state: BoatState) -> bool:
        """Tell whether a state has been simulated already."""
        return state in self._states

    def level_names(self, query: SignQuery) -> tuple[str, ...]:
        """Return the names of a sign's levels, in the order of `StateTable.levels`."""
        return sign_levels(self.solver.network.parts[query.part].kind.signs[query.sign])


def _highest_volts(solver: Solver) -> float:
    """Return the highest voltage between any two nodes of the nominal boat, plugged in and ready (at least 1 V)."""
    volts = solver.solve(ready_state(solver.network.boat), [Variant()]).phase.volts
    return max(1.0, float(volts.max() - volts.min()))
