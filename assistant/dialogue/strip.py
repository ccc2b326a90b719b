"""The path under test, from a pack to the device, with what is expected and read at each point on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from assistant.catalogue import Group, Reach
from assistant.circuit import BoatState, Measurement, MeterFunction
from assistant.diagnosis.model import ReadingSeen, Suspect
from assistant.dialogue.events import StripPoint
from assistant.dialogue.graph import SymptomGraph
from assistant.dialogue.roles import feeds_of
from assistant.dialogue.state import Setup, State
from assistant.wiring import Boat, Point, point_label, reach_of, terminals_of


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stretch:
    """A point that can be read, and the parts, wires and joints since the point before it."""

    point: Point
    places: frozenset[str]


def strip_of(
    setup: Setup, state: State, graph: SymptomGraph, boat_state: BoatState, suspects: tuple[Suspect, ...]
) -> tuple[StripPoint, ...]:
    """Return the path to the part in focus, as it should be and was read in `boat_state`."""
    parts = state.parts.get(graph.focus, ())
    stretches = _stretches(setup.boat, parts[0]) if parts else ()
    if not stretches or MeterFunction.DC_VOLTS not in setup.functions:
        return ()
    black = Point(part=stretches[0].point.part, terminal="-")
    weight: Mapping[str, float] = {}
    for suspect in suspects:
        place = suspect.repair.place
        weight = {**weight, place: weight.get(place, 0.0) + suspect.probability}
    found = []
    for stretch in stretches:
        asked = Measurement(function=MeterFunction.DC_VOLTS, red=stretch.point, black=black, state=boat_state)
        found.append(
            StripPoint(
                point=stretch.point,
                label=point_label(setup.boat, stretch.point),
                expected=setup.diagnosis.band(asked),
                read_v=_last_read(state, asked),
                suspicion=min(1.0, sum(weight.get(place, 0.0) for place in stretch.places)),
            )
        )
    return tuple(found)


def path_points(boat: Boat, parts: tuple[str, ...]) -> tuple[Point, ...]:
    """Return the points on the way from a pack to the first of some parts that a probe can reach."""
    return tuple(stretch.point for stretch in _stretches(boat, parts[0])) if parts else ()


def _last_read(state: State, asked: Measurement) -> float | None:
    read = (e for e in reversed(state.evidence) if isinstance(e, ReadingSeen) and e.measurement == asked)
    return next((seen.value for seen in read), None)


def _stretches(boat: Boat, part: str) -> tuple[_Stretch, ...]:
    """Return the points on the shortest way from a pack to `part` that a probe can reach."""
    feeds = [
        feed for feed in feeds_of(boat, part) if boat.parts[feed.points[0].part].kind.group is Group.PACK
    ]
    if not feeds:
        return ()
    found: list[_Stretch] = []
    places: set[str] = set()
    passed: list[str] = []
    for point in feeds[0].points:
        places |= {point.part, *_joints_between(boat, passed, point)}
        passed.append(point.part)
        if point.part in boat.leads or point.terminal not in terminals_of(boat, point.part):
            continue
        if reach_of(boat, point) is not Reach.SEALED:
            found.append(_Stretch(point=point, places=frozenset(places)))
            places = set()
    if found and places:
        last = found.pop()
        found.append(_Stretch(point=last.point, places=last.places | places))
    return tuple(found)


def _joints_between(boat: Boat, passed: list[str], point: Point) -> tuple[str, ...]:
    """Return both joints of a wire that the way goes through."""
    return (
        (f"{point.part}@1", f"{point.part}@2")
        if point.part in boat.leads and point.part not in passed
        else ()
    )
