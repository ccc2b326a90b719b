"""The boat as a graph, for questions about paths and roles.

Nodes are points, and the inner nodes of parts (their terminal starts with ``~`` or is a receiver's rail).
Edges are wires, joints and the elements of parts, signal inputs and sockets included; no edge knows whether
it conducts at the moment.
"""

from __future__ import annotations

import networkx as nx

from assistant.catalogue import PRIMITIVE_NODES, Primitive, slot_of
from assistant.wiring.model import Boat, Point
from assistant.wiring.points import described_parts, joint_id, points_of, terminals_of


def as_graph(boat: Boat) -> nx.MultiGraph[Point]:
    """Return the graph of `boat`.

    Each edge has as its key its element (``part:element``) and these attributes: ``part``, the id of the
    wire, joint or part; ``primitive``, what the element is; ``through``, whether it joins the two main
    terminals of a part or belongs to a lead.  A half bridge and a regulator give an edge from either supply
    node to the output.
    """
    graph: nx.MultiGraph[Point] = nx.MultiGraph()
    graph.add_nodes_from(points_of(boat))
    for lead in boat.leads.values():
        ends = [Point(part=lead.id, terminal=end) for end in ("1", "2")]
        _join(graph, ends[0], ends[1], lead.id, "wire")
        for number, (outer, inner) in enumerate(zip(lead.ends, ends, strict=True), start=1):
            _join(graph, outer, inner, joint_id(lead.id, number), "joint")
    for part in described_parts(boat):
        _add_elements(graph, boat, part)
        _add_signals(graph, boat, part)
    return graph


def _join(graph: nx.MultiGraph[Point], one: Point, other: Point, part: str, element: str) -> None:
    key = f"{part}:{element}"
    graph.add_edge(one, other, key=key, part=part, primitive=Primitive.RESISTANCE, through=True)


def _add_elements(graph: nx.MultiGraph[Point], boat: Boat, part: str) -> None:
    kind = boat.parts[part].kind
    for element in kind.elements.values():
        for one, other in _pairs(element.primitive, element.nodes):
            graph.add_edge(
                Point(part=part, terminal=one),
                Point(part=part, terminal=other),
                key=f"{part}:{element.name}",
                part=part,
                primitive=element.primitive,
                through=len(kind.through) == 2 and {one, other} == set(kind.through),
            )


def _inner(
    graph: nx.MultiGraph[Point], part: str, ends: tuple[str, str], element: str, primitive: Primitive
) -> None:
    one, other = (Point(part=part, terminal=end) for end in ends)
    graph.add_edge(one, other, key=f"{part}:{element}", part=part, primitive=primitive, through=False)


def _pairs(primitive: Primitive, nodes: tuple[str, ...]) -> list[tuple[str, str]]:
    if len(PRIMITIVE_NODES[primitive]) == 2:
        return [(nodes[0], nodes[1])]
    return [(nodes[0], nodes[2]), (nodes[1], nodes[2])]


def _add_signals(graph: nx.MultiGraph[Point], boat: Boat, part: str) -> None:
    """Add what every signal input and every socket has inside, though no kind lists it as an element."""
    kind = boat.parts[part].kind
    for spec in kind.inputs.values():
        _inner(graph, part, (spec.signal, spec.negative), f"{spec.name} input", Primitive.RESISTANCE)
    if kind.slots is None:
        return
    rails = {"s": kind.slots.negative, "+": kind.slots.positive, "-": kind.slots.negative}
    for name in terminals_of(boat, part):
        slot = slot_of(name)
        if slot is not None:
            primitive = Primitive.EMF if slot[1] == "s" else Primitive.RESISTANCE
            _inner(graph, part, (name, rails[slot[1]]), f"socket {name}", primitive)
