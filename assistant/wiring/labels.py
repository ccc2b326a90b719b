"""Plain words for parts, joints, wires and points, short enough for a narrow screen."""

from __future__ import annotations

from assistant.wiring.model import Boat, JointKind, Lead, Point
from assistant.wiring.points import lead_of, leads_at

_JOINT_WORDS = {
    JointKind.SOLDERED: "solder joint",
    JointKind.CRIMPED: "crimp",
    JointKind.PLUGGED: "plug",
    JointKind.SCREWED: "screw",
}
_CORE_WORDS = {"s": "signal wire", "+": "red wire", "-": "minus wire"}
_PIN_WORDS = {"s": "signal pin", "+": "red pin", "-": "minus pin"}


def label_of(boat: Boat, part: str) -> str:
    """Return what a person calls a part, wire or joint of the boat.

    Examples: ``fuse``, ``lead from fuse out to switch in``, ``plug at pack +``, ``channel 3 lead, red wire``.
    """
    lead = lead_of(boat, part)
    if lead is None:
        return _plain(part)
    if "@" not in part:
        if lead.cable:
            return f"{lead.cable} lead, {_CORE_WORDS[core_of(lead)]}"
        return f"lead from {point_label(boat, lead.ends[0])} to {point_label(boat, lead.ends[1])}"
    return _joint_label(boat, lead, int(part[-1]))


def point_label(boat: Boat, point: Point) -> str:
    """Return what a person calls a point: ``fuse out``, or ``wire end at fuse out``."""
    lead = boat.leads.get(point.part)
    if lead is None:
        terminals = boat.parts[point.part].kind
        alone = len(terminals.terminals) == 1 and terminals.slots is None
        return _plain(point.part) if alone else f"{_plain(point.part)} {point.terminal}"
    end = int(point.terminal)
    if lead.cable:
        return f"{lead.cable} {_CORE_WORDS[core_of(lead)]} at {_plain(lead.ends[end - 1].part)}"
    beyond = _towards(boat, lead, end)
    return f"wire end at {point_label(boat, lead.ends[end - 1])}{beyond}"


def core_of(lead: Lead) -> str:
    """Return which core of a three-wire lead this is: ``s``, ``+`` or ``-``."""
    return lead.ends[0].terminal[-1]


def _joint_label(boat: Boat, lead: Lead, end: int) -> str:
    here = lead.ends[end - 1]
    if lead.cable:
        return f"{lead.cable} {_PIN_WORDS[core_of(lead)]} at {_plain(here.part)}"
    word = _JOINT_WORDS[lead.joints[end - 1]]
    return f"{word} at {point_label(boat, here)}{_towards(boat, lead, end)}"


def _towards(boat: Boat, lead: Lead, end: int) -> str:
    """Say which lead is meant where several meet."""
    if len(leads_at(boat, lead.ends[end - 1])) == 1:
        return ""
    return f" (to {point_label(boat, lead.ends[2 - end])})"


def _plain(part: str) -> str:
    return part.replace("-", " ")
