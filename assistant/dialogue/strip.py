"""The path under test, from a pack to the device, with what is expected and read at each point on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from assistant.catalogue import Group, Reach
from assistant.circuit import BoatState, Measurement, MeterFunction, is_unplugged
from assistant.diagnosis.model import ReadingSeen
from assistant.dialogue.events import StripPoint, StripRead
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
    setup: Setup,
    state: State,
    graph: SymptomGraph,
    boat_state: BoatState,
    shares: Mapping[str, float],
) -> tuple[StripPoint, ...]:
    """Return the path to the part in focus, as it should be and was read in `boat_state`.

    Parameters
    ----------
    shares : probability by place that it is at fault.
    """
    parts = state.parts.get(graph.focus, ())
    stretches = _stretches(setup.boat, parts[0]) if parts else ()
    if not stretches or MeterFunction.DC_VOLTS not in setup.functions:
        return ()
    path = tuple(stretch.point for stretch in stretches)
    return tuple(
        StripPoint(
            point=stretch.point,
            label=point_label(setup.boat, stretch.point),
            expected=setup.diagnosis.band(_against_pack(path, stretch.point, boat_state))
            if not is_unplugged(setup.boat, boat_state)
            else None,
            read=_last(setup, state, boat_state, path, number, drop=False),
            drop=_last(setup, state, boat_state, path, number, drop=True),
            suspicion=min(1.0, sum(shares.get(place, 0.0) for place in stretch.places)),
        )
        for number, stretch in enumerate(stretches)
    )


def path_points(boat: Boat, parts: tuple[str, ...]) -> tuple[Point, ...]:
    """Return the points on the way from a pack to the first of some parts that a probe can reach."""
    return tuple(stretch.point for stretch in _stretches(boat, parts[0])) if parts else ()


def _against_pack(path: tuple[Point, ...], point: Point, boat_state: BoatState) -> Measurement:
    black = Point(part=path[0].part, terminal="-")
    return Measurement(function=MeterFunction.DC_VOLTS, red=point, black=black, state=boat_state)


def _last(
    setup: Setup, state: State, boat_state: BoatState, path: tuple[Point, ...], number: int, *, drop: bool
) -> StripRead | None:
    """Return the last reading of volts at a point, or between it and one before it; first those of this state."""
    seen = [
        piece
        for piece in reversed(state.evidence)
        if isinstance(piece, ReadingSeen)
        and piece.measurement.function is MeterFunction.DC_VOLTS
        and _belongs(piece.measurement, path, number, drop=drop)
    ]
    here = [piece for piece in seen if piece.measurement.state == boat_state]
    if not seen:
        return None
    piece = (here or seen)[0]
    standing = setup.diagnosis.band(piece.measurement).name(piece.value)
    return StripRead(volts=piece.value, standing=standing, here=bool(here))


def _belongs(measurement: Measurement, path: tuple[Point, ...], number: int, *, drop: bool) -> bool:
    if drop:
        places = {path.index(point) for point in (measurement.red, measurement.black) if point in path}
        return len(places) == 2 and max(places) == number
    return measurement.red == path[number] and measurement.black not in path


def _stretches(boat: Boat, part: str) -> tuple[_Stretch, ...]:
    """Return the points on the shortest way from a pack to `part` that a probe can reach."""
    feeds = [
        feed for feed in feeds_of(boat, part) if boat.parts[feed.points[0].part].kind.group is Group.PACK
    ]
    if not feeds:
        return ()
    way = feeds[0].points
    ends = {point.part: number for number, point in enumerate(way)}
    found: list[_Stretch] = []
    places: set[str] = set()
    passed: list[str] = []
    for number, point in enumerate(way):
        places |= set(_joints_between(boat, passed, point))
        if ends[point.part] == number:
            places.add(point.part)
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
