import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from assistant.console import clean, glyphs_for
from assistant.console.page import ASCII, LINES, columns, cut
from tests.console.samples import page


@given(text=st.text())
def test_clean_text_is_one_line_that_a_terminal_only_prints(text: str) -> None:
    assert clean(text).isprintable()
    assert clean(clean(text)) == clean(text)


@given(text=st.text(), width=st.integers(20, 100))
def test_wrapping_loses_no_word_and_stays_inside(text: str, width: int) -> None:
    lines = [line.plain for line in page(width).wrap(text, first="set     ")]
    assert max(map(cell_len, lines)) <= width
    assert "".join("".join(lines).removeprefix("set").split()) == "".join(clean(text).split())


@pytest.mark.parametrize(
    ("encoding", "glyphs"), [("utf-8", LINES), ("latin-1", ASCII), (None, ASCII), ("x", ASCII)]
)
def test_glyphs_follow_the_encoding(encoding: str | None, glyphs: object) -> None:
    assert glyphs_for(encoding) is glyphs


def test_without_unicode_signs_become_words() -> None:
    assert page(40, ascii_only=True).words("4.7 kΩ ± 5 µF – Möwe 鴨") == "4.7 kohm +/- 5 uF - Mowe ?"


@given(text=st.text(), room=st.integers(0, 20))
def test_cut_text_fits(text: str, room: int) -> None:
    assert cell_len(cut(clean(text), room)) <= room


def test_columns_are_kept_for_wide_scripts() -> None:
    assert columns([("鴨鴨", 6), ("7.2 V", -8)]) == "鴨鴨     7.2 V"


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("expect 7.5 V there", ["expect", "7.5 V", "there"]),
        ("black pack -, then", ["black", "pack -,", "then"]),
        ("- it is dark", ["- it is", "dark"]),
        ("some 12 %; more", ["some", "12 %;", "more"]),
    ],
)
def test_what_belongs_together_stays_on_one_line(text: str, lines: list[str]) -> None:
    assert page(20).wrapped(text, 8) == lines
