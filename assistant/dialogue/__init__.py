"""The dialogue: a symptom's graph and the diagnosis turned into questions, and answers into a verdict."""

from assistant.dialogue.answers import Unable, Word
from assistant.dialogue.engine import Events, fold, start, step
from assistant.dialogue.events import (
    Ask,
    Change,
    Conclude,
    Ending,
    Event,
    Manipulation,
    ManipulationKind,
    Option,
    RepairLeft,
    Show,
    StripPoint,
    StripRead,
    Want,
    Warn,
)
from assistant.dialogue.graph import Caution, Example, How, Knowledge, Occasion, SymptomGraph
from assistant.dialogue.lint import RULES, lint_knowledge, longest_way
from assistant.dialogue.load import load_knowledge
from assistant.dialogue.ports import Diagnosing
from assistant.dialogue.roles import candidates
from assistant.dialogue.state import Phase, Setup, State
from assistant.dialogue.states import state_of

__all__ = [
    "RULES",
    "Ask",
    "Caution",
    "Change",
    "Conclude",
    "Diagnosing",
    "Ending",
    "Event",
    "Events",
    "Example",
    "How",
    "Knowledge",
    "Manipulation",
    "ManipulationKind",
    "Occasion",
    "Option",
    "Phase",
    "RepairLeft",
    "Setup",
    "Show",
    "State",
    "StripPoint",
    "StripRead",
    "SymptomGraph",
    "Unable",
    "Want",
    "Warn",
    "Word",
    "candidates",
    "fold",
    "lint_knowledge",
    "load_knowledge",
    "longest_way",
    "start",
    "state_of",
    "step",
]
