"""Bounds on the number of readings, against trying everything."""

from collections.abc import Callable
from functools import cache
from itertools import combinations
from math import log2

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.diagnosis.bounds import (
    alphabetic_optimum,
    half_split_by_count,
    half_split_by_mass,
    huffman_bound,
)
from assistant.errors import MisuseError

CHAINS = st.lists(st.integers(0, 30), min_size=1, max_size=9).filter(any)
SMALL = st.lists(st.integers(1, 30), min_size=1, max_size=5)


def best_tree(masses: tuple[int, ...], arity: int) -> float:
    """Return the least cost of any tree over the masses, by trying every split in up to `arity` parts."""

    @cache
    def cost(left: tuple[int, ...]) -> float:
        if len(left) < 2:
            return 0.0
        return sum(left) + min(sum(cost(part) for part in parts) for parts in splits(left, arity))

    def splits(left: tuple[int, ...], most: int) -> list[list[tuple[int, ...]]]:
        found = []
        for size in range(len(left)):
            for rest in combinations(range(1, len(left)), size):
                first = (left[0], *(left[i] for i in rest))
                others = tuple(left[i] for i in range(1, len(left)) if i not in rest)
                if most == 2 or not others:
                    found += [[first, others]] if others else []
                else:
                    found += [[first, others], *([first, *more] for more in splits(others, most - 1))]
        return found

    return cost(masses) / sum(masses)


@given(SMALL, st.integers(2, 4))
def test_huffman_is_the_best_tree_of_all(masses: list[int], arity: int) -> None:
    assert huffman_bound(masses, arity) == pytest.approx(best_tree(tuple(masses), arity))


@given(CHAINS.filter(lambda masses: min(masses) > 0))
def test_huffman_lies_within_a_reading_of_the_entropy(masses: list[int]) -> None:
    entropy = -sum(m / sum(masses) * log2(m / sum(masses)) for m in masses)
    assert entropy - 1e-9 <= huffman_bound(masses, 2) < entropy + 1


@given(CHAINS)
def test_alphabetic_is_the_best_of_all_cuts(masses: list[int]) -> None:
    @cache
    def cost(first: int, end: int) -> float:
        if end - first < 2:
            return 0.0
        return sum(masses[first:end]) + min(cost(first, m) + cost(m, end) for m in range(first + 1, end))

    assert alphabetic_optimum(masses) == pytest.approx(cost(0, len(masses)) / sum(masses))


@given(CHAINS)
def test_bounds_stand_in_order(masses: list[int]) -> None:
    assert huffman_bound(masses, 2) <= alphabetic_optimum(masses) + 1e-9
    assert alphabetic_optimum(masses) <= half_split_by_mass(masses) + 1e-9
    assert alphabetic_optimum(masses) <= half_split_by_count(masses) + 1e-9


def test_more_outcomes_need_fewer_readings() -> None:
    masses = [5, 4, 3, 2, 1, 1]
    means = [huffman_bound(masses, arity) for arity in (2, 3, 4, 5, 6)]
    assert means == sorted(means, reverse=True)
    assert means[-1] == pytest.approx(1.0)


MEASURES: list[Callable[[list[float]], float]] = [
    lambda masses: huffman_bound(masses, 2),
    alphabetic_optimum,
    half_split_by_count,
    half_split_by_mass,
]


@pytest.mark.parametrize("measure", MEASURES)
def test_one_suspect_needs_no_reading_and_scale_does_not_matter(
    measure: Callable[[list[float]], float],
) -> None:
    assert measure([0.3]) == 0.0
    assert measure([3.0, 2.0, 1.0]) == pytest.approx(measure([0.3, 0.2, 0.1]))


@pytest.mark.parametrize("measure", MEASURES)
@pytest.mark.parametrize("masses", [[], [0.0, 0.0], [0.5, -0.1]])
def test_what_is_no_distribution_is_refused(
    measure: Callable[[list[float]], float], masses: list[float]
) -> None:
    with pytest.raises(MisuseError):
        measure(masses)


def test_one_outcome_tells_nothing() -> None:
    with pytest.raises(MisuseError):
        huffman_bound([1, 1], 1)
