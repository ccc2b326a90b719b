"""The fault table: what every hypothesis predicts, computed boat state by boat state when first asked for.

A hypothesis at one severity is a cell; each cell is simulated for a few draws of the tolerances.  Readings and signs
of a cell are then mean values with a spread.  Nothing in here is typed in: symptoms are what the simulated boats show.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from copy import copy
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import (
    BoatState,
    Fault,
    Measurement,
    MeterFunction,
    MeterProfile,
    Solver,
    Survey,
    Variant,
    gaps_by_ends,
    is_unplugged,
    ohms_shown,
    ready_state,
    share_loaded,
    volts_shown,
)
from assistant.diagnosis.cells import Cells, at_any_moment, healthy_cells, make_cells, plain_cells
from assistant.diagnosis.glimpses import Glimpses
from assistant.diagnosis.instruments import Instruments
from assistant.diagnosis.model import Evidence, Hypothesis, RepairId, SignQuery, Trial
from assistant.diagnosis.recent import Recent
from assistant.diagnosis.regimes import regimes_of
from assistant.diagnosis.shown import Shown
from assistant.diagnosis.signs import SignModel, sign_levels
from assistant.diagnosis.tolerances import Sight
from assistant.diagnosis.trials import Moved, moved_by

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_ANSWERS = 24
"""Answers of which is kept how likely they are on every cell; few hunts have more."""


class StateTable:
    """Predictions of all cells in one boat state."""

    def __init__(
        self, solver: Solver, cells: Cells, state: BoatState, meter: MeterProfile, signs: SignModel
    ) -> None:
        self._solver = solver
        self._signs = signs
        self._cells = cells
        self._meter = meter
        self.state = state
        self._tolerances = cells.tolerances
        self.survey: Survey = solver.survey(state, cells.variants, draws=self._tolerances)
        self._levels: dict[SignQuery, Array] = {}
        self._without: dict[str, Rows] = {}
        self._everywhere: Recent[Measurement, Shown] = Recent(_ANSWERS)
        self._near, self._smooth = _neighbours(cells, self.survey)
        # What holds a node hardly matters to volts, so one draw of a cell serves; ohms are read from it.
        self._stride = 1 if is_unplugged(solver.network.boat, state) else cells.draws
        self._instruments = Instruments(
            solver=solver,
            survey=self.survey,
            variants=cells.variants,
            tolerances=self._tolerances,
            stride=self._stride,
            meter=meter,
        )

    def shown_everywhere(self, reading: Measurement) -> Shown:
        """Return what a reading in this state would show on all cells."""
        return self._everywhere.get(reading, lambda: self.shown([reading]))

    def shown(self, readings: Sequence[Measurement], cells: Rows | None = None) -> Shown:
        """Return what readings in this state would show on some cells (all when left out).

        All readings must be of one function.  Variants that alternate show the mean of both phases, and their
        unrest; those without a solution show nan.
        """
        function = readings[0].function
        of_cell = np.arange(len(self._cells.owner)) if cells is None else cells
        draws = self._cells.draws
        columns = (of_cell[:, None] * draws + np.arange(draws)).reshape(-1)
        shape = (len(readings), len(of_cell), draws)
        network = self._solver.network
        red = np.array([network.node(m.red) for m in readings], dtype=np.intp)
        black = np.array([network.node(m.black) for m in readings], dtype=np.intp)
        failed = self.survey.failed[columns]
        unrest = loaded = np.zeros((len(readings), len(columns)))
        if function is MeterFunction.DIODE_TEST:
            values = self._instruments.diodes(red, black, columns)
        elif function.is_inserted:
            values, unrest = self._amps(readings, of_cell)
        elif function.is_pulsed:
            values, unrest = self._instruments.pulses(function, red, black, columns)
        elif function is MeterFunction.AC_MILLIVOLTS:
            values = self._instruments.ripple(red, black, columns)
        elif function is MeterFunction.LAMP:
            values, unrest, loaded = self._instruments.lamp(red, black, columns)
        elif function.is_dead:
            values = ohms_shown(self._ohm(red, black, columns, exact=True), self._meter)
        else:
            ohm = self._ohm(red, black, columns, exact=False)
            nodes = np.concatenate([red, black])
            both = (phase.volts_at(nodes, columns) for phase in (self.survey.phase, self.survey.other))
            first, second = (volts[: len(red)] - volts[len(red) :] for volts in both)
            values = volts_shown(0.5 * (first + second), ohm, self._meter)
            unrest, loaded = 0.5 * np.abs(first - second), share_loaded(ohm, self._meter)
        values = np.where(failed, np.nan, values)
        before, adjacent = of_cell[:-1], (np.diff(of_cell) == 1)[:, None]
        near, smooth = self._near[before] & adjacent, self._smooth[before] & adjacent
        return Shown(
            values=values.reshape(shape),
            unrest=unrest.reshape(shape),
            loaded=loaded.reshape(shape),
            near=near,
            smooth=smooth,
            lean=self._cells.lean[of_cell],
        )

    def _ohm(self, red: Rows, black: Rows, columns: Rows, *, exact: bool) -> Array:
        """Return the resistance (ohm) that a meter sees between nodes, shape (readings, columns)."""
        first = columns[:: self._stride]
        return np.repeat(self.survey.hold.between(red, black, first, exact=exact), self._stride, axis=1)

    def _amps(self, readings: Sequence[Measurement], of_cell: Rows) -> tuple[Array, Array]:
        """Return the current through a meter, and its unrest, shape (readings, columns); nan where nothing is known."""
        draws = self._cells.draws
        known = gaps_by_ends(self._solver.network.boat)
        gaps = [known.get(frozenset((reading.red, reading.black))) for reading in readings]
        there = np.stack(
            [np.full(len(of_cell), -1) if g is None else self._opened(g.place)[of_cell] for g in gaps]
        )
        cells, at = np.unique(np.maximum(there, 0), return_inverse=True)
        columns = (cells[:, None] * draws + np.arange(draws)).reshape(-1)
        values = np.full((len(readings), len(of_cell), draws), np.nan)
        unrest = np.zeros_like(values)
        opened = [n for n, gap in enumerate(gaps) if gap is not None]
        within = [(gap, reading.red) for gap, reading in zip(gaps, readings, strict=True) if gap is not None]
        first, second = self._instruments.amps(within, columns).reshape(2, len(opened), len(cells), draws)
        for row, number in enumerate(opened):
            own = at.reshape(there.shape)[number]
            lost = (there[number] < 0)[:, None] | self.survey.failed.reshape(-1, draws)[cells[own]]
            values[number] = np.where(lost, np.nan, 0.5 * (first + second)[row, own])
            unrest[number] = np.where(lost, 0.0, 0.5 * np.abs(first - second)[row, own])
        return values.reshape(len(readings), -1), unrest.reshape(len(readings), -1)

    def _opened(self, place: str) -> Rows:
        """Return which cell each cell is with a meter in a place, whose own faults are gone then; -1 where none is."""
        if place not in self._without:
            without = np.arange(len(self._faults))
            for cell in self._cells_at.get(place, ()):
                left = frozenset(f for f in self._faults[cell] if f.part != place)
                without[cell] = self._cell_of.get(left, -1)
            self._without[place] = without
        return self._without[place]

    @cached_property
    def _faults(self) -> tuple[frozenset[Fault], ...]:
        """The faults of each cell."""
        variants, draws = self._cells.variants, self._cells.draws
        return tuple(frozenset(variants[i].faults) for i in range(0, len(variants), draws))

    @cached_property
    def _cell_of(self) -> Mapping[frozenset[Fault], int]:
        """The first cell of some faults."""
        return {faults: cell for cell, faults in reversed(list(enumerate(self._faults)))}

    @cached_property
    def _cells_at(self) -> Mapping[str, Sequence[int]]:
        """The cells with a fault at each place."""
        found: dict[str, list[int]] = {}
        for cell, faults in enumerate(self._faults):
            for place in {fault.part for fault in faults}:
                found.setdefault(place, []).append(cell)
        return found

    def levels(self, query: SignQuery) -> Array:
        """Return how likely each level of a sign shows, shape (levels, cells, draws)."""
        if query not in self._levels:
            chances = self._signs.probabilities(self.survey, query)
            self._levels[query] = chances.reshape(len(chances), -1, self._cells.draws)
        return self._levels[query]

    def levels_at(self, query: SignQuery, cells: Rows) -> Array:
        """Return the same for some cells; of signs that are only thought of, no others are worked out."""
        known = self._levels.get(query)
        return self.glimpses.at(query, cells) if known is None else known[:, cells]

    @cached_property
    def glimpses(self) -> Glimpses:
        """What the signs on offer show on cells in question."""
        return Glimpses(self._solver, self.survey, self._cells)


def _neighbours(cells: Cells, survey: Survey) -> tuple[Flags, Flags]:
    """Tell of each draw whether each cell and the next are one story, and whether nothing comes on or goes off there.

    Both have shape (cells, draws); behind the last cell comes none.
    """
    solved = ~survey.failed.reshape(-1, cells.draws)
    near = cells.linked[:, None] & solved[1:] & solved[:-1]
    regimes = regimes_of(survey).reshape(-1, len(cells.owner), cells.draws)
    smooth = near & (regimes[:, 1:] == regimes[:, :-1]).all(axis=0)
    end = np.zeros((1, cells.draws), dtype=np.bool_)
    return np.concatenate([near, end]), np.concatenate([smooth, end])


class FaultTable:
    """Predictions of every hypothesis in every boat state, each state simulated when first needed."""

    def __init__(self, solver: Solver, hypotheses: Sequence[Hypothesis], meter: MeterProfile) -> None:
        self.solver = solver
        self.hypotheses = tuple(hypotheses)
        self.cells = make_cells(solver.network, hypotheses)
        self.meter = meter
        self.highest_v = _highest_volts(solver)
        self._signs = SignModel(solver.network, self.cells.variants, self.cells.tolerances)
        self._states: dict[BoatState, StateTable] = {}
        self._healthy: dict[BoatState, StateTable] = {}
        self._moved: dict[Trial, tuple[Moved, SignModel]] = {}
        self._tried: dict[SignQuery, Array] = {}
        self._others: dict[tuple[Trial, BoatState], StateTable] = {}

    @cached_property
    def sights(self) -> Recent[tuple[Evidence, float], Sight]:
        """Readings of volts, each with the chance that it is a slip, against what every cell would show."""
        return Recent(_ANSWERS)

    @cached_property
    def fits(self) -> Recent[tuple[Evidence, int, bool], tuple[Array, float]]:
        """How likely answers are, each given so many times, the trouble said to come and go or not."""
        return Recent(_ANSWERS)

    @cached_property
    def repairs(self) -> tuple[RepairId | None, ...]:
        """What is to be mended first, for some hypothesis each, every one once; None where nothing is wrong."""
        return tuple(dict.fromkeys(h.repairs[0] if h.repairs else None for h in self.hypotheses))

    @cached_property
    def repair_of(self) -> Rows:
        """The number of each hypothesis' repair among these."""
        number = {repair: n for n, repair in enumerate(self.repairs)}
        return np.array([number[h.repairs[0] if h.repairs else None] for h in self.hypotheses], dtype=np.intp)

    def told(self, hypotheses: Sequence[Hypothesis]) -> FaultTable:
        """Return the same table, its stories told otherwise: with other names, and the same faults."""
        other = copy(self)
        other.hypotheses = tuple(hypotheses)
        for name in ("repairs", "repair_of"):
            other.__dict__.pop(name, None)
        return other

    def state(self, state: BoatState) -> StateTable:
        """Return the predictions in a boat state."""
        if state not in self._states:
            self._states[state] = StateTable(self.solver, self.cells, state, self.meter, self._signs)
        return self._states[state]

    @cached_property
    def _well(self) -> tuple[Cells, SignModel]:
        """The cells of many healthy boats, and their signs."""
        cells = healthy_cells()
        return cells, SignModel(self.solver.network, cells.variants, cells.tolerances)

    def healthy(self, state: BoatState) -> StateTable:
        """Return what many healthy boats show in a boat state, the nominal boat first."""
        if state not in self._healthy:
            cells, signs = self._well
            self._healthy[state] = StateTable(self.solver, cells, state, self.meter, signs)
        return self._healthy[state]

    def levels(self, query: SignQuery, there: Array | None = None) -> Array:
        """Return how likely each level of a sign shows on each cell, after its trial: (levels, cells, draws).

        What is looked at or felt unplugged shows what a place is like, whether its fault is there at the moment or not.

        Parameters
        ----------
        there : share of the time that the fault of each cell is there; always when left out.
        """
        return self.cells.by_time(self._levels(query), None if there is None or self._lasts(query) else there)

    def levels_at(self, query: SignQuery, cells: Rows, there: Array | None) -> Array:
        """Return the same for some cells."""
        if query.after is not None:
            return self.levels(query, there)[:, cells]
        state = self.state(query.state)
        if there is None or self._lasts(query):
            return state.levels_at(query, cells)
        both = state.levels_at(query, np.append(cells, self.cells.well))
        return at_any_moment(there[cells][:, None], both[:, :-1], both[:, -1:])

    def telling(
        self, state: BoatState, cells: Rows, there: Array | None, least_bits: float
    ) -> Mapping[SignQuery, Array]:
        """Return the same for all signs on offer in a state that could tell `least_bits` about some cells."""
        if there is None:
            return self.state(state).glimpses.telling(cells, least_bits)
        found = self.state(state).glimpses.telling(np.append(cells, self.cells.well), least_bits)
        times = there[cells][:, None]
        return {
            query: both[:, :-1] if self._lasts(query) else at_any_moment(times, both[:, :-1], both[:, -1:])
            for query, both in found.items()
        }

    def _lasts(self, query: SignQuery) -> bool:
        """Tell whether a sign shows what a part is like, whatever happens at the moment."""
        return self.solver.network.parts[query.part].kind.signs[query.sign].unplugged

    def _levels(self, query: SignQuery) -> Array:
        if query.after is None:
            return self.state(query.state).levels(query)
        if query not in self._tried:
            self._tried[query] = self._levels_after(query, query.after)
        return self._tried[query]

    def _levels_after(self, query: SignQuery, trial: Trial) -> Array:
        if trial not in self._moved:
            variants = self.cells.variants
            moved = moved_by(self.solver.network.boat, trial, variants, self.cells.draws)
            self._moved[trial] = moved, SignModel(self.solver.network, moved.others, self.cells.tolerances)
        moved, signs = self._moved[trial]
        plain = replace(query, after=None)
        known = self.state(query.state).levels(plain)
        if not moved.others:
            return known[:, moved.cells]
        if (trial, query.state) not in self._others:
            cells = plain_cells(moved.others, self.cells.draws)
            made = StateTable(self.solver, cells, query.state, self.meter, signs)
            self._others[trial, query.state] = made
        others = self._others[trial, query.state].levels(plain)
        return np.concatenate([known, others], axis=1)[:, moved.cells]

    def fleeting_level(self, query: SignQuery) -> str | None:
        """Return the level of a sign that shows by chance, each look by itself; None when there is none."""
        spec = self.solver.network.parts[query.part].kind.signs[query.sign]
        return None if spec.unplugged else spec.chance_level or None

    def level_names(self, query: SignQuery) -> tuple[str, ...]:
        """Return the names of a sign's levels, in the order of `StateTable.levels`."""
        return sign_levels(self.solver.network.parts[query.part].kind.signs[query.sign])


def cells_behind(table: FaultTable, repairs: Collection[RepairId | None]) -> Flags:
    """Tell of each cell whether one of some repairs is what cures it first (None: nothing is wrong)."""
    meant = np.array([repair in repairs for repair in table.repairs], dtype=np.bool_)
    return meant[table.repair_of[table.cells.owner]]


def _highest_volts(solver: Solver) -> float:
    """Return the highest voltage between any two nodes of the nominal boat, plugged in and ready (at least 1 V)."""
    volts = solver.solve(ready_state(solver.network.boat), [Variant()]).phase.volts
    return max(1.0, float(volts.max() - volts.min()))
