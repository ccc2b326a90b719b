import io
from collections.abc import Iterator, Sequence

import pytest

from assistant.circuit.expectation import BandName
from assistant.console import Left, PlainTerminal, Seen, Share, run_case
from assistant.console.say import help_lines
from assistant.dialogue import Conclude, Ending, Event, Show, Warn
from assistant.wiring import Point
from tests.console.samples import CONFIRM, READING, SIGN, name_of, page

END = Conclude(id="end", text="Found:\n1. fuse: blown (97%). Replace the fuse.", ending=Ending.MENDED)


class Scripted:
    """A hunt that says the next thing of a script after each answer."""

    def __init__(self, *script: Sequence[Event]) -> None:
        self.script = list(script)
        self.given: list[str] = []
        self.number = 1

    @property
    def events(self) -> Sequence[Event]:
        return self.script[0]

    def answer(self, text: str) -> None:
        self.given.append(text)
        self.number += 1
        del self.script[0]

    def label(self, point: Point) -> str:
        return name_of(point)

    def seen(self) -> Sequence[Seen]:
        return [Seen(what="pack + to pack -", shown="0.1 V", expect="7.8 V", band=BandName.NONE)]

    def wiring(self) -> Sequence[str]:
        return ["pack + to fuse in: 2.1 mm2, 15 cm"]

    def volts(self) -> Sequence[Share]:
        return [
            Share(what="fuse", volts=0.03),
            Share(what="pump", volts=7.4),
            Share(what="together", volts=7.43),
        ]


def play(hunt: Scripted, typed: str, width: int = 80, *, interactive: bool = False) -> tuple[Left, str]:
    sink = io.StringIO()
    terminal = PlainTerminal(io.StringIO(typed), sink, width=width, interactive=interactive)
    return run_case(hunt, terminal), sink.getvalue()


def whole() -> Scripted:
    warning = Warn(id="w", text="Keep fingers off the propeller.", caution="held")
    return Scripted([warning, CONFIRM], [SIGN], [Show(id="s", text="Good."), READING], [END])


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_a_case_through_a_pipe_from_caution_to_verdict(width: int) -> None:
    hunt = whole()
    left, text = play(hunt, "yes\n2\n11,1 V\n", width)
    assert left is Left.ENDED
    assert hunt.given == ["yes", "2", "11,1 V"]
    assert max(map(len, text.splitlines())) <= width
    flat = " ".join(text.split())
    said = [
        "Caution: Keep fingers off",
        "Question 1: Boat held",
        "I take it: yes",
        "I take it: it turns weakly",
    ]
    said += ["Good.", "Question 3: How many volts", "Found: 1. fuse: blown (97%). Replace the fuse."]
    places = [flat.find(words) for words in said]
    assert -1 not in places
    assert places == sorted(places)


def test_the_screens_own_words_reach_no_hunt() -> None:
    hunt = whole()
    left, text = play(hunt, "help\nshow\nsave\n")
    assert (left, hunt.given) == (Left.SAVED, [])
    assert "can't reach" in text
    assert "pack + to fuse in" in text
    assert "pack + to pack -: 0.1 V (none), expect 7.8 V" in text


@pytest.mark.parametrize("rows", [20, 40])
def test_help_fits_the_page_and_says_how_to_see_the_rest(rows: int) -> None:
    drawn = [line.plain for line in help_lines(page(40, rows))]
    assert len(drawn) + 1 <= rows
    rest = [line.plain for line in help_lines(page(40, rows), more=True)]
    assert len(rest) + 1 <= 20
    assert any("help more" in line for line in drawn) is (rows == 20)
    assert (set(rest) <= set(drawn)) is (rows == 40)


def test_a_question_that_stands_is_drawn_again_only_when_wanted() -> None:
    again: list[Event] = [Show(id="why", text="Because it moves."), SIGN]
    text = play(Scripted([SIGN], again, again, [END]), "why\nwhy\n1\n")[1]
    assert (text.count("Question"), text.count("Because")) == (1, 2)
    assert play(Scripted([SIGN], [END]), "again\n1\n")[1].count("Question") == 2


def test_every_other_word_goes_to_the_hunt_as_typed() -> None:
    hunt = Scripted(*[[CONFIRM]] * 8, [END])
    words = ["why", "how", "back", "skip", "can't reach", "don't know", "comes and goes", "note sand in it"]
    assert play(hunt, "\n".join([*words, "yes", ""]))[0] is Left.ENDED
    assert hunt.given == words


@pytest.mark.parametrize(("interactive", "left"), [(True, Left.SAVED), (False, Left.RAN_DRY)])
def test_the_end_of_input_is_a_wish_at_a_terminal_and_a_lack_in_a_pipe(interactive: bool, left: Left) -> None:
    hunt = whole()
    assert play(hunt, "yes\n", interactive=interactive)[0] is left
    assert hunt.given == ["yes"]


def test_a_dropped_entry_leaves_the_question(monkeypatch: pytest.MonkeyPatch) -> None:
    hunt = whole()
    terminal = PlainTerminal(io.StringIO(), io.StringIO())
    typed: Iterator[str | BaseException] = iter([KeyboardInterrupt(), "yes", EOFError()])

    def ask(prompt: str, words: Sequence[str] = ()) -> str:
        one = next(typed)
        if isinstance(one, BaseException):
            raise one
        return one

    monkeypatch.setattr(terminal, "ask", ask)
    assert run_case(hunt, terminal) is Left.RAN_DRY
    assert hunt.given == ["yes"]


def test_what_is_typed_is_cleaned_and_bounded() -> None:
    hunt = whole()
    _, text = play(hunt, f"{'x' * 5000}\n\x1b[31myes\x00\n")
    assert "longer than 500 characters" in text
    assert hunt.given == ["[31myes"]


@pytest.mark.parametrize("length", [3999, 4000, 4001, 8000, 8001, 50_001])
def test_a_line_longer_than_is_read_at_once_is_one_answer(length: int) -> None:
    hunt = whole()
    play(hunt, f"{'y' * length}\nyes\n")
    assert hunt.given == ["yes"]
