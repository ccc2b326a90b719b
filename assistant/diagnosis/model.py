"""Nouns of the diagnosis: hypotheses, evidence, steps, verdicts.  All plain frozen values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from assistant.catalogue import Action
from assistant.circuit import BoatState, Fault, Measurement
from assistant.circuit.expectation import Band
from assistant.wiring import Point


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class RepairId:
    """What cures: an action at a place (part, wire or joint id)."""

    place: str
    action: Action

    def __str__(self) -> str:
        return f"{self.action} {self.place}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ModeAt:
    """A fault mode at a part, without severity."""

    part: str
    mode: str


EVEN = 0.5
"""Probability above which something is likelier than not."""

ALWAYS = (1.0,)
"""Shares of the time that a fault is there which stays."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hypothesis:
    """One story of what is wrong: no mode (healthy), one, or several that came together or one after the other.

    `modes` names causes first, their consequences after them; `repairs` in the same order.
    `weight` is the prior mass before evidence (not normalised).  `sides` are how far below and above itself each of
    the severities stands for the range around it, which is its share of the weight; left out, the shares are even.
    `there` are the shares of the time that the fault may be there, each as likely as the others: below 1 for what comes
    and goes.  `beside` is a second trouble that has nothing to do with the first, at a severity of its own, and
    `second` the repair of it.
    """

    modes: tuple[ModeAt, ...]
    repairs: tuple[RepairId, ...]
    severities: tuple[float, ...]
    weight: float
    sides: tuple[tuple[float, float], ...] = ()
    there: tuple[float, ...] = ALWAYS
    beside: tuple[Fault, ...] = ()
    second: RepairId | None = None

    @property
    def comes_and_goes(self) -> bool:
        """Tell whether the fault is there but for a share of the time."""
        return self.there != ALWAYS

    @property
    def shares(self) -> tuple[float, ...]:
        """Return the share of the weight at each severity, with sum 1."""
        widths = [below + above for below, above in self.sides] or [1.0 for _ in self.severities]
        return tuple(width / sum(widths) for width in widths)


class TrialKind(StrEnum):
    """What is changed on the boat for a look, and put back after it."""

    SPARE = "spare"
    SWAP = "swap"
    BYPASS = "bypass"
    PLUGS = "plugs"


class AtHand(StrEnum):
    """What there is to try with, a test lamp among it; two parts alike can be swapped without any of it."""

    SPARE_SERVO = "spare servo"
    SPARE_FUSE = "spare fuse"
    SPARE_PACK = "spare pack"
    BYPASS_LEAD = "bypass lead"
    LAMP = "lamp"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A change for one look: a spare in, two parts alike swapped, a piece of a feed bridged, two plugs swapped.

    Attributes
    ----------
    places : parts, wires and joints that are made good, the part itself first; for a swap the two parts; for
        plugs the pair of channels, and the device that hangs on the first and on the second of them.
    ends : where a bridging lead goes, None for the others.
    """

    kind: TrialKind
    places: tuple[str, ...]
    ends: tuple[Point, Point] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SignQuery:
    """A sign to look, listen or feel for: which sign of which part in which boat state.

    `after` is what is changed on the boat for this look, and put back after it.
    """

    part: str
    sign: str
    state: BoatState
    after: Trial | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingSeen:
    """Evidence: a reading (SI unit of its function; ``inf`` for OL, and for no beep).

    `within` is how far the figure as told may stand off what the meter showed: "12 V" says 11.5 to 12.5 V.
    """

    measurement: Measurement
    value: float
    within: float = 0.0

    @property
    def asked(self) -> Measurement:
        """Return what was read."""
        return self.measurement


@dataclass(frozen=True, slots=True, kw_only=True)
class SignSeen:
    """Evidence: a sign showed at one of several levels (more than one when the person is not sure)."""

    query: SignQuery
    levels: tuple[str, ...]

    @property
    def asked(self) -> SignQuery:
        """Return what was looked at."""
        return self.query


@dataclass(frozen=True, slots=True, kw_only=True)
class Unsteady:
    """Evidence: what was read or looked at comes and goes."""

    asked: Measurement | SignQuery


@dataclass(frozen=True, slots=True, kw_only=True)
class Wiggle:
    """Moving one place (part, wire or joint) while a reading or a sign is watched."""

    place: str
    watched: Measurement | SignQuery

    @property
    def state(self) -> BoatState:
        """Return how the boat is set meanwhile."""
        return self.watched.state


@dataclass(frozen=True, slots=True, kw_only=True)
class Wiggled:
    """Evidence: whether what was watched changed while a place was moved."""

    asked: Wiggle
    changed: bool


Evidence = ReadingSeen | SignSeen | Unsteady | Wiggled

Asked = Measurement | SignQuery | Wiggle
"""What an answer may be to."""

Barred = Asked | Point
"""What is not to be asked for: a reading, a sign, a move, or anything at a point that no probe gets to."""


class StepKind(StrEnum):
    """What a person is asked to do next."""

    READ = "read"
    LOOK = "look"
    WIGGLE = "wiggle"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A proposed next step.

    Attributes
    ----------
    measurement, band : for READ. `band` is the healthy expectation.
    query, levels : for LOOK; the possible levels with their words.
    wiggle, swing : for WIGGLE; what is watched shows the first while the fault is away, the second while it is there.
    gain_bits : expected information about the repair.
    seconds : cost.
    """

    kind: StepKind
    measurement: Measurement | None
    band: Band | None
    query: SignQuery | None
    levels: Mapping[str, str]
    gain_bits: float
    seconds: float
    wiggle: Wiggle | None = None
    swing: tuple[float, float] | tuple[str, str] | None = None

    @property
    def asked(self) -> Asked | None:
        """Return what is asked."""
        return self.measurement or self.query or self.wiggle


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """A repair in question.  `stands` tells whether the answers still allow it about as well as the likeliest one.

    `modes` are the fault modes behind it, likeliest first; `follow_ups` are what has to be mended after it, because
    it suffered from it.
    """

    repair: RepairId
    probability: float
    modes: tuple[ModeAt, ...]
    follow_ups: tuple[RepairId, ...]
    stands: bool


class Outcome(StrEnum):
    """How far the hunt has come."""

    OPEN = "open"
    SOLE = "sole"  # one repair, confirmed
    GROUP = "group"  # several repairs that no available step separates
    HEALTHY = "healthy"  # the boat as read shows no fault
    UNCAUGHT = "uncaught"  # said to come and go, and it did not while it was watched
    UNKNOWN = "unknown"  # nothing modelled explains the answers


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The state of the hunt: outcome, the repairs left in falling probability, and what explains nothing.

    `two` is the probability that the answers come from two faults that have nothing to do with each other; `second` is
    what is then likeliest beside the likeliest repair, with its probability among all that may be.
    """

    outcome: Outcome
    suspects: tuple[Suspect, ...]
    healthy: float
    unknown: float
    two: float = 0.0
    second: tuple[RepairId, float] | None = None

    @property
    def is_of_two(self) -> bool:
        """Tell whether two faults at once are likelier than not."""
        return self.two > EVEN
