"""Codes mean the same everywhere, and slips are found."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.drill.chance import Chance
from assistant.drill.codes import code_for, read_code
from assistant.errors import AnswerError
from tests.drill.player import hidden_at


def test_chance_is_that_of_the_digests() -> None:
    chance = Chance("heron")
    assert [round(chance.random(), 9) for _ in range(2)] == [0.92223923, 0.684824401]
    assert str(code_for(2, "Dabchick", 12345)) == "2-3T-0C1S-R"


@given(st.integers(1, 7), st.text(min_size=1, max_size=12), st.integers(0, 32**4 - 1))
def test_a_code_is_read_as_it_was_written(level: int, boat: str, seed: int) -> None:
    code = code_for(level, boat, seed)
    assert read_code(f" {str(code).lower()} ") == code


def test_two_signs_that_change_places_are_found() -> None:
    with pytest.raises(AnswerError, match="slip"):
        read_code("2-3T-0CS1-R")


@pytest.mark.parametrize("level", [1, 4, 6])
def test_a_code_hides_the_same_and_shows_the_same(level: int) -> None:
    one, other = hidden_at(level, 2), hidden_at(level, 2)
    assert one == other
