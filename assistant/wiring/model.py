"""A boat as described: parts, leads with a joint at each end, and the radio.

The description is a plain value: everything is looked up by id, nothing is computed.  A lead runs between two
terminals; its wire and its two joints are parts of their own kinds, so the same fault machinery serves them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from assistant.catalogue import Kind, Reach
from assistant.documents import Mark


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Point:
    """A terminal of a part: ``drive.+``.  Wire ends are points too: the part is then the lead's id."""

    part: str
    terminal: str

    def __str__(self) -> str:
        return f"{self.part}.{self.terminal}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of the boat.  `given` holds the values the description states (SI)."""

    id: str
    kind: Kind
    given: Mapping[str, float]
    reach: Mapping[str, Reach]
    mark: Mark | None


class JointKind(StrEnum):
    """What ends a lead at a terminal."""

    SOLDERED = "soldered"
    CRIMPED = "crimped"
    PLUGGED = "plugged"
    SCREWED = "screwed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """A wire between two terminals.

    Its wire is the part `id` with terminals ``1`` and ``2``; its joints are the parts ``id@1`` (between
    `ends[0]` and ``id.1``) and ``id@2``.  `cable` groups the cores of one three-wire signal lead.
    """

    id: str
    ends: tuple[Point, Point]
    joints: tuple[JointKind, JointKind]
    area_mm2: float
    length_m: float
    cable: str | None
    mark: Mark | None


class ControlKind(StrEnum):
    """What a control of the transmitter is."""

    STICK = "stick"  # -1 .. 1, springs back to 0
    LEVER = "lever"  # -1 .. 1, stays where it is put
    SWITCH = "switch"  # -1 or 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """A control of the transmitter and where it stands when nobody touches it (-1 .. 1)."""

    id: str
    kind: ControlKind
    rest: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """A receiver channel: the device input on its slot, and its share of each control (mix)."""

    number: int
    receiver: str
    device: str
    input: str
    mix: Mapping[str, float]
    trim: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Radio:
    """The radio: controls by id and channels by number."""

    controls: Mapping[str, Control]
    channels: Mapping[int, Channel]


@dataclass(frozen=True, slots=True, kw_only=True)
class Boat:
    """A whole description.  `parts` holds the described parts and, for every lead, its wire and joints."""

    id: str
    name: str
    about: str
    parts: Mapping[str, Part]
    leads: Mapping[str, Lead]
    radio: Radio
    usage: Mapping[str, float]
    text: str
