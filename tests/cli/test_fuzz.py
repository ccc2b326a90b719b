"""Anything may be typed and any file may be met: no traceback, and nothing a terminal would obey."""

import contextlib
import io
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from unittest import mock

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from assistant.cli.main import main
from assistant.console import PlainTerminal, Seen, Share, run_case
from assistant.dialogue import Event
from assistant.session import Session
from assistant.wiring import Point
from tests.console.screen import ROOT
from tests.dialogue.boats import setup_for

HOSTILE = st.sampled_from(
    ["\x1b[2J", "\x1b]0;x\x07", "\u202e", "\x00", "\x9b31m", "\r", "[red]", "\u2028", "😀", "ſ", "١", "1e999"]
)
TYPED = st.lists(
    st.one_of(
        st.sampled_from(
            [
                "yes",
                "no",
                "1",
                "2",
                "7.6",
                "OL",
                "0",
                "-1",
                "back",
                "why",
                "how",
                "skip",
                "can't reach",
                "don't know",
            ]
        ),
        st.sampled_from(
            ["comes and goes", "show", "show volts", "note x", "note", "help", "again", "lesson", ""]
        ),
        st.text(max_size=30),
        st.lists(HOSTILE, max_size=4).map("".join),
    ),
    max_size=40,
)
WIRING = (ROOT / "cases" / "dabchick.yaml").read_bytes()
CASE = next((ROOT / "cases" / "recorded").glob("dabchick*.jsonl"))


def harmless(text: str) -> bool:
    return all(character == "\n" or character.isprintable() for character in text)


class Bare:
    """A hunt that nobody records."""

    def __init__(self) -> None:
        self.session = Session(setup_for("dabchick"), "pumps-not-running")

    @property
    def events(self) -> Sequence[Event]:
        return self.session.events

    @property
    def number(self) -> int:
        return len(self.session.state.answers) + 1

    def answer(self, text: str) -> None:
        self.session.answer(text, "now")

    def label(self, point: Point) -> str:
        return str(point)

    def seen(self) -> Sequence[Seen]:
        return [Seen(what=str(piece), shown="") for piece in self.session.state.evidence]

    def wiring(self) -> Sequence[str]:
        return ["a to b"]

    def volts(self) -> Sequence[Share]:
        return []


@settings(max_examples=40)
@given(TYPED)
@example(["\x1b[31myes", "\x00", "note \x1b]0;own\x07"])
def test_whatever_is_typed_the_hunt_goes_on_and_the_screen_stays_whole(typed: Sequence[str]) -> None:
    hunt, sink = Bare(), io.StringIO()
    lines = [line.replace("\n", " ").encode("utf-8", "replace").decode() for line in typed]
    run_case(hunt, PlainTerminal(io.StringIO("\n".join([*lines, ""])), sink))
    assert harmless(sink.getvalue())
    again = Session(setup_for("dabchick"), "pumps-not-running", hunt.session.entries)
    assert again.state == hunt.session.state


def told(words: Sequence[str], typed: str = "") -> tuple[int, str]:
    """Run the program in this process; return its exit code and all it printed."""
    out, err = io.StringIO(), io.StringIO()
    with (
        mock.patch.object(sys, "stdin", io.StringIO(typed)),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        code = main(list(words))
    return code, out.getvalue() + err.getvalue()


def damaged(whole: bytes) -> st.SearchStrategy[bytes]:
    """Return copies of a file with a piece replaced by bytes that have no business there."""
    hostile = st.lists(HOSTILE, max_size=3).map(lambda parts: "".join(parts).encode())
    patch = st.one_of(st.binary(max_size=12), hostile)
    return st.tuples(st.integers(0, len(whole)), st.integers(0, 40), patch).map(
        lambda cut: whole[: cut[0]] + cut[2] + whole[cut[0] + cut[1] :]
    )


@settings(max_examples=8, suppress_health_check=[HealthCheck.too_slow])
@given(damaged(WIRING))
def test_any_wiring_file_is_taken_or_refused_in_words(text: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "teal.yaml"
        file.write_bytes(text)
        words = ["find", str(file), "--symptom", "pumps-not-running", "--cases", folder, "--no-cache"]
        code, said = told(words)
    assert code == 2, "the input ends at once"
    assert said
    assert harmless(said)


@settings(max_examples=8, suppress_health_check=[HealthCheck.too_slow])
@given(damaged(CASE.read_bytes()))
def test_any_case_file_is_taken_or_refused_in_words(text: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / CASE.name).write_bytes(text)
        name = CASE.name.removesuffix(".case.jsonl")
        for words in (["resume", name], ["cases"], ["cases", "show", name]):
            code, said = told([*words, "--cases", folder])
            assert code in {0, 2}
            assert harmless(said)
