"""Every word a person may type, at the real program in a real terminal, narrow and wide, and through a resize."""

from pathlib import Path

import pytest

from assistant.records import CaseStore
from tests.cli.program import PROGRAM
from tests.cli.test_find import find
from tests.console.screen import Seated

NAME = "dabchick-2025-06-14-1"


def answers(folder: Path) -> list[object]:
    return [entry["answer"] for entry in CaseStore(folder).read(NAME).entries]


@pytest.mark.parametrize(("columns", "rows"), [(40, 20), (60, 24), (80, 24), (120, 30)])
def test_every_word_works(columns: int, rows: int, tmp_path: Path) -> None:
    with Seated([*PROGRAM, *find(tmp_path)], columns=columns, rows=rows) as seat:
        seat.prompted("1 yes, 2 no >")
        for word, said in (
            ("help", "Words, at any time:"),
            ("?", "leave, go on later"),
            ("help more", "Tab completes."),
            ("show readings", "Nothing read or seen so far"),
            ("show wiring", "pack + to fuse in"),
            ("show volts", "together, as pack gives"),
            ("note weed in the intake", "Noted."),
            ("back", "This is the first question."),
        ):
            seat.answers(word)
            seat.sees(said)
            seat.prompted("1 yes, 2 no >")
        for number, word in enumerate(("1", "yes", "y"), start=2):
            seat.answers(word)
            seat.asks(number)
        seat.answers("back")
        seat.until(lambda: seat.lines[seat.screen.cursor.y].startswith("1 yes, 2 no >"))
        assert [line for line in seat.lines if line.startswith("── 3 ")]
        seat.answers("why")
        seat.answers("how")
        seat.answers("again")
        seat.answers("save")
        assert seat.ends() == 0
        seat.sees(f"To go on: leadline resume {NAME}")
    kept = answers(tmp_path)
    assert kept == ["note weed in the intake", "back", "1", "yes", "y", "back", "why", "how"]


def test_a_resize_loses_nothing_that_is_typed_and_the_question_fits_again(tmp_path: Path) -> None:
    with Seated([*PROGRAM, *find(tmp_path)], columns=120, rows=30) as seat:
        seat.prompted("1 yes, 2 no >")
        seat.types("ye")
        seat.sees("1 yes, 2 no > ye")
        seat.resize(40, 20)
        seat.types("s\r")
        seat.until(lambda: any(line.startswith("── 2 ") and len(line) == 40 for line in seat.lines))
        seat.prompted("1 yes, 2 no >")
        seat.resize(80, 24)
        seat.answers("again")
        seat.until(lambda: any(line.startswith("── 2 ") and len(line) == 80 for line in seat.lines))
        seat.types("\x04")
        assert seat.ends() == 0
    assert answers(tmp_path) == ["yes"]
