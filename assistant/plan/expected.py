"""The readings a healthy boat shows at every point a probe reaches, in every boat state that differs.

All are volts against the negative of the first pack, so the black probe stays where it is.  What another reading
would mean is what the diagnosis makes of that one reading alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from assistant.catalogue import Group, Reach
from assistant.circuit import (
    BoatState,
    Fault,
    Measurement,
    MeterFunction,
    Variant,
    ready_state,
    rest_state,
)
from assistant.circuit.expectation import Band, band_of
from assistant.diagnosis import Diagnosis, ReadingSeen
from assistant.diagnosis.cells import plain_cells
from assistant.diagnosis.signs import SignModel
from assistant.diagnosis.table import StateTable
from assistant.diagnosis.verdict import suspects_of
from assistant.plan.bands import band_words, volts_words
from assistant.plan.cases import parts_in, settings_at, switched_on
from assistant.plan.paper import Column, Row, Stretch
from assistant.plan.walk import BACK, SIGNALS, walk
from assistant.wiring import Boat, Point, SettingSort, label_of, point_label, reach_of, settings_of

_LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_LIVE_V: Final = 0.5
_LOST: Final = 0.6
_NAMED: Final = 3
_WORTH: Final = 0.04
_SHARE: Final = 0.01
_STEP_V: Final = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """Bands by state and point; states are those that differ from all before them."""

    states: tuple[BoatState, ...]
    points: Mapping[str, tuple[Point, ...]]
    bands: Mapping[BoatState, Mapping[Point, Band]]


def expected(diagnosis: Diagnosis) -> Expected:
    """Return what a healthy boat shows."""
    boat = diagnosis.network.boat
    stretches = walk(boat)
    points = [point for stretch in stretches.values() for point in stretch]
    bands: dict[BoatState, Mapping[Point, Band]] = {}
    for state in sheet_states(boat):
        there = _bands(diagnosis, state, points)
        if not any(_alike(there, other) for other in bands.values()):
            bands[state] = there
    return Expected(states=tuple(bands), points=stretches, bands=bands)


def sheet_states(boat: Boat) -> tuple[BoatState, ...]:
    """Return the states worth a column: plugged in, ready, switched on, and each stick at either end."""
    plugs = {f"{p}.{s}": 1.0 for p in parts_in(boat, Group.PACK) for s in settings_at(boat, p)}
    on = switched_on(boat)
    moved = [
        on.with_({s.id: end})
        for s in settings_of(boat)
        if s.sort is SettingSort.CONTROL and not s.steps
        for end in (s.high, s.low)
    ]
    return tuple(dict.fromkeys((rest_state(boat).with_(plugs), ready_state(boat), on, *moved)))


def state_words(boat: Boat, state: BoatState) -> str:
    """Return how a boat is set in a state."""
    on = switched_on(boat)
    different = [s for s in settings_of(boat) if state.get(s.id) != on.get(s.id)]
    if any(s.sort is not SettingSort.CONTROL for s in different):
        return "pack plugged in, all else off"
    moved = [f"{s.id} {s.on_word if state.get(s.id) > s.rest else s.off_word}" for s in different]
    return f"all on, {' and '.join(moved or ['sticks let go'])}"


def _alike(one: Mapping[Point, Band], other: Mapping[Point, Band]) -> bool:
    """Tell whether two states show nothing that a meter could tell apart."""
    return all(
        abs(band.typical - other[p].typical) <= max(_STEP_V, _SHARE * abs(band.typical))
        for p, band in one.items()
    )


def readings_at(diagnosis: Diagnosis, state: BoatState, points: Iterable[Point]) -> list[Measurement]:
    """Return the readings of volts from points to the pack's negative."""
    black = diagnosis.network.nodes[-1]
    return [
        Measurement(function=MeterFunction.DC_VOLTS, red=point, black=black, state=state) for point in points
    ]


def _bands(diagnosis: Diagnosis, state: BoatState, points: Sequence[Point]) -> Mapping[Point, Band]:
    shown = diagnosis.table.healthy(state).shown(readings_at(diagnosis, state, points))
    values = shown.values[:, 0]
    return {
        point: band_of(values[i], MeterFunction.DC_VOLTS, diagnosis.meter) for i, point in enumerate(points)
    }


def supposed_volts(
    diagnosis: Diagnosis, fault: Fault, state: BoatState, points: Sequence[Point]
) -> Mapping[Point, float]:
    """Return what the nominal boat with a fault shows; nan where no steady state was found."""
    variants = (Variant(faults=(fault,)),)
    cells = plain_cells(variants, 1)
    signs = SignModel(diagnosis.network, variants, 0)
    table = StateTable(diagnosis.table.solver, cells, state, diagnosis.meter, signs)
    values = table.shown(readings_at(diagnosis, state, points)).values[:, 0, 0]
    return dict(zip(points, map(float, values), strict=True))


def supposed_turn_s(diagnosis: Diagnosis, fault: Fault, state: BoatState) -> float:
    """Return how long one turn takes (s) of what alternates on the nominal boat with a fault; nan where it rests."""
    solver, variants = diagnosis.table.solver, (Variant(faults=(fault,)),)
    solution = solver.solve(state, variants)
    return float(solver.turns_s(solution, variants, np.zeros(1, dtype=np.intp))[0])


def columns_of(boat: Boat, found: Expected) -> tuple[Column, ...]:
    """Return the states with their letters."""
    return tuple(
        Column(letter=letter, words=state_words(boat, state))
        for letter, state in zip(_LETTERS, found.states, strict=False)
    )


def stretches_of(diagnosis: Diagnosis, found: Expected, fault: Fault | None) -> tuple[Stretch, ...]:
    """Return the rows of the sheet, a wire end that reads as its terminal left to the terminal's row."""
    points = [point for stretch in found.points.values() for point in stretch]
    supposed: dict[BoatState, Mapping[Point, float]] = {}
    if fault is not None:
        supposed = {state: supposed_volts(diagnosis, fault, state, points) for state in found.states}
    return tuple(
        Stretch(
            title=title,
            rows=tuple(
                _row(diagnosis, found, supposed, p, title) for p in _own_rows(diagnosis, found, stretch)
            ),
        )
        for title, stretch in found.points.items()
        if stretch
    )


def _own_rows(diagnosis: Diagnosis, found: Expected, points: Sequence[Point]) -> list[Point]:
    boat = diagnosis.network.boat
    kept = []
    for point in points:
        lead = boat.leads.get(point.part)
        terminal = lead.ends[int(point.terminal) - 1] if lead else None
        same = terminal in points and terminal is not None and _reads_alike(found, point, terminal)
        if not same:
            kept.append(point)
    return kept


def _reads_alike(found: Expected, one: Point, other: Point) -> bool:
    return all(
        abs(bands[one].typical - bands[other].typical) <= max(_STEP_V, _SHARE * abs(bands[other].typical))
        for bands in found.bands.values()
    )


def _row(
    diagnosis: Diagnosis,
    found: Expected,
    supposed: Mapping[BoatState, Mapping[Point, float]],
    point: Point,
    title: str,
) -> Row:
    boat = diagnosis.network.boat
    bands = [found.bands[state][point] for state in found.states]
    return Row(
        label=point_label(boat, point),
        cover=reach_of(boat, point) is Reach.BEHIND_COVER,
        readings=tuple(band_words(band) for band in bands),
        supposed=tuple(
            _supposed(values[point], band) for values, band in zip(supposed.values(), bands, strict=False)
        ),
        otherwise=_otherwise(diagnosis, found, point, title),
    )


def _supposed(value: float, band: Band) -> tuple[str, bool]:
    if np.isnan(value):
        return "on and off", True
    return volts_words(value), not band.holds(value)


def _otherwise(diagnosis: Diagnosis, found: Expected, point: Point, title: str) -> tuple[str, ...]:
    """Return what readings out of band mean, in the state that says most about the point."""
    state = max(found.states[1:] or found.states, key=lambda s: _weight(found.bands[s][point], s, found))
    band = found.bands[state][point]
    letter = _LETTERS[found.states.index(state)]
    if abs(band.typical) >= _LIVE_V and title != BACK:
        cases = {"none": 0.0, "low": _LOST * (band.low if band.typical > 0 else band.high)}
    elif title == SIGNALS and band.high > _STEP_V:
        cases = {"none": 0.0}
    else:
        cases = {"above": max(_LIVE_V, 2.0 * band.high)}
    said = []
    for name, value in cases.items():
        measurement = readings_at(diagnosis, state, [point])[0]
        places = _blamed(diagnosis, ReadingSeen(measurement=measurement, value=value))
        if places:
            said.append(f"{letter} {name}: {', '.join(places)}")
    return tuple(said)


def _weight(band: Band, state: BoatState, found: Expected) -> tuple[bool, int]:
    """Prefer a state with volts at the point, and of these the first: it takes the least setting up."""
    return abs(band.typical) >= _LIVE_V, -found.states.index(state)


def _blamed(diagnosis: Diagnosis, seen: ReadingSeen) -> list[str]:
    boat = diagnosis.network.boat
    suspects = suspects_of(diagnosis.table, diagnosis.belief([seen]))
    named = dict.fromkeys(s.repair.place for s in suspects if s.probability >= _WORTH)
    return [label_of(boat, place) for place in list(named)[:_NAMED]]
