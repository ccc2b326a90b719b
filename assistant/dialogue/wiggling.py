"""Words for what comes and goes: places moved while something is watched, and answers that say so."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from assistant.circuit import Measurement
from assistant.diagnosis.model import SignQuery, Step, Unsteady, Wiggle, Wiggled
from assistant.dialogue.answers import UNIT_OF
from assistant.dialogue.events import Ask, Manipulation, ManipulationKind, Option, Want
from assistant.dialogue.graph import AT_TIMES
from assistant.dialogue.spans import reading_words
from assistant.dialogue.state import Setup
from assistant.dialogue.words import asked_words, place_label, placing_text, probing, sign_text
from assistant.wiring import Boat, point_label

WIGGLE_CAUTIONS: Final = ("hands-clear",)
CHANGES, STAYS = "changes", "stays"
CHANGED: Final[Mapping[bool, str]] = MappingProxyType({True: "it changes", False: "it stays as it is"})
"""What may come of moving a place."""

_CHANGES_TOO: Final = (
    "yes, y, jumps, flickers, drops, stops, starts, goes out, goes, comes and goes, on and off"
)
_STAYS_TOO: Final = (
    "no, n, nothing, nothing happens, no change, nothing changes, the same, same, steady, still"
)
_SAYS: Final[Mapping[bool, tuple[str, ...]]] = MappingProxyType(
    {
        True: tuple(way for said in _CHANGES_TOO.split(", ") for way in (said, f"it {said}")),
        False: (*_STAYS_TOO.split(", "), "does not change", "it does not change", "it doesnt change"),
    }
)
"""How people put it."""

_BY_HAND: Final = "Press and move {place} a little for some ten seconds, then hold it still"


def wiggle_ask(setup: Setup, step: Step, wiggle: Wiggle, name: str, why: str) -> Ask:
    """Return the question what comes of moving a place."""
    boat, how = setup.boat, setup.knowledge.how("wiggle")
    watched = wiggle.watched
    probes = probing(boat, watched) if isinstance(watched, Measurement) else ""
    hand = _BY_HAND.format(place=place_label(boat, wiggle.place))
    keys = {True: CHANGES, False: STAYS}
    return Ask(
        id=name,
        text=f"{_watching(setup, watched, hand)}{_foreseen(setup, step, wiggle)} What comes of it?",
        want=Want.CHOICE,
        options=tuple(Option(key=keys[one], text=CHANGED[one], says=_SAYS[one]) for one in (True, False)),
        wiggle=wiggle,
        manipulation=Manipulation(kind=ManipulationKind.WIGGLE, places=(wiggle.place,)),
        state=wiggle.state,
        why=why,
        how=f"{how.text} {probes}".strip(),
        lesson=how.lesson,
        cautions=tuple(name for name in WIGGLE_CAUTIONS if name in setup.knowledge.cautions),
    )


def _watching(setup: Setup, watched: Measurement | SignQuery, hand: str) -> str:
    """Return what to look at while the hand is at work."""
    if isinstance(watched, Measurement):
        return f"{placing_text(setup.boat, watched)} {hand}, and watch the display."
    return f"{hand}, and watch: {sign_text(setup.boat, watched, (watched.part,))}"


def _foreseen(setup: Setup, step: Step, wiggle: Wiggle) -> str:
    """Return what it shows while the fault is away, and while it is there, where the two differ."""
    if step.swing is None or step.swing[0] == step.swing[1]:
        return ""
    if isinstance(wiggle.watched, SignQuery):
        words = setup.diagnosis.levels(wiggle.watched)
        away, there = (words.get(str(level), str(level)) for level in step.swing)
        return f" As it should be: {away}. While the fault is there: {there}."
    unit = UNIT_OF[wiggle.watched.function]
    well, faulty = (reading_words(float(value), unit) for value in step.swing)
    return f" As it should be: about {well}. While the fault is there: about {faulty}."


def watched_words(boat: Boat, watched: Measurement | SignQuery) -> str:
    """Return what is watched."""
    if isinstance(watched, Measurement):
        red, black = point_label(boat, watched.red), point_label(boat, watched.black)
        return f"{watched.function}, red {red}, black {black}"
    return asked_words(boat, watched)


def wiggle_words(boat: Boat, wiggle: Wiggle) -> str:
    """Return what is moved while what is watched."""
    return f"{place_label(boat, wiggle.place)} moved, watching: {watched_words(boat, wiggle.watched)}"


def change_words(boat: Boat, piece: Unsteady | Wiggled) -> tuple[str, str]:
    """Return what was watched, and what came of it."""
    if isinstance(piece, Wiggled):
        return wiggle_words(boat, piece.asked), CHANGED[piece.changed]
    return watched_words(boat, piece.asked), AT_TIMES
