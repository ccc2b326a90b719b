"""What a step costs, in seconds of a person with cold hands and one meter (common practice, no source).

Counted are setting the boat differently, moving probes, opening covers, unplugging, changing the range, trying
with another part or a bridging lead and putting it back, and a surcharge for risk while motors turn.
"""

from __future__ import annotations

from collections.abc import Mapping

from assistant.catalogue import Look, Reach
from assistant.circuit import BoatState, Measurement, MeterFunction
from assistant.diagnosis.model import Trial, TrialKind
from assistant.wiring import Boat, Point, SettingSort, settings_of

_READ = 12.0
_PROBE = 6.0
_REACH = {Reach.OPEN: 0.0, Reach.BEHIND_COVER: 25.0, Reach.SEALED: 240.0}
_LOOK = {Look.SEE: 6.0, Look.HEAR: 6.0, Look.FEEL: 60.0, Look.SMELL: 10.0}
LEAST_LOOK_S = min(_LOOK.values())
"""The cheapest look."""

_RUNNING = 4.0
_CONFIRM_UNPLUGGED = 10.0
_CLIPS = 8.0
RANGE_S = 4.0
"""Changing what the meter measures."""

WIGGLE_S = 20.0
"""Moving one place while something is watched."""

INSERT_S = 75.0
"""Unplugging, opening, the meter in, plugging in again; and after the reading all of it back."""

_TRY = {TrialKind.SPARE: 60.0, TrialKind.SWAP: 75.0, TrialKind.BYPASS: 70.0, TrialKind.PLUGS: INSERT_S}
"""Doing it and putting it back, the pack unplugged and plugged in again both times."""


def state_seconds(boat: Boat, before: BoatState, after: BoatState) -> float:
    """Return what it costs to bring the boat from one state to another."""
    changes = before.changes_to(after)
    seconds = 0.0
    for setting in settings_of(boat):
        if setting.id in changes:
            seconds += setting.seconds
        if setting.sort is SettingSort.CONTROL and after.get(setting.id) != setting.rest:
            seconds += _RUNNING
    return seconds


def probe_seconds(reach: Mapping[Point, Reach], measurement: Measurement, last: Measurement | None) -> float:
    """Return what a reading costs once the boat is set: probes to move, covers to open, range to change.

    Parameters
    ----------
    reach : how a probe gets at each point.
    last : the reading before, where the probes still are.
    """
    seconds = _READ
    for mine, other in ((measurement.red, last and last.red), (measurement.black, last and last.black)):
        if mine != other:
            seconds += _PROBE + _REACH[reach[mine]]
    if last is None or last.function is not measurement.function:
        seconds += RANGE_S
    if measurement.function.is_dead:
        seconds += _CONFIRM_UNPLUGGED
    if measurement.function.is_inserted:
        seconds += INSERT_S
    if measurement.function is MeterFunction.LAMP:
        seconds += _CLIPS
    return seconds


def look_seconds(look: Look) -> float:
    """Return what looking, listening or feeling costs once the boat is set."""
    return _LOOK[look]


def wiggle_seconds(reach: Mapping[Point, Reach], place: str) -> float:
    """Return what moving a place costs once the boat is set and something is watched: covers to open.

    Parameters
    ----------
    reach : how a hand gets at each point; what is sealed can be moved from outside.
    """
    part, _, end = place.partition("@")
    found = [r for p, r in reach.items() if p.part == part and (not end or p.terminal == end)]
    return WIGGLE_S + min((_REACH[r] for r in found if r is not Reach.SEALED), default=0.0)


def trial_seconds(reach: Mapping[Point, Reach], trial: Trial) -> float:
    """Return what a trial costs besides the look: unplugging, changing, putting back, covers to open.

    Parameters
    ----------
    reach : how a hand gets at each point; of a part the easiest of its points counts, where it has any.
    """
    if trial.ends is not None:
        return _TRY[trial.kind] + sum(_REACH[reach[end]] for end in trial.ends)
    whole = (TrialKind.SWAP, TrialKind.PLUGS)
    parts = trial.places if trial.kind in whole else trial.places[:1]
    covers = (min((_REACH[r] for p, r in reach.items() if p.part == part), default=0.0) for part in parts)
    return _TRY[trial.kind] + sum(covers)
