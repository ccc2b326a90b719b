"""One case at a terminal: say what there is to say, ask, hand the answer on, and again.

What a person types is first looked at for the few words that are the screen's own (help, show, save); all
else goes to the hunt, which records it before anything is made of it. Leaving costs nothing, as everything
answered is recorded.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import Final, Protocol

from rich.text import Text

from assistant.console.page import Page, clean
from assistant.console.patience import patience
from assistant.console.question import prompt_words, question_lines
from assistant.console.say import (
    MORE,
    WORDS,
    Seen,
    Share,
    event_lines,
    help_lines,
    seen_lines,
    share_lines,
    understood,
)
from assistant.console.terminal import Terminal
from assistant.dialogue import Ask, Event, Want
from assistant.dialogue.answers import answer_of, aside_of
from assistant.errors import BoatsideError
from assistant.wiring import Point

__all__ = ["MAX_ANSWER", "RECKONING", "Hunt", "Left", "run_case"]

MAX_ANSWER: Final = 500
"""Most characters of an answer."""

RECKONING: Final = "Working out what every fault would show"
"""What is told of the one thing that takes its time."""

_LEAVE: Final = frozenset({"quit", "exit", "leave"})
_HELP: Final = frozenset({"help", "?", MORE})


class Left(StrEnum):
    """How a case was left."""

    ENDED = "ended"  # the hunt came to its end
    SAVED = "saved"  # the person left; it can be gone on with
    RAN_DRY = "ran dry"  # the input ended before the hunt


class Hunt(Protocol):
    """A hunt that is recorded as it goes."""

    @property
    def events(self) -> Sequence[Event]:
        """What was said since the last answer, the question last."""

    @property
    def number(self) -> int:
        """Number of the present question, from 1."""

    def answer(self, text: str) -> None:
        """Record an answer, then take it; `events` is what came of it."""

    def label(self, point: Point) -> str:
        """Return what a person calls a point."""

    def seen(self) -> Sequence[Seen]:
        """Return all readings and signs so far."""

    def wiring(self) -> Sequence[str]:
        """Return the wiring in words, a lead a line."""

    def volts(self) -> Sequence[Share]:
        """Return where the volts of the pack go in a healthy boat, their sum last; none when not known."""


def run_case(hunt: Hunt, terminal: Terminal) -> Left:
    """Go through a case until it ends or the person leaves.

    Raises
    ------
    CaseError
        If an answer could not be recorded; what was recorded before is safe.
    """
    standing: Ask | None = None
    while True:
        said = [
            line
            for event in hunt.events
            if not isinstance(event, Ask)
            for line in event_lines(event, terminal.page)
        ]
        terminal.show(said)
        ask = hunt.events[-1] if hunt.events else None
        if not isinstance(ask, Ask):
            return Left.ENDED
        # A question that still stands is not drawn anew: that would push what was just said off the screen.
        if ask != standing:
            terminal.show(_question(ask, hunt, terminal, said=len(said)))
        standing = ask
        try:
            text = _answer(ask, hunt, terminal)
        except EOFError:
            return Left.SAVED if terminal.leaving_is_wish else Left.RAN_DRY
        if text is None:
            return Left.SAVED
        terminal.show(_echo(text, ask, terminal))
        with patience(terminal, RECKONING):
            hunt.answer(text)


def _answer(ask: Ask, hunt: Hunt, terminal: Terminal) -> str | None:
    """Ask until there is something for the hunt; None when the person wants to leave."""
    while True:
        try:
            text = clean(terminal.ask(prompt_words(ask), _completions(ask))).strip()
        except KeyboardInterrupt:
            terminal.show(terminal.page.wrap("Dropped. The question stands; Ctrl-D saves and leaves."))
            continue
        word = " ".join(text.casefold().split())
        if word == "save" or (word in _LEAVE and ask.want is not Want.TEXT):
            return None
        if word == "again":
            terminal.show(_question(ask, hunt, terminal))
        elif word in _HELP:
            terminal.show(help_lines(terminal.page, more=word == MORE))
        elif word in _VIEWS:
            terminal.show(line for view in _VIEWS[word] for line in view(hunt, terminal.page))
        elif len(text) > MAX_ANSWER:
            terminal.show(
                terminal.page.wrap(f"That is longer than {MAX_ANSWER} characters. Say it in fewer.")
            )
        else:
            return text


def _question(ask: Ask, hunt: Hunt, terminal: Terminal, *, said: int = 0) -> list[Text]:
    return question_lines(ask, terminal.page, number=hunt.number, label=hunt.label, said=said)


def _completions(ask: Ask) -> list[str]:
    """Return what Tab offers: answers and words, and for a reading never a value."""
    words = [word.removesuffix(" ...") for word, _ in WORDS]
    return [*(option.text for option in ask.options), *words, "help"]


def _echo(text: str, ask: Ask, terminal: Terminal) -> Iterator[Text]:
    """Say what an answer is taken for; what cannot be understood is for the hunt to refuse."""
    if aside_of(text) is not None:
        return
    try:
        given = answer_of(text, ask)
    except BoatsideError:
        return
    options = [(option.key, option.text) for option in ask.options]
    if said := understood(given, options):
        yield from terminal.page.wrap(said)


def _wiring(hunt: Hunt, page: Page) -> Iterator[Text]:
    yield Text("Wiring:", "heading")
    for line in hunt.wiring():
        yield from page.wrap(line, first="  ")


def _volts(hunt: Hunt, page: Page) -> Iterator[Text]:
    return share_lines(hunt.volts(), page)


def _readings(hunt: Hunt, page: Page) -> Iterator[Text]:
    return seen_lines(hunt.seen(), page)


_VIEWS: Final[Mapping[str, Sequence[Callable[[Hunt, Page], Iterator[Text]]]]] = {
    "show": (_wiring, _volts, _readings),
    "show wiring": (_wiring,),
    "show volts": (_volts,),
    "show readings": (_readings,),
}
