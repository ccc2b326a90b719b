"""What the dialogue says: asks, shows, warnings and the conclusion, all frozen values.

An `Ask` carries everything a screen or a program needs to answer it: what is wanted, the options, where the
probes go, how the boat is set and what of that has still to be changed.  Nothing has to be read out of its
prose.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from assistant.circuit import BoatState, Measurement
from assistant.circuit.expectation import Band, BandName
from assistant.diagnosis.model import Asked, ModeAt, RepairId, SignQuery, Verdict, Wiggle
from assistant.wiring import Point


class Want(StrEnum):
    """What kind of answer an ask takes."""

    CHOICE = "choice"
    READING = "reading"
    CONFIRM = "confirm"
    TEXT = "text"


class ManipulationKind(StrEnum):
    """What hands do to the boat, other than setting it."""

    SWAP = "swap"
    REPLACE = "replace"
    BYPASS = "bypass"
    PLUGS = "plugs"
    REPAIR = "repair"
    WIGGLE = "wiggle"


@dataclass(frozen=True, slots=True, kw_only=True)
class Manipulation:
    """Something moved, replaced, bridged or mended.

    `places` are parts, wires or joints by id, in order of work; `ends` is where a bridging lead goes.
    """

    kind: ManipulationKind
    places: tuple[str, ...]
    ends: tuple[Point, Point] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One answer of a choice.

    Attributes
    ----------
    says : other words that people type for it.
    """

    key: str
    text: str
    says: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One setting that has to be changed, with the value (see `BoatState`) and the words for it."""

    setting: str
    value: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StripRead:
    """A reading of volts as it stands on the path.

    Attributes
    ----------
    standing : how it stands to what a healthy boat shows for that very reading.
    here : whether the boat was set as the ask wants it; otherwise it was set in another way.
    """

    volts: float
    standing: BandName
    here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StripPoint:
    """A point on the path from pack to device.

    Attributes
    ----------
    expected : healthy volts there against the pack's negative, in the state of the ask; None when unknown.
    read : what was read last with red there and black on a point off the path, such as a negative.
    drop : what was read last between this point and one before it on the path.
    suspicion : probability (0 .. 1) of what lies between the point before and this one; a part belongs to
        the stretch that ends at its last point.
    """

    point: Point
    label: str
    expected: Band | None
    read: StripRead | None
    drop: StripRead | None
    suspicion: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """A question.

    Attributes
    ----------
    id : stable name of the question, unique within the case.
    options : answers of a choice, in the order shown.
    default : what an empty answer means, or None when it means nothing.
    measurement, band : for a reading, with what a healthy boat would show.
    query : the sign that is looked for.
    wiggle : the place to be moved, and what is watched meanwhile.
    manipulation : what is moved, replaced or mended.
    state : how the boat has to be set; None where it does not matter.
    changes : what of `state` differs from how the boat stands, in the order to do it.
    held : sticks that go on being held away from their rest, in words: they spring back if let go.
    why, how : why this is asked, and how to do it safely.
    lesson : id of the lesson behind it, if any.
    cautions : ids of the cautions that belong to it.
    strip : the path under test.
    suspects : places still in question with their probabilities, likeliest first.
    others : how many more places are in question, and their probability together.
    """

    id: str
    text: str
    want: Want
    options: tuple[Option, ...] = ()
    default: str | None = None
    measurement: Measurement | None = None
    band: Band | None = None
    query: SignQuery | None = None
    wiggle: Wiggle | None = None
    manipulation: Manipulation | None = None
    state: BoatState | None = None
    changes: tuple[Change, ...] = ()
    held: tuple[str, ...] = ()
    why: str = ""
    how: str = ""
    lesson: str = ""
    cautions: tuple[str, ...] = ()
    strip: tuple[StripPoint, ...] = ()
    suspects: tuple[tuple[str, float], ...] = ()
    others: tuple[int, float] = (0, 0.0)

    @property
    def asked(self) -> Asked | None:
        """Return what an answer would be evidence of, None where it would be of nothing."""
        return self.measurement or self.query or self.wiggle

    def named(self, name: str) -> Ask:
        """Return the same ask under another id."""
        return replace(self, id=name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Show:
    """Something to read."""

    id: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Warn:
    """A caution to read before what follows; `caution` is its id."""

    id: str
    text: str
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RepairLeft:
    """A repair that may cure the boat.

    Attributes
    ----------
    label : what a person calls the place.
    ends : both ends of the lead, when the place is a wire or joint.
    modes : fault modes behind it, likeliest first.
    remedy : what to do.
    cause_first : what may have caused it and has to be ruled out before, or it will fail again.
    follow_ups : what has to be mended after it, because it caused that too.
    check_seconds : rough time to get at the place and look.
    """

    repair: RepairId
    probability: float
    label: str
    ends: tuple[str, str] | None
    modes: tuple[ModeAt, ...]
    remedy: str
    cause_first: tuple[RepairId, ...]
    follow_ups: tuple[RepairId, ...]
    check_seconds: float


class Ending(StrEnum):
    """How a case ended."""

    MENDED = "mended"
    NOTED = "noted"
    HEALTHY = "healthy"
    UNKNOWN = "unknown"
    STOPPED = "stopped"
    ELSEWHERE = "elsewhere"


@dataclass(frozen=True, slots=True, kw_only=True)
class Conclude:
    """The end of the dialogue.

    Attributes
    ----------
    verdict : None when no narrowing took place.
    repairs : what is left, in the order to go about it.
    done : repairs made on the way.
    use : id of the symptom to go on with, when this was the wrong one.
    """

    id: str
    text: str
    ending: Ending
    verdict: Verdict | None = None
    repairs: tuple[RepairLeft, ...] = ()
    done: tuple[RepairId, ...] = ()
    use: str | None = None


Event = Ask | Show | Warn | Conclude
