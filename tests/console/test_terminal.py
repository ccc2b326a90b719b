import io
import subprocess
import sys

import pytest

from assistant.console import PlainTerminal, open_terminal
from tests.console.screen import ROOT, Seated

DRIVER = ["-m", "tests.console.driver"]


@pytest.mark.parametrize(("columns", "rows"), [(40, 20), (60, 24), (80, 24), (120, 30)])
def test_a_whole_case_in_a_real_terminal(columns: int, rows: int) -> None:
    with Seated(DRIVER, columns=columns, rows=rows) as seat:
        seat.prompted("1 yes, 2 no >")
        seat.answers("yes")
        seat.prompted("1-3, Enter = 1 >")
        seat.answers("")
        seat.prompted("volts >")
        screen = seat.lines
        assert any(line.startswith("── 3 ──") for line in screen), "the whole question is on the screen"
        assert "red     drive +" in [line[:15] for line in screen]
        assert any("pump -" in line for line in screen)
        seat.answers("11,1 V")
        seat.prompted("volts >")
        seat.answers("0")
        assert seat.ends() == 0
        seat.sees("given: ['yes', '', '11,1 V', '0']")
        seat.sees("fuse: blown")


def test_ctrl_c_drops_the_entry_and_ctrl_d_leaves_from_within_one() -> None:
    with Seated(DRIVER, columns=60, rows=24) as seat:
        seat.prompted("1 yes, 2 no >")
        seat.types("ye\x03")
        seat.sees("Dropped.")
        seat.prompted("1 yes, 2 no >")
        seat.answers("yes")
        seat.prompted("1-3, Enter = 1 >")
        seat.types("half an ans\x04")
        assert seat.ends() == 0
        seat.sees("left: saved; given: ['yes']")


def test_function_keys_stand_for_words_and_tab_completes() -> None:
    with Seated(DRIVER, columns=80, rows=24) as seat:
        seat.prompted("1 yes, 2 no >")
        seat.types("\x1bOP")
        seat.prompted("1-3, Enter = 1 >")
        seat.types("weak\t\r")
        seat.prompted("volts >")
        seat.types("\x04")
        assert seat.ends() == 0
        seat.sees("given: ['how', 'it turns weakly']")


def test_a_reading_is_never_suggested() -> None:
    with Seated(DRIVER, columns=80, rows=24) as seat:
        for prompt, answer in (("1 yes, 2 no >", "yes"), ("1-3, Enter = 1 >", "1"), ("volts >", "11.1")):
            seat.prompted(prompt)
            seat.answers(answer)
        seat.sees("── 4 ──")
        seat.prompted("volts >")
        seat.types("\x1b[A")  # the arrow that brings back old lines elsewhere
        seat.types("11\t\r")
        assert seat.ends() == 0
        seat.sees("given: ['yes', '1', '11.1', '11']")


def test_after_a_resize_the_next_question_fits_the_new_width() -> None:
    with Seated(DRIVER, columns=100, rows=30) as seat:
        seat.prompted("1 yes, 2 no >")
        seat.resize(40, 20)
        seat.answers("yes")
        seat.prompted("1-3, Enter = 1 >")
        assert any("it does not turn (Enter)" in line for line in seat.lines)
        assert any(line.startswith("── 2 ") and len(line) == 40 for line in seat.lines)
        seat.types("\x04")
        assert seat.ends() == 0


@pytest.mark.parametrize(
    ("term", "arguments", "no_color"), [("dumb", [], ""), ("xterm", ["--plain"], ""), ("xterm", [], "1")]
)
def test_dumb_plain_and_without_colour(term: str, arguments: list[str], no_color: str) -> None:
    environment = {"NO_COLOR": no_color} if no_color else {}
    with Seated([*DRIVER, *arguments], columns=40, rows=20, term=term, environment=environment) as seat:
        for prompt, answer in (
            ("1 yes, 2 no >", "yes"),
            ("Enter = 1 >", "1"),
            ("volts >", "7"),
            ("volts >", "7"),
        ):
            seat.prompted(prompt)
            seat.answers(answer)
        assert seat.ends() == 0
        if no_color:
            assert not any(code in seat.raw for code in (b"\x1b[31m", b"\x1b[1;31m"))
        else:
            assert b"\x1b" not in seat.raw


def test_keys_pressed_while_it_reckons_answer_no_question_that_was_not_yet_asked() -> None:
    with Seated([*DRIVER, "--slow"], columns=80, rows=24) as seat:
        seat.prompted("1 yes, 2 no >")
        seat.types("yes\r")
        seat.sees("Working out")
        seat.types("2\r")
        seat.prompted("1-3, Enter = 1 >")
        seat.types("\x04")
        assert seat.ends() == 0
        seat.sees("left: saved; given: ['yes']")


@pytest.mark.parametrize(
    ("arguments", "environment"),
    [(["--sun"], {}), ([], {"LEADLINE_SUN": "1"})],
    ids=["option", "environment"],
)
def test_in_the_sun_every_row_is_black_on_white_or_the_other_way_round(
    arguments: list[str], environment: dict[str, str]
) -> None:
    with Seated([*DRIVER, *arguments], columns=60, rows=30, environment=environment) as seat:
        seat.prompted("1 yes, 2 no >")
        seat.answers("yes")
        seat.prompted("1-3, Enter = 1 >")
        seat.answers("1")
        seat.prompted("volts >")
        painted = [seat.screen.buffer[row] for row, line in enumerate(seat.lines) if line]
        seen = {(row[column].fg, row[column].bg) for row in painted[:-1] for column in range(60)}
        written = {
            (cell.fg, cell.bg)
            for row in painted
            for cell in map(row.__getitem__, range(60))
            if cell.data != " "
        }
    assert {contrast(*pair) for pair in written | seen if pair != ("default", "default")} == {21.0}
    assert ("default", "default") not in written


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours by WCAG 2.1, 1 to 21."""
    light, dark = sorted((luminance(COLOURS[one]), luminance(COLOURS[other])), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(rgb: tuple[float, float, float]) -> float:
    linear = [part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in rgb]
    return float(sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True)))


# The colours that terminals give the names of ISO 6429 in their usual palette.
COLOURS = {
    "black": (0.0, 0.0, 0.0),
    "brightwhite": (1.0, 1.0, 1.0),
    "red": (0.8, 0.0, 0.0),
    "white": (0.9, 0.9, 0.9),
}


@pytest.mark.parametrize("arguments", [["--sun"], []])
def test_nothing_is_said_by_colour_alone(arguments: list[str]) -> None:
    """What is painted differently from its surroundings is bold, reversed, or named as well."""
    with Seated([*DRIVER, *arguments], columns=80, rows=30) as seat:
        for prompt, answer in (("1 yes, 2 no >", "yes"), ("1-3, Enter = 1 >", "1")):
            seat.prompted(prompt)
            seat.answers(answer)
        seat.prompted("volts >")
        cells = [(row, seat.screen.buffer[row][column]) for row in range(30) for column in range(80)]
        coloured = {
            (row, cell.fg) for row, cell in cells if cell.fg not in {"default", "black"} and cell.data != " "
        }
        named = [line for line in seat.lines if line.startswith("red     ")]
    assert {colour for _, colour in coloured} <= {"red", "brightwhite"}
    assert all(seat.lines[row].startswith("red     ") for row, colour in coloured if colour == "red")
    assert named


def test_a_pipe_gets_plain_lines() -> None:
    run = subprocess.run(
        [sys.executable, *DRIVER], input="yes\n2\n7\n", capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert "left: ran dry; given: ['yes', '2', '7']" in run.stdout
    assert "\x1b" not in run.stdout
    assert run.stderr == ""


def test_bytes_that_are_no_text_end_nothing() -> None:
    run = subprocess.run(
        [sys.executable, *DRIVER], input=b"yes\n\xff\xfe\n\x00\n", capture_output=True, cwd=ROOT, check=True
    )
    assert b"left: ran dry" in run.stdout


def test_streams_that_are_no_terminal_are_plain() -> None:
    assert isinstance(open_terminal(io.StringIO(), io.StringIO()), PlainTerminal)
