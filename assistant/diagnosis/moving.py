"""What comes and goes: answers that say so, and places moved while something is watched.

A fault that comes and goes makes what it bears on change when its place is moved, now and then when another place of
the same lead is, and hardly ever otherwise.  Whether there is anything to be seen of the change follows from the fault
table: from what the boat shows with the fault there, and without it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import Measurement, MeterFunction
from assistant.diagnosis.model import Evidence, SignQuery, Unsteady, Wiggle, Wiggled
from assistant.diagnosis.table import FaultTable

Array = NDArray[np.float64]

NOTICED = 0.6
"""Chance that what comes and goes is seen to do so while it is watched (common practice, no source)."""

FLIPS = 0.9
"""Chance that a fault comes or goes when its place is moved (common practice, no source)."""

BESIDE = 0.3
"""The same when another place of the same lead is moved (common practice, no source)."""

BY_ITSELF = 0.03
"""The same when any other place is moved (common practice, no source)."""

_JUMP_V = 0.1
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


def visible(table: FaultTable, watched: Measurement | SignQuery) -> Array:
    """Return how likely one sees what is watched change when the fault of a cell comes or goes: (cells, draws)."""
    well = table.cells.well
    if isinstance(watched, SignQuery):
        levels = table.levels(watched)
        return np.asarray(1.0 - (levels * levels[:, [well]]).sum(axis=0))
    values = table.state(watched.state).shown([watched]).values[0]
    if watched.function in (MeterFunction.DC_VOLTS, MeterFunction.DIODE_TEST):
        values = np.where(np.isinf(values), table.meter.diode_largest_v, values)
        jump = _JUMP_V
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
    unrest = table.state(watched.state).shown([watched]).unrest[0]
    return np.asarray(2.0 * unrest > _JUMP_V, dtype=np.float64)


def changes(table: FaultTable, wiggle: Wiggle) -> Array:
    """Return how likely what is watched changes while a place is moved, slips left out: (cells, draws)."""
    flips = np.array([_flips(table, number, wiggle.place) for number in range(len(table.hypotheses))])
    chance = flips[table.cells.owner][:, None] * visible(table, wiggle.watched)
    return np.maximum(chance, _restless(table, wiggle.watched))


def _flips(table: FaultTable, number: int, place: str) -> float:
    """Return the chance that a hypothesis' fault comes or goes when a place is moved."""
    hypothesis = table.hypotheses[number]
    if hypothesis.there == (1.0,):
        return 0.0
    guilty = hypothesis.modes[0].part
    if guilty == place:
        return FLIPS
    # A joint is named after its lead, a part after itself.
    return BESIDE if guilty.partition("@")[0] == place.partition("@")[0] else BY_ITSELF
