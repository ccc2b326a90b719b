"""State of a dialogue: the fold of the answers given so far.

Everything in it follows from the set-up, the symptom and the answers, so taking back an answer is folding
again without it, and two dialogues with the same answers are equal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from assistant.circuit import BoatState, Measurement, MeterFunction, rest_state
from assistant.diagnosis import NOTHING_LATELY, Lately
from assistant.diagnosis.model import Asked, AtHand, Evidence, RepairId, SignQuery, Verdict
from assistant.dialogue.events import Ask
from assistant.dialogue.graph import Knowledge, SymptomGraph
from assistant.dialogue.ports import Diagnosing
from assistant.dialogue.roles import Roles
from assistant.errors import AnswerError
from assistant.wiring import Boat, Point

ALL_FUNCTIONS = frozenset(MeterFunction)


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """What a dialogue runs on; none of it changes on the way.

    Attributes
    ----------
    functions : what the meter at hand can do; empty without a meter.
    at_hand : what there is to try with at the beginning; None: nothing is tried, not even swapping.
    lessons : text of each lesson with its numbers, worked out when asked for.
    """

    boat: Boat
    knowledge: Knowledge
    diagnosis: Diagnosing
    functions: frozenset[MeterFunction] = ALL_FUNCTIONS
    at_hand: frozenset[AtHand] | None = None
    lessons: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


class Phase(StrEnum):
    """How far the dialogue has come."""

    GRAPH = "graph"
    NARROWING = "narrowing"
    REPAIR = "repair"
    PROOF = "proof"
    DONE = "done"


class Purpose(StrEnum):
    """What the answer to the pending ask is for."""

    ROLE = "role"
    CAUTION = "caution"
    UNPLUG = "unplug"
    NODE = "node"
    STEP = "step"
    CHOICE = "choice"
    REPAIR = "repair"
    PROOF = "proof"
    WORKS = "works"
    TOLD = "told"
    LAST_WORDS = "last words"


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """What was told so far; what is None is still to be asked.

    Attributes
    ----------
    figure : the reading as typed, or empty for a sign.
    part, sign, levels : the sign, and what it showed.
    """

    figure: str = ""
    function: MeterFunction | None = None
    value: float = 0.0
    red: Point | None = None
    black: Point | None = None
    part: str = ""
    sign: str = ""
    levels: tuple[str, ...] = ()
    state: BoatState | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """Where a dialogue stands.

    Attributes
    ----------
    answers : answers given, as typed; one taken back is gone.
    notes : notes made; they stay when an answer is taken back.
    pending : the question put, or None at the end.
    purpose : what its answer is for.
    wanted, wanted_for : the question behind a confirmation, put once that is given.
    roles : parts by role.
    states : boat states by the names that the graph gives them, worked out once the roles are filled.
    node : the node of the graph; `path` are all nodes passed.
    boat_state : how the boat stands as far as is known.
    unplugged : whether a person confirmed that every pack is unplugged, and none was to be plugged in since.
    evidence : what counts; readings from before a repair do not.
    refused : readings and signs that cannot be had.
    unreachable : points that no probe gets to, as a person said.
    last : the reading the probes are still at.
    warned : ids of cautions told.
    steps : number of steps of the narrowing so far.
    doubted : whether the pending reading was asked again because nothing explains the first.
    waited : whether the pending question was asked again because the fault comes and goes.
    verdict : what the narrowing ended with.
    repairing, done : the repair in hand, and those made.
    tried : repairs of the present verdict that were made.
    complaint : the sign of trouble that has to be gone after the repair, until it was looked for.
    cured : of two faults at once, the repair that was proved.
    lately : what happened to the boat just before, as far as told, and what was mended since.
    at_hand : what there is to try with, as in `Setup`.
    telling : what was told unasked, while something about it is still to be asked.
    interrupted, interrupted_for : the question that was pending when it was told.
    """

    symptom: str
    boat_state: BoatState
    answers: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    phase: Phase = Phase.GRAPH
    pending: Ask | None = None
    purpose: Purpose | None = None
    wanted: Ask | None = None
    wanted_for: Purpose | None = None
    roles: Roles = ()
    states: tuple[tuple[str, BoatState], ...] = ()
    node: str = ""
    path: tuple[str, ...] = ()
    unplugged: bool = False
    evidence: tuple[Evidence, ...] = ()
    refused: frozenset[Asked] = frozenset()
    unreachable: frozenset[Point] = frozenset()
    last: Measurement | None = None
    warned: frozenset[str] = frozenset()
    steps: int = 0
    doubted: bool = False
    waited: bool = False
    verdict: Verdict | None = None
    repairing: RepairId | None = None
    tried: tuple[RepairId, ...] = ()
    complaint: SignQuery | None = None
    done: tuple[RepairId, ...] = ()
    cured: tuple[RepairId, ...] = ()
    lately: Lately = NOTHING_LATELY
    at_hand: frozenset[AtHand] | None = None
    telling: Telling | None = None
    interrupted: Ask | None = None
    interrupted_for: Purpose | None = None

    @property
    def parts(self) -> Mapping[str, tuple[str, ...]]:
        """Parts by role."""
        return dict(self.roles)


def graph_of(setup: Setup, symptom: str) -> SymptomGraph:
    """Return the graph of a symptom.

    Raises
    ------
    AnswerError
        For a symptom that the knowledge does not have.
    """
    graph = setup.knowledge.symptoms.get(symptom)
    if graph is None:
        known = ", ".join(sorted(setup.knowledge.symptoms))
        raise AnswerError(value=symptom, reason="no such symptom", next_step=f"choose one of: {known}")
    return graph


def first_state(setup: Setup, symptom: str) -> State:
    """Return the state before anything was asked; the boat counts as at rest, since nobody knows."""
    return State(symptom=symptom, boat_state=rest_state(setup.boat), at_hand=setup.at_hand)
