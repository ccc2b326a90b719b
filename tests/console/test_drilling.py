"""Drills at a terminal: long texts come a screen at a time, and nothing holds up a pipe."""

import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import pytest
from rich.text import Text

from assistant.console import Page, PlainTerminal, run_drill, show_headed, turn_over
from assistant.console.page import LINES

LONG = "\n".join(f"line {number}" for number in range(25))


@dataclass(slots=True)
class Screen:
    """A terminal of ten lines at which a person types what was thought of before."""

    typed: Iterator[str | type[BaseException]]
    shown: list[str] = field(default_factory=list)
    leaving_is_wish: bool = True
    page: Page = field(default_factory=lambda: Page(width=40, rows=10, glyphs=LINES))

    def show(self, lines: Iterable[Text]) -> None:
        self.shown += [line.plain for line in lines]

    def forget(self) -> None:
        """Nothing is typed ahead here."""

    def ask(self, prompt: str, words: Sequence[str] = ()) -> str:  # noqa: ARG002 - nothing is completed
        self.shown.append(prompt)
        answer = next(self.typed)
        if isinstance(answer, str):
            return answer
        raise answer


def test_a_long_text_waits_for_enter_at_each_full_screen() -> None:
    screen = Screen(iter(["", ""]))
    assert show_headed("lesson", LONG, screen)
    waits = [number for number, line in enumerate(screen.shown) if line == "Enter: more "]
    assert waits == [9, 19]
    assert [line for line in screen.shown if line.startswith("line ")] == LONG.splitlines()


@pytest.mark.parametrize("leaving", ["quit", EOFError])
def test_leaving_in_the_middle_of_a_text_shows_no_more_of_it(leaving: str | type[BaseException]) -> None:
    screen = Screen(iter([leaving]))
    assert not show_headed("lesson", LONG, screen)
    assert "line 20" not in screen.shown


def test_what_was_dropped_is_asked_again_and_enter_goes_on() -> None:
    screen = Screen(iter([KeyboardInterrupt, ""]))
    assert turn_over(screen, "to the drill")
    assert screen.shown == ["Enter: to the drill ", "Enter: to the drill "]


def test_a_pipe_is_never_held_up() -> None:
    sink = io.StringIO()
    pipe = PlainTerminal(io.StringIO(""), sink)
    assert show_headed("lesson", LONG, pipe)
    assert turn_over(pipe, "to the drill")
    assert "Enter" not in sink.getvalue()


@dataclass(slots=True)
class Said:
    """An event of a drill."""

    id: str
    text: str
    tells: str


@dataclass(slots=True)
class Over:
    """A drill that is over with a long debrief."""

    events: Sequence[Said] = (Said("debrief", LONG, "conclude"),)
    is_over: bool = True

    def answer(self, typed: str) -> None:
        raise AssertionError(typed)


def test_a_drill_is_over_even_when_its_debrief_is_not_read_to_the_end() -> None:
    screen = Screen(iter(["quit"]))
    assert run_drill(Over(), screen, ())
    assert "line 20" not in screen.shown


@dataclass(slots=True)
class Going:
    """A drill that says one thing and takes commands."""

    events: Sequence[Said] = (Said("again", "hello", "show"),)
    is_over: bool = False
    taken: list[str] = field(default_factory=list)

    def answer(self, typed: str) -> None:
        self.taken.append(typed)


@pytest.mark.parametrize("leaving", ["leave", EOFError])
def test_enter_alone_and_what_was_dropped_are_no_commands(leaving: str | type[BaseException]) -> None:
    drill = Going()
    screen = Screen(iter(["", "  ", KeyboardInterrupt, "hint", leaving]))
    assert not run_drill(drill, screen, ())
    assert drill.taken == ["hint"]
    assert screen.shown.count("hello") == 2
