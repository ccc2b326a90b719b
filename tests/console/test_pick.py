import io
from collections.abc import Sequence

import pytest

from assistant.console import PlainTerminal, pick
from tests.console.test_choose import SYMPTOMS


def picked(typed: str, width: int = 40) -> tuple[str, str]:
    sink = io.StringIO()
    return pick(
        "What is wrong?", SYMPTOMS, PlainTerminal(io.StringIO(typed), sink, width=width)
    ), sink.getvalue()


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("3\n", "relay-clicking"),
        ("servo\n", "servo-jitter"),
        ("my boat reboots when I steer\n\n", "receiver-brownout"),
        ("r\n2\n", "receiver-brownout"),
        ("r\nservo\n", "servo-jitter"),
        ("nonsense\n\n2\n", "servo-jitter"),
    ],
)
def test_by_number_part_or_words(typed: str, key: str) -> None:
    found, text = picked(typed)
    assert found == key
    assert max(map(len, text.splitlines())) <= 40


def test_what_fits_nothing_is_said_with_what_to_type() -> None:
    assert "Nothing here is like 'nonsense'." in " ".join(picked("nonsense\n1\n")[1].split())


@pytest.mark.parametrize("word", ["back", "help", "?"])
def test_a_short_list_gives_way_to_the_whole_one(word: str) -> None:
    found, text = picked(f"r\n{word}\nservo\n")
    assert found == "servo-jitter"
    assert text.count("What is wrong?") == 2
    assert "in your own words" in " ".join(text.split())


@pytest.mark.parametrize("word", ["quit", "Exit", "save"])
def test_a_word_leaves_as_well(word: str) -> None:
    with pytest.raises(EOFError):
        picked(f"{word}\n")


def test_the_second_ctrl_c_leaves(monkeypatch: pytest.MonkeyPatch) -> None:
    sink = io.StringIO()
    terminal = PlainTerminal(io.StringIO(), sink)

    def drop(prompt: str, words: Sequence[str] = ()) -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr(terminal, "ask", drop)
    with pytest.raises(EOFError):
        pick("What is wrong?", SYMPTOMS, terminal)
    assert "Dropped. Once more leaves." in sink.getvalue()


def test_the_end_of_input_leaves() -> None:
    with pytest.raises(EOFError):
        picked("r\n")
