"""The right name for a wrong one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.documents import nearest

FIELDS = ["kind", "cells", "capacity", "rating", "reach", "suppressor"]


@pytest.mark.parametrize(
    ("word", "name"),
    [("rateing", "rating"), ("Capacity", "capacity"), ("cell", "cells"), ("supressor", "suppressor")],
)
def test_slips(word: str, name: str) -> None:
    assert nearest(word, FIELDS) == (name,)


def test_nothing_like_it() -> None:
    assert nearest("xyz", FIELDS) == ()
    assert nearest("rating", []) == ()


def test_several_best_first() -> None:
    assert nearest("pump1", ["pack", "pump2", "pump1"], n=2) == ("pump1", "pump2")


@given(st.lists(st.text(max_size=8), min_size=1, max_size=8), st.data())
def test_a_right_name_is_nearest_to_itself(names: list[str], data: st.DataObject) -> None:
    word = data.draw(st.sampled_from(names))
    if word:
        [best] = nearest(word, names)
        assert best.casefold() == word.casefold()


def test_a_very_long_word_is_like_nothing() -> None:
    assert nearest("rating" * 100_000, FIELDS) == ()
