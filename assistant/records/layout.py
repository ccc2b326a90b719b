"""Where everything of the wiring picture lies: parts in rows by their way from the pack, leads in lanes beside them.

Each part has a row of its own, so the picture is as narrow as a phone whatever the boat. Going down the rows is
going away from the pack, branch by branch. What is positive leaves and enters on the left, what is negative on the
right; leads that share their upper end share a lane, as on a bus, and every other lead gets the nearest free
lane. The three cores of a signal lead are one thin line, furthest out on the right.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from assistant.catalogue import Group, Side, slot_of
from assistant.wiring import Boat, Lead, Point, described_parts, terminals_of

__all__ = ["Box", "Edge", "Plan", "Port", "Run", "plan_of", "port_of"]

TITLE: Final = 15.0
LINE: Final = 12.5
PAD: Final = 4.0
GAP: Final = 9.0
LANE: Final = 9.0
FIRST_LANE: Final = 17.0
MARGIN: Final = 6.0
WIDTH: Final = 360.0
LEAST_BOX: Final = 190.0
SIGNAL: Final = "signal"


class Edge(StrEnum):
    """Side of the boxes."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """A place on the edge of a box where leads end: a terminal, or all pins of a signal lead.

    Attributes
    ----------
    name : name of the terminal, ``signal``, or the socket.
    lines : number of lines of text beside it.
    y : height of its first line.
    """

    part: str
    name: str
    edge: Edge
    lines: int
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A part; a junction is one line without ports of its own height."""

    part: str
    y: float
    height: float
    ports: tuple[Port, ...]
    flat: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A lead, or a whole signal lead.

    Attributes
    ----------
    leads : its wires by id.
    upper, lower : where it begins and ends; the upper port is shared by all runs of its lane.
    edge, x : its lane.
    thin : whether it is a signal lead.
    """

    leads: tuple[str, ...]
    upper: Port
    lower: Port
    edge: Edge
    x: float
    thin: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The whole picture without its words.

    Attributes
    ----------
    left, right : both edges of the boxes.
    """

    width: float
    height: float
    left: float
    right: float
    boxes: tuple[Box, ...]
    runs: tuple[Run, ...]

    def edge(self, edge: Edge) -> float:
        """Return where an edge of the boxes is."""
        return self.left if edge is Edge.LEFT else self.right

    def port(self, boat: Boat, point: Point) -> Port | None:
        """Return the port that a point belongs to; wire ends belong to the terminal they end at."""
        part, name = port_of(boat, point)
        ports = (port for box in self.boxes if box.part == part for port in box.ports)
        return next((port for port in ports if port.name == name), None)


@dataclass(slots=True, kw_only=True)
class _Lane:
    """The vertical stretch that one lane has to keep free, in pixels."""

    key: tuple[Port, Edge, str]
    top: float
    bottom: float
    number: int = 0


@dataclass(slots=True, kw_only=True)
class _Sketch:
    """Boxes placed so far and the lines wanted at each port."""

    boat: Boat
    minus: frozenset[Point]
    lines: Mapping[tuple[str, str], int]
    boxes: list[Box] = field(default_factory=list)
    y: float = MARGIN


def port_of(boat: Boat, point: Point) -> tuple[str, str]:
    """Return the part and the name of the port that a point belongs to."""
    lead = boat.leads.get(point.part)
    if lead is not None:
        return port_of(boat, lead.ends[int(point.terminal) - 1])
    slot = slot_of(point.terminal) if boat.parts[point.part].kind.slots is not None else None
    if slot is not None:
        return point.part, str(slot[0])
    inputs = boat.parts[point.part].kind.inputs.values()
    pins = {pin for spec in inputs for pin in (spec.signal, spec.positive, spec.negative)}
    cabled = any(point in lead.ends and lead.cable for lead in boat.leads.values())
    return point.part, SIGNAL if cabled and point.terminal in pins else point.terminal


def plan_of(boat: Boat, lines: Mapping[tuple[str, str], int]) -> Plan:
    """Return the plan of a boat.

    Parameters
    ----------
    boat
        The boat.
    lines
        Extra lines of text wanted at ports, by part and name of the port.
    """
    sketch = _Sketch(boat=boat, minus=_minus_net(boat), lines=lines)
    for part in _order(boat, sketch.minus):
        _place(sketch, part)
    pairs = list(_pairs(boat, sketch.boxes))
    lanes = _lanes(pairs)
    counts = {edge: max((ln.number + 1 for ln in lanes if ln.key[1] is edge), default=0) for edge in Edge}
    rooms = {edge: MARGIN + FIRST_LANE + LANE * count for edge, count in counts.items()}
    left = rooms[Edge.LEFT]
    right = max(WIDTH - rooms[Edge.RIGHT], left + LEAST_BOX)
    numbers = {lane.key: lane.number for lane in lanes}
    return Plan(
        width=right + rooms[Edge.RIGHT],
        height=sketch.y - GAP + MARGIN,
        left=left,
        right=right,
        boxes=tuple(sketch.boxes),
        runs=tuple(_run(pair, numbers, left, right) for pair in pairs),
    )


def _minus_net(boat: Boat) -> frozenset[Point]:
    """Return all points that leads and junctions alone join to the negative of a pack."""
    packs = [part for part in described_parts(boat) if boat.parts[part].kind.group is Group.PACK]
    left = [
        Point(part=pack, terminal=name)
        for pack in packs
        for name, terminal in terminals_of(boat, pack).items()
        if terminal.side is Side.NEGATIVE
    ]
    found: set[Point] = set()
    while left:
        point = left.pop()
        if point in found:
            continue
        found.add(point)
        if boat.parts[point.part].kind.group is Group.JUNCTION:
            left += [Point(part=point.part, terminal=name) for name in terminals_of(boat, point.part)]
        left += [end for lead in _power(boat) if point in lead.ends for end in lead.ends]
    return frozenset(found)


def _power(boat: Boat) -> Iterator[Lead]:
    return (lead for lead in boat.leads.values() if not lead.cable)


def _order(boat: Boat, minus: frozenset[Point]) -> list[str]:
    """Return the parts from pack to load, branch by branch; signal leads lead on to what no power lead reaches."""
    parts = described_parts(boat)
    found: dict[str, None] = {}
    positive = [lead for lead in _power(boat) if not minus.issuperset(lead.ends)]
    returns = [part for part in parts if any(point.part == part for point in minus) and _joins(boat, part)]
    for pack in (part for part in parts if boat.parts[part].kind.group is Group.PACK):
        found[pack] = None
        found.update(dict.fromkeys(returns))
        _follow(boat, pack, positive, found)
    cables = [lead for lead in boat.leads.values() if lead.cable]
    for part in [*found, *parts]:
        if part in found:
            _follow(boat, part, cables, found)
    return [*found, *(part for part in parts if part not in found)]


def _joins(boat: Boat, part: str) -> bool:
    return boat.parts[part].kind.group is Group.JUNCTION


def _follow(boat: Boat, part: str, leads: Sequence[Lead], found: dict[str, None]) -> None:
    """Add what hangs on a part, each branch to its end before the next."""
    stack = [part]
    while stack:
        here = stack.pop()
        found.setdefault(here)
        ends = [lead.ends for lead in leads if any(_feeds(boat, end, here) for end in lead.ends)]
        beyond = [end.part for pair in ends for end in pair if end.part not in found]
        stack += reversed(list(dict.fromkeys(beyond)))


def _feeds(boat: Boat, end: Point, part: str) -> bool:
    """Tell whether a lead that ends here goes on from the part; a trigger ends where it is."""
    if end.part != part:
        return False
    terminal = terminals_of(boat, part)[end.terminal]
    return terminal.side is not Side.SIGNAL or port_of(boat, end)[1] != end.terminal


def _place(sketch: _Sketch, part: str) -> None:
    """Put a part into the next row, with its ports."""
    boat = sketch.boat
    flat = _joins(boat, part)
    named: dict[str, Edge] = {}
    for point in _used(boat, part):
        named.setdefault(port_of(boat, point)[1], _edge_of(boat, point, sketch.minus))
    for place, name in sketch.lines:
        if place == part:
            named.setdefault(name, Edge.RIGHT if name in {"-", SIGNAL} or name.isdigit() else Edge.LEFT)
    ports: list[Port] = []
    below = dict.fromkeys(Edge, sketch.y + (0.0 if flat else TITLE))
    for name, edge in named.items():
        lines = 1 + sketch.lines.get((part, name), 0)
        ports.append(Port(part=part, name=name, edge=edge, lines=lines, y=below[edge] + LINE / 2.0 + PAD / 2))
        below[edge] += LINE * lines
    height = max(*below.values(), sketch.y + TITLE) - sketch.y + PAD
    sketch.boxes.append(Box(part=part, y=sketch.y, height=height, ports=tuple(ports), flat=flat))
    sketch.y += height + GAP


def _used(boat: Boat, part: str) -> list[Point]:
    """Return the terminals that leads end at, in the order of the kind."""
    ends = {end for lead in boat.leads.values() for end in lead.ends if end.part == part}
    names = list(terminals_of(boat, part))
    return sorted(ends, key=lambda end: names.index(end.terminal))


def _edge_of(boat: Boat, point: Point, minus: frozenset[Point]) -> Edge:
    name = port_of(boat, point)[1]
    if point in minus or name == SIGNAL or name.isdigit():
        return Edge.RIGHT
    sides = {key: terminal.side for key, terminal in terminals_of(boat, point.part).items()}
    if sides[point.terminal] is Side.NEGATIVE:
        return Edge.RIGHT
    outputs = [key for key, side in sides.items() if side is Side.OUTPUT]
    return Edge.RIGHT if len(outputs) == 2 and point.terminal == outputs[1] else Edge.LEFT


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pair:
    """A lead, or the wires of a signal lead, with its ports; the upper one first."""

    leads: tuple[str, ...]
    upper: Port
    lower: Port
    thin: bool

    @property
    def key(self) -> tuple[Port, Edge, str]:
        """Runs of one key share a lane."""
        return self.upper, Edge.RIGHT if self.thin else self.upper.edge, SIGNAL if self.thin else ""


def _pairs(boat: Boat, boxes: Iterable[Box]) -> Iterator[_Pair]:
    ports = {(port.part, port.name): port for box in boxes for port in box.ports}
    bundles: dict[str, list[str]] = {}
    for lead in boat.leads.values():
        bundles.setdefault(lead.cable or lead.id, []).append(lead.id)
    for wires in bundles.values():
        lead = boat.leads[wires[0]]
        upper, lower = sorted((ports[port_of(boat, end)] for end in lead.ends), key=lambda port: port.y)
        yield _Pair(leads=tuple(wires), upper=upper, lower=lower, thin=lead.cable is not None)


def _lanes(pairs: Sequence[_Pair]) -> list[_Lane]:
    """Give every bundle of runs the nearest lane that is free along it; short ones choose first, thin ones last."""
    wanted: dict[tuple[Port, Edge, str], _Lane] = {}
    for pair in pairs:
        lane = wanted.setdefault(pair.key, _Lane(key=pair.key, top=pair.upper.y, bottom=pair.upper.y))
        lane.bottom = max(lane.bottom, pair.lower.y)
    given: list[_Lane] = []
    for lane in sorted(wanted.values(), key=lambda one: (one.key[2], one.bottom - one.top, one.top)):
        near = [
            one.number
            for one in given
            if one.key[1] is lane.key[1] and one.top < lane.bottom + PAD and lane.top < one.bottom + PAD
        ]
        lane.number = next(number for number in range(len(near) + 1) if number not in near)
        given.append(lane)
    return given


def _run(pair: _Pair, numbers: Mapping[tuple[Port, Edge, str], int], left: float, right: float) -> Run:
    edge = pair.key[1]
    off = FIRST_LANE + LANE * numbers[pair.key]
    x = left - off if edge is Edge.LEFT else right + off
    return Run(leads=pair.leads, upper=pair.upper, lower=pair.lower, edge=edge, x=x, thin=pair.thin)
