"""Points of a boat: which there are, how a probe reaches them, and who meets there.

Every terminal of a described part and both ends of every wire are points.  A receiver has the pins of its
sockets that are in use and the supply pins of one spare socket, the easiest place to read its supply.
"""

from __future__ import annotations

from collections.abc import Mapping

from assistant.catalogue import Group, Reach, Side, Terminal, slot_of, terminal_of
from assistant.errors import MisuseError
from assistant.wiring.cables import cable_ids
from assistant.wiring.model import Boat, JointKind, Lead, Point

_WIRE_END_REACH: Mapping[JointKind, Reach] = {
    JointKind.PLUGGED: Reach.OPEN,
    JointKind.SCREWED: Reach.OPEN,
    JointKind.CRIMPED: Reach.BEHIND_COVER,
    JointKind.SOLDERED: Reach.SEALED,
}


def points_of(boat: Boat) -> tuple[Point, ...]:
    """Return all points in the order of the description: terminals of parts, then wire ends."""
    made = joint_ids(boat) | boat.leads.keys() | cable_ids(boat)
    terminals = [
        Point(part=part, terminal=name)
        for part in boat.parts
        if part not in made
        for name in terminals_of(boat, part)
    ]
    ends = [Point(part=lead, terminal=end) for lead in boat.leads for end in ("1", "2")]
    return (*terminals, *ends)


def described_parts(boat: Boat) -> tuple[str, ...]:
    """Return the ids of the parts that the description names: no wires, joints, cables or settings of the radio."""
    made = joint_ids(boat) | boat.leads.keys() | cable_ids(boat) | radio_ids(boat)
    return tuple(part for part in boat.parts if part not in made)


def radio_ids(boat: Boat) -> frozenset[str]:
    """Return the ids of the settings of the radio that can be wrong; they are parts without terminals."""
    return frozenset(part.id for part in boat.parts.values() if part.kind.group is Group.SETTING)


def joint_ids(boat: Boat) -> frozenset[str]:
    """Return the ids of all joints."""
    return frozenset(joint_id(lead, end) for lead in boat.leads for end in (1, 2))


def joint_id(lead: str, end: int) -> str:
    """Return the id of the joint at end 1 or 2 of a lead.

    >>> joint_id("pack.+--fuse.in", 1)
    'pack.+--fuse.in@1'
    """
    return f"{lead}@{end}"


def lead_of(boat: Boat, part: str) -> Lead | None:
    """Return the lead that the wire or joint `part` belongs to, or None for a described part."""
    return boat.leads.get(part.partition("@")[0])


def sockets_in_use(boat: Boat, receiver: str) -> tuple[int, ...]:
    """Return the numbers of a receiver's sockets that something is plugged into, ascending."""
    ends = (end for lead in boat.leads.values() for end in lead.ends if end.part == receiver)
    slots = (slot_of(end.terminal) for end in ends)
    return tuple(sorted({slot[0] for slot in slots if slot is not None}))


def terminals_of(boat: Boat, part: str) -> Mapping[str, Terminal]:
    """Return the terminals of a part by name, the pins of a receiver's sockets included.

    A receiver shows signal, plus and minus of every socket in use, and plus and minus of one spare socket.
    """
    kind = boat.parts[part].kind
    if kind.slots is None:
        return kind.terminals
    used = sockets_in_use(boat, part)
    spare = max(used, default=0) + 1
    pins = [f"{number}{pin}" for number in used for pin in "s+-"] + [f"{spare}+", f"{spare}-"]
    made = {pin: terminal for pin in pins if (terminal := terminal_of(kind, pin)) is not None}
    return {**kind.terminals, **made}


def side_at(boat: Boat, point: Point) -> Side | None:
    """Return which side of the circuit a terminal is on: neutral for wire ends, None for inner nodes."""
    part = boat.parts.get(point.part)
    terminal = terminal_of(part.kind, point.terminal) if part else None
    return terminal.side if terminal else None


def reach_of(boat: Boat, point: Point) -> Reach:
    """Return how easily a probe gets at `point`.

    The end of a wire is open at a plug or screw, behind the sleeve of a crimp and sealed by the shrink over a
    soldered joint; its terminal may still be open.  A pin with a plug on it lies behind that plug.

    Raises
    ------
    MisuseError
        For a point that the boat does not have.
    """
    lead = boat.leads.get(point.part)
    if lead is not None and point.terminal in ("1", "2"):
        return _WIRE_END_REACH[lead.joints[int(point.terminal) - 1]]
    part = boat.parts.get(point.part)
    terminal = terminal_of(part.kind, point.terminal) if part else None
    if part is None or terminal is None:
        raise MisuseError(value=point, reason="no such point", next_step="take points from points_of")
    if point.terminal in part.reach:
        return part.reach[point.terminal]
    slot = slot_of(point.terminal) if part.kind.slots is not None else None
    if slot is not None and slot[0] in sockets_in_use(boat, point.part):
        return Reach.BEHIND_COVER
    return terminal.reach


def leads_at(boat: Boat, point: Point) -> tuple[str, ...]:
    """Return the ids of the leads that end at `point`, in the order of the description."""
    return tuple(lead.id for lead in boat.leads.values() if point in lead.ends)
