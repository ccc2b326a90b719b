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
        self._hold: Hold = solver.hold(self.solution, firsts, cells.first, draws=draws)
        self._seen: dict[tuple[int, int], Array] = {}

    def values(self, measurement: Measurement) -> Array:
        """Return what a perfect meter of this input resistance would show on each variant; nan where unsolved."""
        network = self._solver.network
        red, black = network.node(measurement.red), network.node(measurement.black)
        ohm = self._source_ohm(red, black)
        if measurement.function is MeterFunction.DC_VOLTS:
            phase, other = self.solution.phase, self.solution.other
            first = phase.volts[red] - phase.volts[black]
            second = other.volts[red] - other.volts[black]
            shown = volts_shown(0.5 * (first + second), ohm, self._meter)
        else:
            shown = ohms_shown(ohm, self._meter)
        return np.where(self.solution.failed, np.nan, shown)

    def _source_ohm(self, red: int, black: int) -> Array:
        key = (min(red, black), max(red, black))
        if key not in self._seen:
            self._seen[key] = self._hold.between(*key)
        return np.asarray(self._seen[key][self._cells.of_variant])

    def levels(self, query: SignQuery) -> Array:
        """Return how likely each level of a sign shows on each cell, shape (levels, cells)."""
        chances = sign_probabilities(self._solver.network, self.solution, query, self._cells.variants, self._draws)
        return self.mean_of_cells(chances)

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
