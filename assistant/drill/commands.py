"""What a learner can do at a virtual boat, as plain values, and the words for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from assistant.catalogue import Action
from assistant.circuit import MeterFunction
from assistant.wiring import Point, Setting


class Word(StrEnum):
    """Commands that stand alone or with nothing but words."""

    HELP = "help"
    BOAT = "boat"
    CLEAR = "clear"
    WAIT = "wait"
    HINT = "hint"
    SUSPECTS = "suspects"
    PROVE = "prove"
    AGAIN = "again"
    END = "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plain:
    """A command without anything to it."""

    word: Word


@dataclass(frozen=True, slots=True, kw_only=True)
class SetTo:
    """Set something to a value."""

    setting: Setting
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """Put the probes of the meter on two points."""

    function: MeterFunction
    red: Point
    black: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Amps:
    """Put the red lead into the current jack and the probes on two points."""

    red: Point
    black: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Jack:
    """Put the red lead back into the volts hole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LookAt:
    """Look at, listen to, feel or smell a part."""

    part: str
    sign: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Wiggle:
    """Move a part, wire or joint with a finger, watching."""

    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Name:
    """Say which place is at fault."""

    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """Do something to a place so that it is as new, or as it was meant."""

    place: str
    action: Action


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedbackWhen:
    """Say when feedback is wanted."""

    when: str


Command = Plain | SetTo | Read | Amps | Jack | LookAt | Wiggle | Name | Repair | FeedbackWhen

FEEDBACK = ("each", "end", "none")
"""When feedback can be had."""

USAGE: Sequence[tuple[str, str]] = (
    ("volts RED BLACK", "measure; without BLACK against the pack's minus"),
    ("ohms, beep, diode RED BLACK", "the same; every pack unplugged first"),
    ("amps in PLACE", "the meter in the place of a fuse or plug, which is opened for it; then: jack"),
    ("look, listen, feel PART", "use eyes, ears, a finger"),
    ("set NAME VALUE", "such as: set throttle forward, set pack unplugged"),
    ("wiggle PLACE", "move a wire, plug or part while you watch"),
    ("wait", "until the trouble shows again"),
    ("clear", "hold the boat, see that nothing is near pumps and propellers"),
    ("boat", "all parts, test points and settings"),
    ("hint", "a nudge; again: where; again: the next check"),
    ("suspects", "what your checks have left"),
    ("name PLACE", "say what is at fault"),
    ("repair PLACE", "mend it: repair PLACE replace, remake, clear, dry ..."),
    ("prove", "try what did not work"),
    ("feedback each, end, none", "when to be told what a check was worth"),
    ("again, end", "what is going on; give up and see the answer"),
)
"""The commands and what they do."""
