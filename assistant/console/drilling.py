"""A drill at a terminal: what is said, a command, what comes of it."""

from collections.abc import Sequence
from typing import Protocol

from rich.text import Text

from assistant.console.page import clean
from assistant.console.terminal import Terminal

__all__ = ["Practice", "Spoken", "run_drill"]

_MAX_COMMAND = 300


class Spoken(Protocol):
    """One thing that is said."""

    @property
    def id(self) -> str:
        """Stable name."""

    @property
    def text(self) -> str:
        """What is said; line ends are meant."""

    @property
    def tells(self) -> str:
        """What sort of thing it is: ask, show, warn or conclude."""


class Practice(Protocol):
    """A drill that takes commands."""

    @property
    def events(self) -> Sequence[Spoken]:
        """What was said since the last command."""

    @property
    def is_over(self) -> bool:
        """Whether it has ended."""

    def answer(self, typed: str) -> None:
        """Take a command."""


def run_drill(drill: Practice, terminal: Terminal, completions: Sequence[str]) -> bool:
    """Go through a drill; tell whether it came to its end."""
    while True:
        _say(drill.events, terminal)
        if drill.is_over:
            return True
        try:
            typed = clean(terminal.ask("> ", completions)).strip()
        except EOFError:
            return False
        except KeyboardInterrupt:
            terminal.show([Text("Dropped. Type end to give up, Ctrl-D to leave.")])
            continue
        if typed.casefold() in {"quit", "exit", "leave"}:
            return False
        drill.answer(typed[:_MAX_COMMAND])


def _say(events: Sequence[Spoken], terminal: Terminal) -> None:
    page = terminal.page
    for event in events:
        if event.tells == "warn":
            terminal.show(page.wrap(event.text, first="Caution: " if page.plain else "! ", style="caution"))
        elif event.tells == "conclude":
            terminal.show([Text() if page.plain else page.rule("debrief")])
            terminal.show(page.paragraphs(event.text))
        elif event.tells == "show":
            terminal.show(page.paragraphs(event.text))
