"""What comes and goes: answers that say so, and places moved while something is watched.

A fault that comes and goes makes what it bears on change when its place is moved, now and then when another place of
the same lead is, and hardly ever otherwise.  Whether there is anything to be seen of the change follows from the fault
table: from what the boat shows with the fault there, and without it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import Measurement, MeterFunction
from assistant.diagnosis.model import Evidence, SignQuery, Unsteady, Wiggle, Wiggled
from assistant.diagnosis.table import FaultTable
from assistant.wiring import Boat

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

NOTICED = 0.6
"""Chance that what comes and goes is seen to do so while it is watched (common practice, no source)."""

FLIPS = 0.9
"""Chance that a fault comes or goes when its place is moved (common practice, no source)."""

BESIDE = 0.3
"""The same when another place of the same lead is moved (common practice, no source)."""

BY_ITSELF = 0.03
"""The same when any other place is moved (common practice, no source)."""

JUMP_V = 0.1
_JUMP_LOG = 0.5
"""What people call a jump: so many volts, or so many log units of anything else (common practice, no source)."""

_LEAST = 0.01
_LEAST_OHM = 1.0
"""Amps, volts of ripple or parts of a duty, and ohms, so few that nobody minds them (common practice, no source)."""


def says_it_comes_and_goes(evidence: Sequence[Evidence]) -> bool:
    """Tell whether any answer says that the trouble comes and goes; else what was seen is taken to stay."""
    return any(
        isinstance(piece, Unsteady) or (isinstance(piece, Wiggled) and piece.changed) for piece in evidence
    )


def is_caught(evidence: Sequence[Evidence], is_amiss: Callable[[Evidence], bool]) -> bool:
    """Tell whether anything amiss was met with, beside the sign of which it was told that it comes and goes."""
    unsteady = (piece.asked for piece in evidence if isinstance(piece, Unsteady))
    told = {asked for asked in unsteady if isinstance(asked, SignQuery)}
    return any(is_amiss(piece) for piece in evidence if piece.asked not in told)


def moved_once(evidence: Sequence[Evidence]) -> frozenset[Wiggle]:
    """Return the moves that made something change and were made once: each is worth making again.

    What stutters does so by itself at times, and then it looks as if the hand had done it.
    """
    moves = [piece.asked for piece in evidence if isinstance(piece, Wiggled)]
    changed = {piece.asked for piece in evidence if isinstance(piece, Wiggled) and piece.changed}
    return frozenset(move for move in changed if moves.count(move) == 1)


def visible(table: FaultTable, watched: Measurement | SignQuery) -> Array:
    """Return how likely one sees what is watched change when the fault of a cell comes or goes: (cells, draws)."""
    well = table.cells.well
    if isinstance(watched, SignQuery):
        levels = table.levels(watched)
        return np.asarray(0.5 * np.abs(levels - levels[:, [well]]).sum(axis=0))
    values = table.state(watched.state).shown_everywhere(watched).values[0]
    if watched.function in (MeterFunction.DC_VOLTS, MeterFunction.DIODE_TEST):
        values = np.where(np.isinf(values), table.meter.diode_largest_v, values)
        jump = JUMP_V
    else:
        least = _LEAST_OHM if watched.function.is_dead else _LEAST
        values = np.log(np.minimum(np.abs(values), table.meter.largest_ohm) + least)
        jump = _JUMP_LOG
    return np.asarray(np.abs(values - values[[well]]) > jump, dtype=np.float64)


def unsteady_chance(table: FaultTable, watched: Measurement | SignQuery) -> Array:
    """Return how likely what is watched is called unsteady on each variant, slips left out: (cells, draws)."""
    at_times = (table.cells.there < 1.0)[:, None]
    return np.maximum(at_times * NOTICED * visible(table, watched), _restless(table, watched))


def _restless(table: FaultTable, watched: Measurement | SignQuery) -> Array:
    """Return how likely what is watched never comes to rest, faults that stay included."""
    if isinstance(watched, SignQuery):
        spec = table.solver.network.parts[watched.part].kind.signs[watched.sign]
        names, levels = table.level_names(watched), table.levels(watched)
        restless = {spec.restless_level, spec.chance_level} - {"", None}
        return np.asarray(levels[[name in restless for name in names]].sum(axis=0))
    unrest = table.state(watched.state).shown_everywhere(watched).unrest[0]
    return np.asarray(2.0 * unrest > JUMP_V, dtype=np.float64)


def changes(table: FaultTable, wiggle: Wiggle) -> Array:
    """Return how likely what is watched changes while a place is moved, slips left out: (cells, draws)."""
    return np.asarray(changes_each(table, [wiggle.place], wiggle.watched)[0])


def changes_each(table: FaultTable, places: Sequence[str], watched: Measurement | SignQuery) -> Array:
    """Return the same for each of some places: (places, cells, draws)."""
    guilty = np.array([h.modes[0].part if h.comes_and_goes else "" for h in table.hypotheses])
    leads = np.array([_lead(part) for part in guilty])
    flips = np.array(
        [
            np.where(guilty == place, FLIPS, np.where(leads == _lead(place), BESIDE, BY_ITSELF))
            for place in places
        ]
    )
    flips[:, guilty == ""] = 0.0
    chances = flips[:, table.cells.owner, None] * visible(table, watched)
    return np.asarray(np.maximum(chances, _restless(table, watched)))


def _lead(place: str) -> str:
    """Return the lead that a wire or joint belongs to; a part is its own."""
    return place.partition("@")[0]


def swing_of(table: FaultTable, wiggle: Wiggle) -> tuple[float, float] | tuple[str, str] | None:
    """Return what is watched while the fault at the place moved is away, and while it is there; None without one."""
    numbers = [
        n for n, h in enumerate(table.hypotheses) if h.comes_and_goes and h.modes[0].part == wiggle.place
    ]
    if not numbers:
        return None
    pair = [table.cells.well, int(np.flatnonzero(table.cells.owner == numbers[0])[0])]
    watched = wiggle.watched
    if isinstance(watched, SignQuery):
        names, chances = table.level_names(watched), table.levels(watched)[:, pair].mean(axis=2)
        away, there = (names[int(level)] for level in chances.argmax(axis=0))
        return away, there
    values = table.state(watched.state).shown([watched], np.array(pair)).values[0].mean(axis=1)
    return float(values[0]), float(values[1])


def fickle_places(table: FaultTable, cells: Rows) -> tuple[str, ...]:
    """Return the places of what comes and goes among some cells, each once."""
    owners = dict.fromkeys(table.cells.owner[cells[table.cells.there[cells] < 1.0]].tolist())
    return tuple(dict.fromkeys(table.hypotheses[owner].modes[0].part for owner in owners))


def watched_before(boat: Boat, evidence: Sequence[Evidence]) -> tuple[Measurement | SignQuery, ...]:
    """Return what can be watched while a place is moved: signs and volts that were asked for, of a boat that is fed."""
    asked = dict.fromkeys(piece.asked for piece in evidence)
    return tuple(what for what in asked if not isinstance(what, Wiggle) and _can_be_watched(boat, what))


def _can_be_watched(boat: Boat, what: Measurement | SignQuery) -> bool:
    if isinstance(what, Measurement):
        return what.function is MeterFunction.DC_VOLTS
    return what.after is None and not boat.parts[what.part].kind.signs[what.sign].unplugged
