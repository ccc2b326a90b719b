"""Columns that are kept are those worked out, whatever was asked for before."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from assistant.circuit.columns import Columns

COUNT = 7


@given(st.lists(st.tuples(st.sampled_from("ab"), st.lists(st.integers(0, COUNT - 1)), st.booleans())))
def test_columns_are_worked_out_once_and_come_back_unchanged(
    asked: list[tuple[str, list[int], bool]],
) -> None:
    columns = Columns()
    there: tuple[str, set[int]] = ("", set())
    for key, wanted, keep in asked:
        worked: list[int] = []

        def work(new: NDArray[np.intp], key: str = key, worked: list[int] = worked) -> NDArray[np.float64]:
            worked.extend(new.tolist())
            return np.stack([10.0 * new + ord(key), 100.0 * new])

        got = columns.get(key, np.array(wanted, dtype=np.intp), work, keep=keep)
        assert got.tolist() == [[10.0 * n + ord(key) for n in wanted], [100.0 * n for n in wanted]]
        had = there[1] if there[0] == key else set()
        assert set(worked) == set(wanted) - had
        if keep and worked:
            there = key, set(wanted)
