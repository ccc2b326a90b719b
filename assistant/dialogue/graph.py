"""The decision graph of a symptom, as written: roles, boat states, nodes, links and worked examples.

Nodes speak of roles, never of parts, so one graph serves every boat.  Each sort of node has its own class;
all of them answer `links`, which names every way on, so that checks and drawings need not know the sorts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from assistant.catalogue import Group
from assistant.circuit import MeterFunction
from assistant.dialogue.glossary import Term
from assistant.documents import Mark
from assistant.lessons import Lesson

ANY = "any"
"""Link for whatever has no link of its own."""

UNSURE = "unsure"
"""Link for "don't know", "can't reach" and "skip"."""

ABSENT = "absent"
"""Link for a boat that has no such part, point or sign."""


class Base(StrEnum):
    """What a boat state starts from.

    At rest every pack is unplugged; plugged means packs in and transmitter on, but every switch of the boat off; ready
    is all that and every switch on.
    """

    REST = "rest"
    PLUGGED = "plugged"
    READY = "ready"


class Ended(StrEnum):
    """Links of a node that hands over to the diagnosis."""

    FOUND = "found"
    GROUP = "group"
    HEALTHY = "healthy"
    UNKNOWN = "unknown"


class Conclusion(StrEnum):
    """What a last node does."""

    VERDICT = "verdict"
    HEALTHY = "healthy"
    UNKNOWN = "unknown"
    STOP = "stop"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Role:
    """A part that the graph speaks of.

    Attributes
    ----------
    group : what sort of part.
    feeds : role of the part it lies on the way to, from a pack.
    shows : sign that the part must have; empty when any part of the group will do.
    choose : question to a person when there are several; without it the first is taken.
    all : whether "all of them" is an answer.
    optional : whether a boat without it can use the graph.
    later : whether a person is asked only when a node speaks of it, rather than before everything else.
    """

    name: str
    group: Group
    feeds: str | None
    shows: str
    choose: str
    all: bool
    optional: bool
    later: bool = False
    mark: Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class StateSpec:
    """A boat state in words of roles: where it starts, and which roles are run by their controls, ahead or astern."""

    name: str
    base: Base
    run: tuple[str, ...]
    astern: tuple[str, ...] = ()
    mark: Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class PointSpec:
    """A terminal of a role; ``spare+`` and ``spare-`` are the pins of a receiver's free socket."""

    role: str
    terminal: str


AT_TIMES = "comes and goes"
"""Said of a sign in the place of a level."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SignGiven:
    """What an answer says about a sign, so that it counts as evidence: its level, or `AT_TIMES`."""

    sign: str
    of: str
    level: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerSpec:
    """One answer of a question, with its words and the way on."""

    key: str
    text: str
    then: str
    evidence: SignGiven | None


@dataclass(frozen=True, slots=True, kw_only=True)
class NodeBase:
    """What every node has: why it is there, how to do it, the lesson behind it if any, and its cautions."""

    id: str
    why: str
    how: str
    lesson: str
    cautions: tuple[str, ...]
    mark: Mark

    @property
    def links(self) -> Mapping[str, str]:
        """Every way on, by name."""
        return {}


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmNode(NodeBase):
    """Something to be agreed to."""

    text: str
    yes: str
    no: str

    @property
    def links(self) -> Mapping[str, str]:
        """Every way on, by name."""
        return {"yes": self.yes, "no": self.no}


@dataclass(frozen=True, slots=True, kw_only=True)
class AskNode(NodeBase):
    """A question with fixed answers.

    `state` is how the boat has to be set for it, if that matters; `likely` is the key of what Enter means.
    """

    text: str
    answers: tuple[AnswerSpec, ...]
    likely: str | None
    state: str | None
    unsure: str

    @property
    def links(self) -> Mapping[str, str]:
        """Every way on, by name."""
        return {**{answer.key: answer.then for answer in self.answers}, UNSURE: self.unsure}


@dataclass(frozen=True, slots=True, kw_only=True)
class SignNode(NodeBase):
    """A sign to look, listen or feel for.

    With `recall` it is asked from memory: what was noticed in that boat state, which is not set again.
    """

    sign: str
    of: str
    state: str
    text: str
    then: Mapping[str, str]
    recall: bool = False

    @property
    def links(self) -> Mapping[str, str]:
        """Every way on, by name."""
        return self.then


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadNode(NodeBase):
    """A reading between two points."""

    function: MeterFunction
    red: PointSpec
    black: PointSpec
    state: str
    text: str
    then: Mapping[str, str]

    @property
    def links(self) -> Mapping[str, str]:
        """Every way on, by name."""
        return self.then


@dataclass(frozen=True, slots=True, kw_only=True)
class SetNode(NodeBase):
    """A boat state to be set, or something to be done in it."""

    state: str
    text: str
    then: str
    cannot: str

    @property
    def links(self) -> Mapping[str, str]:
        """Every way on, by name."""
        return {"then": self.then, "cannot": self.cannot}


@dataclass(frozen=True, slots=True, kw_only=True)
class TellNode(NodeBase):
    """Something to be told."""

    text: str
    then: str

    @property
    def links(self) -> Mapping[str, str]:
        """Every way on, by name."""
        return {"then": self.then}


@dataclass(frozen=True, slots=True, kw_only=True)
class NarrowNode(NodeBase):
    """Hand-over to the diagnosis until it has an outcome."""

    then: Mapping[Ended, str]

    @property
    def links(self) -> Mapping[str, str]:
        """Every way on, by name."""
        return {str(name): target for name, target in self.then.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class ConcludeNode(NodeBase):
    """An end.

    `use` is the symptom to go on with, for `Conclusion.OTHER` and, where there is one, after `Conclusion.STOP`.  For
    `Conclusion.VERDICT` the text is said when nothing seen or read is amiss, so that no part can be accused.
    """

    conclusion: Conclusion
    text: str
    use: str | None


Node = ConfirmNode | AskNode | SignNode | ReadNode | SetNode | TellNode | NarrowNode | ConcludeNode


@dataclass(frozen=True, slots=True, kw_only=True)
class NotThis:
    """What this symptom is not, and which one to use then."""

    when: str
    use: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """A worked case on an example boat.

    Attributes
    ----------
    fault : ``part mode`` hidden in the boat, with its severity if that matters, several joined by `` + ``; empty when
        answers alone are given.
    answers : answer by node; with a fault only to what the boat itself does not show.
    path : nodes passed, in order; empty when not checked.
    place : place of the repair that the verdict must name, or must not name when `counter`.
    """

    boat: str
    fault: str
    answers: Mapping[str, str]
    path: tuple[str, ...]
    place: str
    counter: bool
    mark: Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class SymptomGraph:
    """A symptom, complete."""

    id: str
    title: str
    says: tuple[str, ...]
    confusions: tuple[NotThis, ...]
    source: str
    roles: Mapping[str, Role]
    states: Mapping[str, StateSpec]
    focus: str
    start: str
    nodes: Mapping[str, Node]
    examples: tuple[Example, ...]
    mark: Mark


class Occasion(StrEnum):
    """When a caution is due, whatever the graph says."""

    START = "start"
    PLUG_IN = "plug in"
    SWITCH_ON = "switch on"
    RUN = "run"
    VOLTS = "volts"
    OHMS = "ohms"
    AMPS = "amps"
    RIPPLE = "ripple"
    PULSES = "pulses"
    TEST_LAMP = "test lamp"
    REPAIR = "repair"
    REPLACE_FUSE = "replace fuse"
    REPLACE_PACK = "replace pack"
    CHARGE = "charge"


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A caution.

    Attributes
    ----------
    on : occasions on which it is due.
    confirm : whether a person must agree before going on.
    unplugged : whether it forbids the step with a pack plugged in.
    """

    id: str
    text: str
    why: str
    on: tuple[Occasion, ...]
    confirm: bool
    unplugged: bool
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class How:
    """An instruction, and the id of the lesson behind it, if any."""

    text: str = ""
    lesson: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Knowledge:
    """Symptoms, cautions, instructions, lessons and words of the trade, by id; lessons in the order of the course."""

    symptoms: Mapping[str, SymptomGraph]
    cautions: Mapping[str, Caution]
    hows: Mapping[str, How]
    lessons: Mapping[str, Lesson]
    terms: Mapping[str, Term] = field(default_factory=lambda: MappingProxyType({}))

    def how(self, *names: str) -> How:
        """Return the first of these instructions that there is, or an empty one."""
        return next((self.hows[name] for name in names if name in self.hows), How())
