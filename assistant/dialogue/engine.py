"""The reducer: a state and what a person typed give a new state and events.

`start` and `step` are all there is.  A text that does not fit leaves the state as it is and puts the same
question again with the reason.  ``back`` folds all answers but the last anew, so it is exact.  Cautions that
must be agreed to and unplugging before ohms come from `Turn.present`; what happens after an answer is told by
its purpose.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from math import isfinite
from types import MappingProxyType

from assistant.diagnosis import Unsteady
from assistant.dialogue import narrowing, repairing, telling, walk
from assistant.dialogue.answers import Aside, Chosen, Given, Unable, Word, answer_of, aside_of, volunteers
from assistant.dialogue.events import Ask, Event, Show, Want
from assistant.dialogue.glossary import terms_in
from assistant.dialogue.spans import reading_words
from assistant.dialogue.state import Purpose, Setup, State, first_state
from assistant.dialogue.states import unplugged
from assistant.dialogue.turn import Turn
from assistant.dialogue.words import COMES_AND_GOES, FOUR_CAUSES
from assistant.errors import BoatsideError, LeadlineError, MisuseError
from assistant.lessons import lesson_lines
from assistant.quantities import Quantity

_SLIPS = (-1.0, 0.1, 0.001, 10.0, 0.01, 1000.0)
"""What a missed point, milli for one, or swapped probes make of a reading, the commonest first."""

_MOST_SLIPS = 2

Events = tuple[Event, ...]
_Handler = Callable[[Turn, Ask, Given], str | None]


def start(setup: Setup, symptom: str) -> tuple[State, Events]:
    """Return the state and events with which a dialogue about a symptom begins.

    Raises
    ------
    AnswerError
        For an unknown symptom, or a boat without the parts it is about.
    """
    turn = Turn(setup=setup, state=first_state(setup, symptom))
    node = walk.fill_roles(turn)
    if node is not None:
        walk.enter(turn, node)
    return turn.state, tuple(turn.events)


def step(setup: Setup, state: State, text: str) -> tuple[State, Events]:
    """Return the state and events after a person typed `text`.

    Raises
    ------
    MisuseError
        When nothing is asked.
    """
    ask = state.pending
    if ask is None:
        raise MisuseError(value=text, reason="nothing is asked", next_step="start a dialogue first")
    aside = aside_of(text) if not _is_option(ask, text) else None
    if aside is not None and aside.word is Word.TOLD:
        return _told(setup, state, ask, text, aside.rest)
    if aside is not None:
        return _aside(setup, state, ask, aside)
    if ask.want in (Want.CHOICE, Want.CONFIRM) and volunteers(text):
        return _told(setup, state, ask, text, text)
    try:
        given = answer_of(text, ask)
    except BoatsideError as error:
        return state, (Show(id=f"{ask.id}.again", text=str(error)), ask)
    return _answered(setup, state, ask, text, given)


def fold(setup: Setup, symptom: str, answers: Sequence[str]) -> tuple[State, Events]:
    """Return the state after these answers, and the events of the last of them."""
    state, events = start(setup, symptom)
    for text in answers:
        state, events = step(setup, state, text)
    return state, events


def _told(setup: Setup, state: State, ask: Ask, text: str, rest: str) -> tuple[State, Events]:
    """Take what was told unasked."""
    if state.purpose is Purpose.TOLD:
        return state, (Show(id=f"{ask.id}.again", text="One thing at a time: first this question."), ask)
    turn = Turn(setup=setup, state=replace(state, answers=(*state.answers, text)))
    try:
        node = telling.begin(turn, ask, rest)
    except BoatsideError as error:
        return state, (Show(id=f"{ask.id}.again", text=str(error)), ask)
    if node is not None:
        walk.enter(turn, node)
    return turn.state, tuple(turn.events)


def _is_option(ask: Ask, text: str) -> bool:
    return any(option.key == text for option in ask.options)


def _aside(setup: Setup, state: State, ask: Ask, aside: Aside) -> tuple[State, Events]:
    """Answer a word that answers nothing."""
    match aside.word:
        case Word.BACK:
            return _back(setup, state, ask)
        case Word.NOTE:
            text = (
                "Noted."
                if aside.rest
                else "Nothing to note: type the words after it, as in: note sand in the pump"
            )
            notes = (*state.notes, aside.rest) if aside.rest else state.notes
            return replace(state, notes=notes), (Show(id=f"{ask.id}.note", text=text), ask)
        case Word.WHY:
            said = _with_lesson(setup, ask, ask.why or "It is the next thing to know.")
        case Word.HOW:
            how = ask.how or "Answer with a number of the list, or with words of an answer."
            said = _with_lesson(setup, ask, "\n".join((how, *_words(setup, ask))))
        case Word.LESSON:
            said = _lesson(setup, ask)
        case _:
            said = "Every answer is kept as soon as it is given."
    return state, (Show(id=f"{ask.id}.{aside.word}", text=said), ask)


def _words(setup: Setup, ask: Ask) -> Iterator[str]:
    """Yield the words of the trade in a question and its answers, in plain ones."""
    asked = " ".join((ask.text, *(option.text for option in ask.options)))
    for term in terms_in(asked, setup.knowledge.terms):
        yield f"{term.word}: {term.means}."


def _with_lesson(setup: Setup, ask: Ask, said: str) -> str:
    """Return an explanation with the lesson behind it offered."""
    lesson = setup.knowledge.lessons.get(ask.lesson)
    return f'{said}\nFor the idea behind it, "{lesson.title}", type: lesson' if lesson else said


def _lesson(setup: Setup, ask: Ask) -> str:
    """Return the lesson behind a question, without its example where that cannot be worked out here."""
    lesson = setup.knowledge.lessons.get(ask.lesson)
    if lesson is None:
        return "There is no lesson behind this question. Type why or how."
    try:
        told = setup.lessons.get(lesson.id)
    except LeadlineError:
        told = None
    return told or "\n".join(lesson_lines(lesson, {}, setup.knowledge.cautions[lesson.caution].text))


def _back(setup: Setup, state: State, ask: Ask) -> tuple[State, Events]:
    if not state.answers:
        return state, (Show(id=f"{ask.id}.back", text="This is the first question."), ask)
    before, events = fold(setup, state.symptom, state.answers[:-1])
    return replace(before, notes=state.notes), events


def _answered(setup: Setup, state: State, ask: Ask, text: str, given: Given) -> tuple[State, Events]:
    turn = Turn(setup=setup, state=replace(state, answers=(*state.answers, text)))
    if _doubtful(setup, state, ask, given):
        turn.show("doubt", _doubt_words(setup, ask, given))
        _put_again(turn, ask)
        turn.state = replace(turn.state, doubted=True, waited=state.waited)
    elif given is Unable.COMES_AND_GOES and not state.waited and (ask.measurement or ask.query):
        turn.show("wait", COMES_AND_GOES)
        _put_again(turn, ask)
        turn.state = replace(turn.state, waited=True, doubted=state.doubted)
        asked = ask.measurement or ask.query
        if asked is not None and state.purpose in _BEFORE_REPAIR:
            turn.state = replace(turn.state, evidence=(*state.evidence, Unsteady(asked=asked)))
    else:
        turn.state = replace(turn.state, pending=None, doubted=False, waited=False)
        node = _dispatch(turn, ask, given, state.purpose)
        if node is not None:
            walk.enter(turn, node)
    return turn.state, tuple(turn.events)


def _doubtful(setup: Setup, state: State, ask: Ask, given: Given) -> bool:
    """Tell whether a reading should be taken again, since no story gives it; asked once a reading."""
    if state.doubted or ask.measurement is None or not isinstance(given, Quantity):
        return False
    return not setup.diagnosis.plausible(ask.measurement, given.value)


def _doubt_words(setup: Setup, ask: Ask, given: Given) -> str:
    """Return the usual causes of an impossible reading, first the slips of the finger that would explain it."""
    meant = list(_slips(setup, ask, given))
    if not meant:
        return FOUR_CAUSES
    return f"Was it {' or '.join(meant[:_MOST_SLIPS])}? Then type that. {FOUR_CAUSES}"


def _slips(setup: Setup, ask: Ask, given: Given) -> Iterator[str]:
    """Yield what may have been meant: the same digits with point, unit or sign put right, where a boat shows it."""
    if ask.measurement is None or not isinstance(given, Quantity):
        return
    for factor in _SLIPS:
        value = given.value * factor
        if isfinite(value) and value and setup.diagnosis.plausible(ask.measurement, value):
            yield reading_words(value, given.unit)


def _put_again(turn: Turn, ask: Ask) -> None:
    """Put the pending question again under a new number."""
    named = ask.named(turn.name(ask.id.partition(".")[2]))
    turn.events.append(named)
    turn.state = replace(turn.state, pending=named)


def _dispatch(turn: Turn, ask: Ask, given: Given, purpose: Purpose | None) -> str | None:
    if purpose in {Purpose.CAUTION, Purpose.UNPLUG}:
        return _gate_answered(turn, ask, given, purpose)
    if purpose is None:
        raise MisuseError(
            value=ask.id, reason="an ask without a purpose", next_step="put asks through the turn"
        )
    return _HANDLERS[purpose](turn, ask, given)


def _gate_answered(turn: Turn, ask: Ask, given: Given, purpose: Purpose) -> str | None:
    """Take a confirmation and put the question behind it; without it, that one is left open."""
    wanted, wanted_for = turn.state.wanted, turn.state.wanted_for
    if wanted is None or wanted_for is None:
        raise MisuseError(
            value=ask.id, reason="nothing is behind this confirmation", next_step="put asks through the turn"
        )
    turn.state = replace(turn.state, wanted=None, wanted_for=None)
    if given != Chosen(key="yes"):
        turn.show("left-out", "Then that step is left out. The next one may need the same.")
        return _HANDLERS[wanted_for](turn, wanted, Unable.SKIP)
    if purpose is Purpose.UNPLUG:
        turn.state = replace(turn.state, unplugged=True, boat_state=unplugged(turn.setup.boat))
    else:
        turn.state = replace(turn.state, warned=turn.state.warned | set(ask.cautions))
    turn.present(wanted, wanted_for, told=frozenset(ask.cautions))
    return None


_BEFORE_REPAIR = frozenset({Purpose.NODE, Purpose.STEP, Purpose.TOLD})

_HANDLERS: Mapping[Purpose, _Handler] = MappingProxyType(
    {
        Purpose.ROLE: walk.role_answered,
        Purpose.NODE: walk.node_answered,
        Purpose.STEP: narrowing.step_answered,
        Purpose.CHOICE: repairing.choice_answered,
        Purpose.REPAIR: repairing.repair_answered,
        Purpose.PROOF: repairing.proof_answered,
        Purpose.WORKS: repairing.works_answered,
        Purpose.LAST_WORDS: repairing.last_words_answered,
        Purpose.TOLD: telling.told_answered,
    }
)
