from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.text import Text

from assistant.circuit import MeterFunction
from assistant.circuit.expectation import Band, BandName
from assistant.console import prompt_words, question_lines
from assistant.console.question import hint_line
from assistant.dialogue import Ask, Change, Option, StripPoint, StripRead, Want
from assistant.wiring import Point
from tests.console.samples import CONFIRM, READING, SIGN, name_of, page

WIDTHS = [40, 60, 80, 100, 120]


def screen(ask: Ask, width: int, rows: int = 24, **look: bool) -> list[str]:
    lines = question_lines(ask, page(width, rows, **look), number=4, label=name_of)
    return [line.plain for line in lines]


@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("ask", [READING, SIGN, CONFIRM], ids=lambda ask: ask.id)
def test_no_line_is_longer_than_the_page(ask: Ask, width: int, plain: bool) -> None:
    lines = screen(ask, width, plain=plain)
    assert [line for line in lines if cell_len(line) > width] == []


@pytest.mark.parametrize("ask", [READING, SIGN, CONFIRM], ids=lambda ask: ask.id)
def test_the_whole_question_with_its_prompt_fits_40_by_20(ask: Ask) -> None:
    assert len(screen(ask, 40, rows=20)) + 1 <= 20
    assert len(prompt_words(ask)) <= 30


def test_a_wordy_sign_with_much_to_set_still_fits_40_by_20() -> None:
    ask = replace(
        SIGN,
        text="Now hold rudder and throttle over, motors running: what does the receiver's lamp do?",
        changes=tuple(
            Change(setting=text, value=1.0, text=text)
            for text in (
                "throttle stick: hold fully forward",
                "steer stick: hold forward",
                "power switch: on",
            )
        ),
        options=(*SIGN.options, Option(key="x", text="it goes out and comes back over and over")),
    )
    assert len(screen(ask, 40, rows=20)) + 1 <= 20


@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize("width", WIDTHS)
def test_a_reading_says_all_that_hands_need(width: int, plain: bool) -> None:
    text = " ".join(" ".join(screen(READING, width, rows=20, plain=plain)).split())
    wanted = ["How many volts reach the drive?", "switch: on", "throttle stick: fully forward", "drive +"]
    wanted += [
        "drive -",
        "DC volts, 20 V range",
        "7.4 to 8.2 V",
        "7.9 V",
        "20 mV",
        "fuse",
        "55 %",
        "switch out",
    ]
    assert [word for word in wanted if word not in text] == []


@pytest.mark.parametrize("width", WIDTHS)
def test_a_test_lamp_has_two_tips_and_neither_red_nor_black(width: int) -> None:
    assert READING.measurement is not None
    held = replace(READING.measurement, function=MeterFunction.LAMP)
    lines = screen(replace(READING, measurement=held, band=None), width)
    said = " ".join(" ".join(line[:48] for line in lines).split())
    assert "one tip on drive + the other on drive - 12 V 5 W" in said
    assert not any(line.startswith(("red", "black", "meter")) for line in lines)


def test_where_there_is_room_it_is_said_that_a_fault_may_come_and_go() -> None:
    assert "comes and goes" in hint_line(page(80, 24)).plain
    assert all(cell_len(hint_line(page(width, 20)).plain) <= width for width in WIDTHS)


@pytest.mark.parametrize("width", WIDTHS)
def test_only_the_drawing_needs_more_than_ascii(width: int) -> None:
    for ask in (READING, SIGN):
        assert "".join(screen(ask, width, ascii_only=True)).isascii()
        assert "".join(screen(ask, width, plain=True)).isascii()


@pytest.mark.parametrize("plain", [False, True])
def test_a_stick_that_is_still_held_is_said_again(plain: bool) -> None:
    ask = replace(READING, changes=(), held=("throttle stick: hold fully forward",))
    lines = screen(ask, 40, rows=20, plain=plain)
    assert len(lines) + 1 <= 20 or plain
    said = "Still as before: throttle stick: hold" if plain else "still   throttle stick: hold fully"
    assert said in lines


def test_answers_are_numbered_and_enter_takes_the_likely_one() -> None:
    lines = screen(SIGN, 40)
    assert " 1  it does not turn (Enter)" in lines
    assert " 3  it runs as it should" in lines
    assert prompt_words(SIGN) == "1-3, Enter = 1 > "
    assert prompt_words(CONFIRM) == "1 yes, 2 no > "
    assert prompt_words(replace(CONFIRM, default="yes")) == "1 yes, 2 no, Enter = yes > "


def test_a_sentence_that_only_repeats_the_probes_gives_way_to_their_lines() -> None:
    ask = replace(READING, text="Red probe on drive +, black probe on drive -. What does it show?")
    assert screen(ask, 80)[1] == "What does it show?"
    assert "red     drive +" in screen(ask, 80)
    spoken = screen(ask, 80, plain=True)
    assert sum("black probe" in line.casefold() for line in spoken) == 1


def test_user_text_cannot_draw_move_or_vanish() -> None:
    evil = "[red]pack[/] \x1b[2J\u202e\u200b\x07 :smile: [pack +]"
    ask = Ask(
        id="x",
        text=evil,
        want=Want.CHOICE,
        options=(Option(key="a", text=evil),),
        changes=(Change(setting="s", value=1.0, text=evil),),
        suspects=((evil, 1.0),),
    )
    for plain in (False, True):
        text = "\n".join(screen(ask, 120, plain=plain))
        assert "[red]pack[/] [2J :smile: [pack +]" in text
        assert {c for c in text if not c.isprintable()} <= {"\n"}


@given(
    text=st.text(max_size=200),
    labels=st.lists(st.text(max_size=60), min_size=1, max_size=14),
    shares=st.lists(st.floats(0.0, 1.0), min_size=14, max_size=14),
    width=st.integers(36, 130),
    rows=st.integers(10, 50),
    plain=st.booleans(),
    ascii_only=st.booleans(),
)
def test_any_text_stays_on_the_page(
    text: str,
    labels: list[str],
    shares: list[float],
    width: int,
    rows: int,
    plain: bool,
    ascii_only: bool,
) -> None:
    strip = tuple(
        StripPoint(
            point=Point(part=str(number), terminal="+"),
            label=label,
            expected=Band(typical=7.2, low=7.0, high=7.4) if number % 3 else None,
            read=StripRead(volts=shares[number] * 8, standing=BandName.LOW, here=bool(number % 4)),
            drop=StripRead(volts=shares[number] / 8, standing=BandName.HIGH, here=True)
            if number % 2
            else None,
            suspicion=shares[number],
        )
        for number, label in enumerate(labels)
    )
    ask = replace(
        READING,
        text=text,
        strip=strip,
        suspects=tuple(zip(labels, shares, strict=False)),
        changes=tuple(Change(setting=label, value=1.0, text=label) for label in labels[:3]),
    )
    lines = question_lines(
        ask, page(width, rows, plain=plain, ascii_only=ascii_only), number=1, label=lambda _: labels[0]
    )
    assert [line for line in map(as_text, lines) if cell_len(line) > width] == []


def as_text(line: Text) -> str:
    assert "\n" not in line.plain
    return line.plain
