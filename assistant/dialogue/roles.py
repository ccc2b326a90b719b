"""Which parts of a boat fill the roles of a decision graph.

A role is a group of parts, or the nearest part of a group on the way from a pack to another part.  That way
is the shortest path in the graph of the wiring that leaves out everything on the negative side; a motor whose
negative is switched is reached the other way round, so the return path is searched when the feed holds no
such part.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import networkx as nx

from assistant.catalogue import Group, Primitive, Sense, Side, terminal_of
from assistant.dialogue.graph import PointSpec, Role
from assistant.wiring import Boat, Point, as_graph, described_parts, side_at, sockets_in_use

_LEAD_WEIGHT = 1.0
_PART_WEIGHT = 2.0

Roles = tuple[tuple[str, tuple[str, ...]], ...]
"""Parts by role, in the order of the roles; an optional role that nothing fills has none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """A way between a pack and a terminal of a part: its points from the pack on, and its length."""

    points: tuple[Point, ...]
    length: float

    @property
    def parts(self) -> tuple[str, ...]:
        """Ids of the parts, wires included, from the pack on, each once."""
        return tuple(dict.fromkeys(point.part for point in self.points))


def candidates(boat: Boat, role: Role, roles: Roles) -> tuple[str, ...]:
    """Return the parts that can fill a role, given the roles before it, likeliest first."""
    if role.feeds is None:
        found = in_group(boat, role.group)
    else:
        fed = dict(roles).get(role.feeds, ())
        found = tuple(dict.fromkeys(part for one in fed for part in feeding(boat, one, role.group)[:1]))
    return tuple(part for part in found if not role.shows or role.shows in boat.parts[part].kind.signs)


def in_group(boat: Boat, group: Group) -> tuple[str, ...]:
    """Return the described parts of a group, in the order of the description."""
    return tuple(part for part in described_parts(boat) if boat.parts[part].kind.group is group)


def feeding(boat: Boat, part: str, group: Group) -> tuple[str, ...]:
    """Return the parts of a group on the way from a pack to `part`, nearest first."""
    for side in (Side.POSITIVE, Side.NEGATIVE):
        found: dict[str, int] = {}
        for feed in feeds_of(boat, part, side):
            for steps, name in enumerate(reversed(feed.parts)):
                if name != part and boat.parts[name].kind.group is group:
                    found[name] = min(steps, found.get(name, steps))
        if found:
            return tuple(sorted(found, key=lambda name: (found[name], name)))
    return ()


def feeds_of(boat: Boat, part: str, side: Side = Side.POSITIVE) -> tuple[Feed, ...]:
    """Return the ways from packs to the terminals of `part` on one side of the circuit, shortest first."""
    wires = _one_side(boat, part, side)
    targets = [end for end in _wired_ends(boat, part) if end in wires]
    found = []
    for pack in in_group(boat, Group.PACK):
        start = Point(part=pack, terminal="+" if side is Side.POSITIVE else "-")
        if pack == part or start not in wires:
            continue
        paths = nx.single_source_dijkstra_path(wires, start)
        for end in targets:
            if end in paths and not any(point.part == part for point in paths[end][:-1]):
                length = nx.path_weight(wires, paths[end], "weight")
                found.append(Feed(points=tuple(paths[end]), length=float(length)))
    return tuple(sorted(found, key=lambda feed: (feed.length, feed.points)))


def way_through(boat: Boat, part: str) -> tuple[Point, ...]:
    """Return the points that current passes from a pack through `part` and back; none where no such way is."""
    back = feeds_of(boat, part, Side.NEGATIVE)
    for out in feeds_of(boat, part):
        for home in back:
            if home.points[-1] != out.points[-1] and home.points[0].part == out.points[0].part:
                return (*out.points, *reversed(home.points))
    return ()


def _wired_ends(boat: Boat, part: str) -> list[Point]:
    """Return the terminals of a part that leads end at, those not on the negative side first."""
    return list(dict.fromkeys(end for lead in boat.leads.values() for end in lead.ends if end.part == part))


def _one_side(boat: Boat, part: str, side: Side) -> nx.DiGraph[Point]:
    """Return the graph without the terminals of the other side and without ways through `part` itself.

    A regulator is a way from its supply to its output only: what another supply brings to the output feeds nothing.
    """
    other = Side.NEGATIVE if side is Side.POSITIVE else Side.POSITIVE
    wires: nx.DiGraph[Point] = nx.DiGraph()

    def left_out(point: Point) -> bool:
        return point.part != part and side_at(boat, point) is other

    for one, two, key, data in as_graph(boat).edges(keys=True, data=True):
        if data["part"] == part or left_out(one) or left_out(two):
            continue
        weight = _LEAD_WEIGHT if data["through"] else _PART_WEIGHT
        outs = _outputs(boat, key) if data["primitive"] is Primitive.REGULATOR else {one, two}
        for start, end in ((one, two), (two, one)):
            if end in outs and (not wires.has_edge(start, end) or wires.edges[start, end]["weight"] > weight):
                wires.add_edge(start, end, weight=weight)
    return wires


def _outputs(boat: Boat, key: str) -> set[Point]:
    """Return the point that a regulator, named by the key of its edge, brings its volts to."""
    part, _, element = key.rpartition(":")
    return {Point(part=part, terminal=boat.parts[part].kind.elements[element].nodes[-1])}


def gates_of(boat: Boat, part: str) -> Iterator[str]:
    """Yield the parts that must be commanded for `part` to go: those on its feed, and what triggers them."""
    yield part
    both = (feeds_of(boat, part, side)[:1] for side in (Side.POSITIVE, Side.NEGATIVE))
    passed = {point for feeds in both for feed in feeds for point in feed.points}
    yield from _gates_along(boat, passed, frozenset({part}))


def _gates_along(boat: Boat, passed: set[Point], seen: frozenset[str]) -> Iterator[str]:
    """Yield what commands the way through `passed`: only what leaves a part by an output can be commanded."""
    for name in dict.fromkeys(p.part for p in sorted(passed) if side_at(boat, p) is Side.OUTPUT):
        if name in seen:
            continue
        if boat.parts[name].kind.inputs:
            yield name
        for trigger in _triggers(boat, name, passed):
            feeds = [feed for feed in feeds_of(boat, name) if feed.points[-1] == trigger]
            for feed in feeds[:1]:
                yield from _gates_along(boat, set(feed.points), seen | {name})


def _triggers(boat: Boat, part: str, passed: set[Point]) -> Iterator[Point]:
    """Yield the terminals whose volts or amps switch a part, other than those the feed passes through."""
    kind = boat.parts[part].kind
    for condition in kind.conditions.values():
        nodes = condition.of
        if condition.sense is Sense.AMPS:
            nodes = kind.elements[condition.of[0]].nodes
        for end in (Point(part=part, terminal=name) for name in nodes):
            if side_at(boat, end) in {Side.POSITIVE, Side.SIGNAL} and end not in passed:
                yield end


def point_of(boat: Boat, spec: PointSpec, roles: Mapping[str, tuple[str, ...]]) -> Point | None:
    """Return the point that a graph speaks of, or None when the boat has none such."""
    parts = roles.get(spec.role, ())
    if not parts:
        return None
    part, terminal = parts[0], spec.terminal
    kind = boat.parts[part].kind
    if kind.slots is not None and terminal.startswith("spare"):
        terminal = f"{max(sockets_in_use(boat, part), default=0) + 1}{terminal.removeprefix('spare')}"
    return Point(part=part, terminal=terminal) if terminal_of(kind, terminal) is not None else None
