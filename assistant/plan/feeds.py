"""What hangs together without a load between: the metal a fault current would find.

Wires, joints, switches, contacts, fuses and other small resistances conduct; motors, lamps, coils and regulators do
not.  Contacts count as closed, since a plan has to hold with every switch on.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

import networkx as nx

from assistant.catalogue import Group, Primitive, Side
from assistant.plan.cases import nominal, parts_in
from assistant.wiring import Boat, Lead, Point, as_graph, described_parts, leads_at

_SMALL_OHM: Final = 1.0
_LOADS: Final = frozenset({Group.MOTOR, Group.LIGHT, Group.INSTRUMENT, Group.SERVO, Group.PACK})


def conducting(
    boat: Boat, *, bridges: bool = False, without: Callable[[str], bool] | None = None
) -> nx.MultiGraph[Point]:
    """Return the graph of everything that conducts without a load between.

    Parameters
    ----------
    bridges : whether the positive side of drives and dimmers passes on to their outputs.
    without : tells of a part whether to leave it out.
    """
    graph: nx.MultiGraph[Point] = nx.MultiGraph()
    whole = as_graph(boat)
    graph.add_nodes_from(whole.nodes)
    values = {part: nominal(boat, part) for part in boat.parts}
    for one, other, key, data in whole.edges(keys=True, data=True):
        part, name = data["part"], key.removeprefix(f"{data['part']}:")
        if not (without and without(part)) and _conducts(
            boat, part, name, (one, other), values[part], bridges=bridges
        ):
            graph.add_edge(one, other, key=key, part=part)
    return graph


def _conducts(
    boat: Boat,
    part: str,
    name: str,
    ends: tuple[Point, Point],
    values: Mapping[str, float],
    *,
    bridges: bool,
) -> bool:
    kind = boat.parts[part].kind
    if kind.group in {Group.WIRE, Group.JOINT} or name.startswith("socket "):
        return not name.endswith("s")
    element = kind.elements.get(name)
    if element is None or kind.group in _LOADS:
        return False
    if element.primitive is Primitive.LEG:
        return bridges and element.nodes[0] in {end.terminal for end in ends}
    if element.primitive is Primitive.DIODE:
        return kind.group is Group.PASSIVE
    if element.primitive is not Primitive.RESISTANCE:
        return False
    return bool(element.parameters["ohm"](values, kind.curves) <= _SMALL_OHM)


def side_of(boat: Boat, part: str, side: Side) -> Point | None:
    """Return the first terminal of a part on a side, or None."""
    terminals = boat.parts[part].kind.terminals.values()
    name = next((t.name for t in terminals if t.side is side), None)
    return None if name is None else Point(part=part, terminal=name)


def supply_of(boat: Boat, part: str) -> tuple[Point, Point] | None:
    """Return the positive and the negative terminal that a part is fed by, or None where it lacks one."""
    positive, negative = side_of(boat, part, Side.POSITIVE), side_of(boat, part, Side.NEGATIVE)
    return None if positive is None or negative is None else (positive, negative)


def reached(graph: nx.MultiGraph[Point], start: Point) -> frozenset[Point]:
    """Return all points that hang together with `start`."""
    return frozenset(nx.node_connected_component(graph, start))


def pack_ends(boat: Boat, side: Side) -> tuple[Point, ...]:
    """Return the terminals of all packs on one side."""
    ends = (side_of(boat, pack, side) for pack in parts_in(boat, Group.PACK))
    return tuple(end for end in ends if end is not None)


def is_link(boat: Boat, lead: Lead) -> bool:
    """Tell whether a lead only joins packs."""
    return all(boat.parts[end.part].kind.group is Group.PACK for end in lead.ends)


def beyond(lead: Lead, end: Point) -> Point:
    """Return the other end of a lead."""
    return lead.ends[1] if lead.ends[0] == end else lead.ends[0]


def is_wired(boat: Boat, point: Point) -> bool:
    """Tell whether a lead ends at a point."""
    return bool(leads_at(boat, point))


def fed_parts(boat: Boat, *groups: Group) -> tuple[str, ...]:
    """Return the described parts of some groups that have a positive and a negative terminal."""
    wanted = set(described_parts(boat))
    return tuple(p for p in parts_in(boat, *groups) if p in wanted and supply_of(boat, p) is not None)
