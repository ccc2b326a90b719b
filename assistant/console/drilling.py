"""A drill at a terminal: what is said, a command, what comes of it."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Protocol

from rich.text import Text

from assistant.console.page import Page, clean
from assistant.console.terminal import Terminal

__all__ = ["Practice", "Spoken", "run_drill", "show_headed", "turn_over"]

_MAX_COMMAND = 300
_LEAVE = "leave"
_LEAVING = frozenset({"quit", "exit", _LEAVE})
_HEADED = frozenset({"drill", "debrief"})


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
        if not _show_pages(_said(drill.events, terminal.page), terminal):
            return drill.is_over
        if drill.is_over:
            return True
        typed = _command(terminal, completions)
        if typed.casefold() in _LEAVING:
            return False
        drill.answer(typed)


def _command(terminal: Terminal, completions: Sequence[str]) -> str:
    """Return what is typed at last; Enter alone is no command, and the end of the input is leaving."""
    typed = ""
    while not typed:
        try:
            typed = clean(terminal.ask("> ", completions)).strip()[:_MAX_COMMAND]
        except EOFError:
            return _LEAVE
        except KeyboardInterrupt:
            terminal.show([Text("Dropped. Type end to give up, Ctrl-D to leave.")])
    return typed


def show_headed(heading: str, text: str, terminal: Terminal) -> bool:
    """Print a text under a heading; tell whether the person stays."""
    return _show_pages(_headed(heading, text, terminal.page), terminal)


def _show_pages(lines: Iterable[Text], terminal: Terminal) -> bool:
    """Print lines, a screen at a time where a person reads along; tell whether the person stays.

    Nothing is held up in a pipe, nor in plain lines, which a screen reader or a scroll bar goes back over.
    """
    every = list(lines)
    room = terminal.page.rows - 1
    if terminal.page.plain or len(every) <= room:
        terminal.show(every)
        return True
    for start in range(0, len(every), room):
        if start and not turn_over(terminal, "more"):
            return False
        terminal.show(every[start : start + room])
    return True


def turn_over(terminal: Terminal, what: str) -> bool:
    """Wait for Enter before what comes next pushes away what is on the screen; tell whether the person stays."""
    if not terminal.leaving_is_wish:
        return True
    while True:
        try:
            return clean(terminal.ask(f"Enter: {what} ")).strip().casefold() not in _LEAVING
        except EOFError:
            return False
        except KeyboardInterrupt:
            continue


def _said(events: Sequence[Spoken], page: Page) -> Iterator[Text]:
    for event in events:
        if event.tells == "warn":
            yield from page.wrap(event.text, first="Caution: " if page.plain else "! ", style="caution")
        elif event.tells in {"show", "conclude"}:
            yield from (
                _headed(event.id, event.text, page) if event.id in _HEADED else page.paragraphs(event.text)
            )


def _headed(heading: str, text: str, page: Page) -> Iterator[Text]:
    yield Text() if page.plain else page.rule(heading)
    yield from page.paragraphs(text)
