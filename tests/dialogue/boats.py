"""Boats and knowledge for the tests of the dialogue, and the ways to answer it."""

from collections.abc import Callable, Iterable
from functools import cache

from assistant.catalogue import Catalogue, load_catalogue
from assistant.dialogue import (
    Ask,
    Conclude,
    Event,
    Knowledge,
    Setup,
    State,
    Want,
    load_knowledge,
    start,
    step,
)
from assistant.records import example_boats, knowledge_files
from assistant.wiring import Boat, load_boat
from tests.dialogue.fake import FakeDiagnosis

PUMPS = "pumps-not-running"


@cache
def catalogue() -> Catalogue:
    """Return all part kinds that come with the program."""
    return load_catalogue(
        {path: text for path, text in knowledge_files().items() if path.startswith("parts/")}
    )


@cache
def knowledge() -> Knowledge:
    """Return all symptoms, cautions and instructions that come with the program."""
    return load_knowledge(knowledge_files())


@cache
def boat(name: str) -> Boat:
    """Return an example boat."""
    return load_boat(example_boats()[name].read_text(encoding="utf-8"), f"{name}.yaml", catalogue())


def setup_for(name: str, diagnosis: FakeDiagnosis | None = None) -> Setup:
    """Return a dialogue about an example boat on the fake diagnosis."""
    return Setup(
        boat=boat(name), knowledge=knowledge(), diagnosis=diagnosis or FakeDiagnosis(boat=boat(name))
    )


def ask_in(events: Iterable[Event]) -> Ask:
    """Return the question among events; there must be exactly one."""
    (ask,) = [event for event in events if isinstance(event, Ask)]
    return ask


def name_of(ask: Ask) -> str:
    """Return the id of a question without its number."""
    return ask.id.partition(".")[2]


Answerer = Callable[[Ask], str]


def healthy_answer(ask: Ask) -> str:
    """Return what a healthy boat and a careful person answer."""
    if ask.want is Want.CONFIRM:
        return "yes"
    if ask.want is Want.READING:
        assert ask.band is not None
        return "OL" if ask.band.typical == float("inf") else f"{ask.band.typical:.6f}"
    if ask.want is Want.TEXT:
        return ""
    good = [
        o.key for o in ask.options if o.key in {"lit", "runs", "quiet", "clicks", "right", "steady", "yes"}
    ]
    return good[0] if good else ask.default or ask.options[0].key


def drive(setup: Setup, symptom: str, answers: dict[str, str], most: int = 80) -> tuple[State, list[Event]]:
    """Answer by the name of the question, else like a healthy boat, until the end."""
    state, events = start(setup, symptom)
    told = list(events)
    for _ in range(most):
        if state.pending is None:
            return state, told
        ask = state.pending
        state, events = step(setup, state, answers.get(name_of(ask), healthy_answer(ask)))
        told.extend(events)
    raise AssertionError(f"no end after {most} answers")


def conclusion(events: Iterable[Event]) -> Conclude:
    """Return the one conclusion among events."""
    (end,) = [event for event in events if isinstance(event, Conclude)]
    return end


def dead_from(part: str) -> dict[str, str]:
    """Answers of a boat whose feed is dead from a part on; a healthy one after the repair."""
    order = ["pack", "fuse", "switch", "drive", "pump"]
    reads = {
        f"narrow.{n}": "0 V" if place >= order.index(part) else "7.5 V"
        for n, place in enumerate(range(len(order)), start=1)
    }
    return {"turning": "still", "supply": "0 V", **reads}
