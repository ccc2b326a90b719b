"""What a step costs, in seconds of a person with cold hands and one meter (common practice, no source).

Counted are setting the boat differently, moving probes, opening covers, unplugging, changing the range, and a
surcharge for risk while motors turn.
"""

from __future__ import annotations

from collections.abc import Mapping

from assistant.catalogue import Look, Reach
from assistant.circuit import BoatState, Measurement, MeterFunction
from assistant.wiring import Boat, Point, SettingSort, settings_of

_READ = 12.0
_PROBE = 6.0
_RANGE = 4.0
_REACH = {Reach.OPEN: 0.0, Reach.BEHIND_COVER: 25.0, Reach.SEALED: 240.0}
_LOOK = {Look.SEE: 6.0, Look.HEAR: 6.0, Look.FEEL: 60.0, Look.SMELL: 10.0}
_RUNNING = 4.0
_CONFIRM_UNPLUGGED = 10.0


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
        seconds += _RANGE
    if measurement.function is not MeterFunction.DC_VOLTS:
        seconds += _CONFIRM_UNPLUGGED
    return seconds


def look_seconds(look: Look) -> float:
    """Return what looking, listening or feeling costs once the boat is set."""
    return _LOOK[look]
