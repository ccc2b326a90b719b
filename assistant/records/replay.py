"""A case gone through again: every answer with its question, and what it did to the suspects.

The answers are put into a fresh dialogue one by one, exactly as when the hunt was resumed. Where the knowledge
or the wiring has become another, the first answer that no longer fits ends the replay; what came before it
stays, and the trouble is told.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from assistant.circuit import BoatState
from assistant.diagnosis import Evidence, RepairId, Suspect
from assistant.dialogue import Ask, Conclude, Event, Phase, Setup, State
from assistant.errors import AnswerError, CaseError
from assistant.records.lines import Contents
from assistant.session import Session

__all__ = ["Effect", "Replay", "Turn", "replay"]

LEAST = 0.01
"""Probability from which a place counts as being in question."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What an answer did to the suspects.

    Attributes
    ----------
    before, after : number of repairs in question before and after it.
    leading : what is suspected most after it.
    cleared : what was in question before and no longer is, likeliest first.
    """

    before: int
    after: int
    leading: Suspect | None
    cleared: tuple[Suspect, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """An answer in its place.

    Attributes
    ----------
    number : its number in the record, from 1.
    ask : the question.
    answer, at : what was typed, and when.
    events : what was said to it.
    phase : phase of the dialogue in which it was given.
    evidence : readings and signs that it brought.
    effect : what these did to the suspects; absent without evidence.
    counts : whether it was understood and not taken back later.
    """

    number: int
    ask: Ask
    answer: str
    at: str
    events: tuple[Event, ...]
    phase: Phase
    evidence: tuple[Evidence, ...]
    effect: Effect | None
    counts: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """A case as it went.

    Attributes
    ----------
    contents, setup : what was replayed, and on what.
    turns : the answers in order.
    state : where the dialogue stands after them.
    states : boat states by the names that the symptom gives them.
    evidence : all readings and signs of the answers that count, in order.
    suspects : what the verdict left, or what is in question so far; likeliest first, repairs made included.
    end : how it was concluded, if it was.
    trouble : why the replay stopped before the end of the record; empty when it did not.
    """

    contents: Contents
    setup: Setup
    turns: tuple[Turn, ...]
    state: State
    states: tuple[tuple[str, BoatState], ...]
    evidence: tuple[Evidence, ...]
    suspects: tuple[Suspect, ...]
    end: Conclude | None
    trouble: str

    @property
    def done(self) -> tuple[RepairId, ...]:
        """Repairs made on the way."""
        return self.state.done

    @property
    def notes(self) -> tuple[str, ...]:
        """Notes made on the way."""
        return self.state.notes


@dataclass(slots=True)
class _Reel:
    """Turns gathered so far; ``standing`` are the places in `turns` of those not taken back."""

    session: Session
    turns: list[Turn] = field(default_factory=list)
    standing: list[int] = field(default_factory=list)

    def take(self, number: int, answer: str, at: str) -> None:
        before = self.session.state
        ask = before.pending
        if ask is None:
            raise CaseError(place=f"entry {number}", reason="the case was over before it")
        events = self.session.answer(answer, at)
        after = self.session.state
        understood = len(after.answers) > len(before.answers)
        for place in self.standing[len(after.answers) :]:
            self.turns[place] = replace(self.turns[place], counts=False)
        del self.standing[len(after.answers) :]
        if understood:
            self.standing.append(len(self.turns))
        brought = _brought(before, after) if understood else ()
        self.turns.append(
            Turn(
                number=number,
                ask=ask,
                answer=answer,
                at=at,
                events=events,
                phase=before.phase,
                evidence=brought,
                effect=_effect(self.session.setup, after, brought) if brought else None,
                counts=understood,
            )
        )


def replay(contents: Contents, setup: Setup) -> Replay:
    """Go through a recorded case again.

    Parameters
    ----------
    contents
        The record.
    setup
        Boat, knowledge and diagnosis; the boat is the one described in the record.

    Raises
    ------
    CaseError
        If the knowledge has no such symptom, or the boat lacks what it is about.
    """
    try:
        session = Session(setup, contents.header.symptom)
    except AnswerError as error:
        raise CaseError(reason=str(error), next_step="use the knowledge it was recorded with") from error
    reel, trouble = _Reel(session=session), ""
    for number, entry in enumerate(contents.entries, start=1):
        trouble = _misfit(session, entry, number)
        if trouble:
            break
        reel.take(number, str(entry["answer"]), str(entry["at"]))
    state = session.state
    last = session.events[-1] if session.events else None
    evidence = tuple(piece for turn in reel.turns if turn.counts for piece in turn.evidence)
    return Replay(
        contents=contents,
        setup=setup,
        turns=tuple(reel.turns),
        state=state,
        states=state.states,
        evidence=evidence,
        suspects=_suspects(setup, state),
        end=last if isinstance(last, Conclude) else None,
        trouble=trouble,
    )


def _misfit(session: Session, entry: Mapping[str, object], number: int) -> str:
    """Return why an entry does not fit the question now put; empty when it does."""
    ask = session.state.pending
    if ask is None:
        return f"answer {number} does not fit: the case was over before it"
    texts = [entry.get(name) for name in ("answer", "at")]
    if not all(isinstance(text, str) for text in texts):
        return f"answer {number} lacks its words or its time"
    answer, at = map(str, texts)
    if dict(entry) == session.entry_for(answer, at):
        return ""
    if entry.get("ask") != ask.id:
        return f'answer {number} is to "{entry.get("ask")}", but now "{ask.id}" is asked'
    return f'answer {number}: "{ask.id}" could then be answered in other ways than now'


def _brought(before: State, after: State) -> tuple[Evidence, ...]:
    """Return the evidence that an answer added; evidence dropped by a repair counts as not added."""
    held = len(before.evidence)
    kept = after.evidence[:held] == before.evidence
    return after.evidence[held:] if kept else after.evidence


def _suspects(setup: Setup, state: State) -> tuple[Suspect, ...]:
    if state.verdict is not None:
        return state.verdict.suspects
    if not state.evidence:
        return ()
    return setup.diagnosis.verdict(setup.diagnosis.belief(state.evidence), None).suspects


def _effect(setup: Setup, after: State, brought: tuple[Evidence, ...]) -> Effect:
    """Compare the suspects with and without what an answer brought."""
    diagnosis = setup.diagnosis
    without = after.evidence[: len(after.evidence) - len(brought)]
    old, new = (
        [one for one in diagnosis.verdict(diagnosis.belief(seen), None).suspects if one.probability >= LEAST]
        for seen in (without, after.evidence)
    )
    left = {one.repair for one in new}
    return Effect(
        before=len(old),
        after=len(new),
        leading=new[0] if new else None,
        cleared=tuple(one for one in old if one.repair not in left),
    )
