"""The order in which one walks round a boat with a probe: out along the positive, branch by branch, and back."""

from __future__ import annotations

import networkx as nx

from assistant.catalogue import Reach, Side, slot_of
from assistant.plan.feeds import conducting, pack_ends, reached
from assistant.plan.supply import regulators
from assistant.wiring import Boat, Point, points_of, reach_of

OUTWARD = "From the pack outward"
REGULATED = "Behind the regulators"
SIGNALS = "Signals"
BACK = "Back to the pack"


def walk(boat: Boat) -> dict[str, tuple[Point, ...]]:
    """Return the reachable test points by stretch of the walk, each once, in the order of walking."""
    negative = _negative_side(boat)
    signals = {p for p in points_of(boat) if _is_signal(boat, p)}
    feed = conducting(boat, bridges=True)
    outward = _ordered(feed, pack_ends(boat, Side.POSITIVE), negative | signals)
    outputs = tuple(Point(part=part, terminal=out) for part, (_, out) in regulators(boat).items())
    regulated = _ordered(feed, outputs, negative | signals | set(outward))
    back = _ordered(feed.subgraph(negative).copy(), pack_ends(boat, Side.NEGATIVE), frozenset())
    told = {*outward, *regulated, *back, *signals}
    stretches = {
        OUTWARD: [*outward, *(p for p in points_of(boat) if p not in told)],
        REGULATED: regulated,
        SIGNALS: [p for p in points_of(boat) if p in signals],
        BACK: back,
    }
    return {title: tuple(p for p in points if _can_touch(boat, p)) for title, points in stretches.items()}


def _can_touch(boat: Boat, point: Point) -> bool:
    return not point.terminal.startswith("~") and reach_of(boat, point) is not Reach.SEALED


def _negative_side(boat: Boat) -> frozenset[Point]:
    """Return what hangs on packs' negatives and on no pack's positive."""
    graph = conducting(boat)
    live = frozenset().union(*(reached(graph, end) for end in pack_ends(boat, Side.POSITIVE)))
    dead: frozenset[Point] = frozenset().union(*(reached(graph, e) for e in pack_ends(boat, Side.NEGATIVE)))
    return dead - live


def _is_signal(boat: Boat, point: Point) -> bool:
    """Tell whether a point carries pulses: a signal pin of a socket or input, or the wire between them."""
    lead = boat.leads.get(point.part)
    if lead is not None:
        return _is_signal(boat, lead.ends[0])
    kind = boat.parts[point.part].kind
    pin = slot_of(point.terminal) if kind.slots is not None else None
    if pin is not None:
        return pin[1] == "s"
    return point.terminal in {spec.signal for spec in kind.inputs.values()}


def _ordered(
    graph: nx.MultiGraph[Point], starts: tuple[Point, ...], closed: frozenset[Point] | set[Point]
) -> list[Point]:
    """Return the points met by going along each branch to its end before the next."""
    seen: dict[Point, None] = {}
    stack = [start for start in reversed(starts) if start in graph]
    while stack:
        point = stack.pop()
        if point in seen or point in closed:
            continue
        seen[point] = None
        stack.extend(reversed([n for n in graph.adj[point] if n not in seen and n not in closed]))
    return [point for point in seen if not point.terminal.startswith("~")]
