"""Columns kept by what they depart from are what they were, whichever of them are taken."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from assistant.circuit.departures import ROUNDING, Departures

NUMBERS = st.sampled_from([0.0, -1.5, 2.0, 1e6])


@st.composite
def matrices(draw: st.DrawFn) -> tuple[Departures, np.ndarray]:
    count, patterns, columns = draw(st.integers(1, 6)), draw(st.integers(1, 3)), draw(st.integers(0, 8))
    numbers = draw(st.lists(NUMBERS, min_size=count * patterns, max_size=count * patterns))
    base = np.array(numbers).reshape(count, patterns)
    pattern = np.array(
        draw(st.lists(st.integers(0, patterns - 1), min_size=columns, max_size=columns)), dtype=np.intp
    )
    matrix = base[:, pattern].copy()
    for column in range(columns):
        for row in draw(st.sets(st.integers(0, count - 1))):
            matrix[row, column] = draw(NUMBERS)
    return Departures.of(matrix, base, pattern), matrix


@given(matrices(), st.data())
def test_taken_numbers_are_those_of_the_matrix(
    found: tuple[Departures, np.ndarray], data: st.DataObject
) -> None:
    kept, matrix = found
    count, columns = matrix.shape
    rows = np.array(data.draw(st.permutations(range(count))), dtype=np.intp)[
        : data.draw(st.integers(0, count))
    ]
    some = np.array(data.draw(st.lists(st.integers(0, columns - 1))) if columns else [], dtype=np.intp)
    assert np.array_equal(kept.take(rows, some), matrix[np.ix_(rows, some)])


@given(matrices(), st.data())
def test_pieces_arranged_are_the_whole(found: tuple[Departures, np.ndarray], data: st.DataObject) -> None:
    kept, matrix = found
    columns = np.arange(matrix.shape[1])
    order = np.array(data.draw(st.permutations(columns.tolist())), dtype=np.intp)
    pieces = [
        Departures.of(matrix[:, some], kept.base, kept.pattern[some])
        for some in np.split(columns, [data.draw(st.integers(0, len(columns)))])
    ]
    whole = Departures.arranged(pieces, order)
    assert np.array_equal(whole.take(np.arange(len(matrix)), columns), matrix[:, order])


def test_only_what_differs_by_more_than_rounding_is_kept() -> None:
    base = np.array([[1.0], [1.0], [1.0]])
    matrix = np.array([[1.0], [1.0 + 0.5 * ROUNDING], [1.0 + 3.0 * ROUNDING]])
    assert Departures.of(matrix, base, np.zeros(1, dtype=np.intp)).at.tolist() == [2]
    assert Departures.none(matrix).take(np.arange(3), np.arange(1)).tolist() == matrix.tolist()


def test_what_is_no_number_departs() -> None:
    kept = Departures.of(np.array([[np.nan, 1.0]]), np.array([[1.0]]), np.zeros(2, dtype=np.intp))
    assert np.isnan(kept.take(np.arange(1), np.arange(2))[0, 0])
    assert kept.starts.tolist() == [0, 1, 1]
