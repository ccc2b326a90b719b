"""A hunt that is recorded as it goes: the session does the thinking, the journal keeps the answers."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from assistant import __version__
from assistant.cli.options import Clock
from assistant.cli.showing import seen_so_far, volts_of, wiring_in_words
from assistant.cli.warmer import Guarded, Warmer
from assistant.cli.workbench import Workbench
from assistant.console import Seen, Share
from assistant.diagnosis import Diagnosis
from assistant.dialogue import Conclude, Event, Setup
from assistant.dialogue.narrowing import states_of
from assistant.dialogue.states import standing
from assistant.dialogue.words import place_label
from assistant.records import CaseStore, Closing, Header, Journal
from assistant.session import Session
from assistant.wiring import Boat, Point, point_label

__all__ = ["Beginning", "RecordedHunt", "begin_hunt", "resume_hunt"]

_NAMED_REPAIRS: Final = 3


class RecordedHunt:
    """A session and the journal it is kept in.

    Parameters
    ----------
    name
        Name of the case.
    session, journal
        The hunt and its record; what the journal holds has been replayed into the session.
    setup
        What the session runs on.
    clock
        Gives the time of each answer.
    """

    def __init__(self, *, name: str, session: Session, journal: Journal, setup: Setup, clock: Clock) -> None:
        self.name = name
        self._session = session
        self._journal = journal
        self._setup = setup
        self._clock = clock
        self._warmer: Warmer | None = None

    def warm(self) -> None:
        """Let what may be needed be computed while the person reads."""
        if isinstance(self._setup.diagnosis, Guarded):
            self._warmer = Warmer(self._setup.diagnosis)
            self._warmer.want(states_of(self._session.state))
            self._warmer.start()

    @property
    def events(self) -> Sequence[Event]:
        """What was said since the last answer, the question last."""
        return self._session.events

    @property
    def number(self) -> int:
        """Number of the present question, from 1."""
        return len(self._session.state.answers) + 1

    @property
    def onward(self) -> str | None:
        """Id of the symptom to go on with, when this case ended as the wrong one."""
        end = self.events[-1] if self.events else None
        return end.use if isinstance(end, Conclude) else None

    @property
    def header(self) -> Header:
        """What the case was begun with."""
        return self._journal.header

    def answer(self, text: str) -> None:
        """Record an answer, then take it.

        Raises
        ------
        CaseError
            If it could not be recorded; then it was not taken either.
        """
        at = self._clock()
        self._journal.append(self._session.entry_for(text, at))
        events = self._session.answer(text, at)
        if self._warmer:
            self._warmer.want(states_of(self._session.state))
        if events and isinstance(events[-1], Conclude):
            self._journal.finish(_closing(self._setup.boat, events[-1], at))

    def label(self, point: Point) -> str:
        """Return what a person calls a point."""
        return point_label(self._setup.boat, point)

    def seen(self) -> Sequence[Seen]:
        """Return all readings and signs so far."""
        return seen_so_far(self._setup, self._session.state.evidence)

    def wiring(self) -> Sequence[str]:
        """Return the wiring in words, a lead a line."""
        return wiring_in_words(self._setup.boat)

    def volts(self) -> Sequence[Share]:
        """Return where the volts of the pack go in a healthy boat."""
        return volts_of(self._setup, self._session.state)

    @property
    def standing(self) -> Sequence[str]:
        """How the boat stands as far as it was set in this case, a setting each; nothing once it is over."""
        pending = self._session.state.pending
        return () if pending is None else standing(self._setup.boat, self._session.state.boat_state)

    def close(self) -> None:
        """Give the record back, and compute nothing more."""
        if self._warmer:
            self._warmer.close()
        self._journal.close()


@dataclass(frozen=True, slots=True, kw_only=True)
class Beginning:
    """What a case is begun with.

    Attributes
    ----------
    boat, file : the boat, and the file it was read from.
    symptom : id of the symptom.
    meter : functions of the meter at hand.
    profile : the description of that meter; empty for a cheap one.
    seed : what fixes chance, if anything does.
    past : proved repairs of the boat's earlier cases with their count, for the priors.
    at_hand : what there is to try with; None: nothing is tried.
    """

    boat: Boat
    file: str
    symptom: str
    meter: tuple[str, ...]
    seed: int | None
    past: tuple[tuple[str, int], ...] = ()
    at_hand: tuple[str, ...] | None = None
    profile: str = ""


def begin_hunt(begun: Beginning, *, bench: Workbench, store: CaseStore, clock: Clock) -> RecordedHunt:
    """Begin a case.

    Raises
    ------
    AnswerError
        If the boat lacks what the symptom is about.
    CaseError
        If the case cannot be recorded.
    """
    setup = _guarded(bench.setup(begun.boat, begun.meter, begun.past, begun.at_hand, begun.profile))
    # First whether there is anything to ask: a case that cannot begin leaves no file behind.
    session = Session(setup, begun.symptom)
    name, journal = store.begin(
        Header(
            engine=__version__,
            knowledge=bench.digest,
            boat=begun.boat.name,
            file=begun.file,
            wiring=begun.boat.text,
            symptom=begun.symptom,
            started=clock(),
            meter=begun.meter,
            seed=begun.seed,
            past=begun.past,
            at_hand=begun.at_hand,
            profile=begun.profile,
        )
    )
    return RecordedHunt(name=name, session=session, journal=journal, setup=setup, clock=clock)


def resume_hunt(name: str, *, bench: Workbench, store: CaseStore, clock: Clock) -> RecordedHunt:
    """Go on with a case, exactly where it stopped.

    Raises
    ------
    CaseError
        If it is missing, damaged, open elsewhere, or does not fit this version of the knowledge.
    """
    journal = store.open(name)
    try:
        header = journal.header
        setup = _guarded(bench.setup_of(header))
        session = Session(setup, header.symptom, journal.entries)
        end = session.events[-1] if session.events else None
        if isinstance(end, Conclude) and journal.closing is None:
            # Stopped between the last answer and the record of what it led to.
            journal.finish(_closing(setup.boat, end, clock()))
    except BaseException:
        journal.close()
        raise
    return RecordedHunt(name=name, session=session, journal=journal, setup=setup, clock=clock)


def _guarded(setup: Setup) -> Setup:
    """Return the set-up with its diagnosis made fit for being computed ahead."""
    diagnosis = setup.diagnosis
    return replace(setup, diagnosis=Guarded(diagnosis)) if isinstance(diagnosis, Diagnosis) else setup


def _closing(boat: Boat, end: Conclude, at: str) -> Closing:
    repairs = [
        *(f"{one.action} {place_label(boat, one.place)}" for one in end.done),
        *(f"{left.repair.action} {left.label}" for left in end.repairs),
    ]
    return Closing(
        outcome=str(end.ending),
        text="; ".join(repairs[:_NAMED_REPAIRS]),
        at=at,
        done=tuple(map(str, end.done)),
        left=tuple(str(left.repair) for left in end.repairs),
    )
