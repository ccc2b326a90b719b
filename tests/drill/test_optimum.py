"""The optimum against puzzles whose answer is known, and against trying every order of steps."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.diagnosis.bounds import huffman_bound
from assistant.drill.optimum import Puzzle, fewest_steps, greedy_steps


def puzzle(weights: list[float], repairs: list[int], outcomes: list[list[int]]) -> Puzzle:
    return Puzzle(
        weights=np.array(weights) / sum(weights), repairs=np.array(repairs), outcomes=np.array(outcomes)
    )


puzzles = st.integers(2, 6).flatmap(
    lambda stories: st.builds(
        puzzle,
        st.lists(st.floats(0.05, 1.0), min_size=stories, max_size=stories),
        st.lists(st.integers(0, 3), min_size=stories, max_size=stories),
        st.lists(st.lists(st.integers(0, 2), min_size=stories, max_size=stories), min_size=1, max_size=4),
    )
)


def steps_in_order(one: Puzzle, order: tuple[int, ...]) -> float:
    """Return the mean steps when the steps are taken in one order, each only where it parts what is left."""

    def cost(stories: np.ndarray, left: tuple[int, ...]) -> float:
        if one.is_single(stories) or not left:
            return 0.0
        row = one.outcomes[left[0]][stories]
        if (row == row[0]).all():
            return cost(stories, left[1:])
        parts = [stories[row == outcome] for outcome in set(row.tolist())]
        return float(one.weights[stories].sum()) + sum(cost(part, left[1:]) for part in parts)

    return cost(one.all(), order)


def test_even_stories_that_halves_tell_apart_take_two_steps() -> None:
    halves = puzzle([1, 1, 1, 1], [0, 1, 2, 3], [[0, 0, 1, 1], [0, 1, 0, 1]])
    assert fewest_steps(halves) == pytest.approx(2.0)
    assert greedy_steps(halves) == pytest.approx(2.0)


def test_stories_mended_alike_need_no_step() -> None:
    assert fewest_steps(puzzle([1, 1], [0, 0], [[0, 1]])) == 0.0


def test_what_no_step_parts_ends_there() -> None:
    assert fewest_steps(puzzle([1, 1], [0, 1], [[0, 0]])) == 0.0
    assert greedy_steps(puzzle([1, 1], [0, 1], [[0, 0]])) == 0.0


def test_where_one_story_is_much_likelier_it_is_asked_for_first() -> None:
    one_by_one = puzzle([0.7, 0.1, 0.1, 0.1], [0, 1, 2, 3], np.eye(4, dtype=int).tolist())
    assert fewest_steps(one_by_one) == pytest.approx(0.7 * 1 + 0.1 * 2 + 0.1 * 3 + 0.1 * 3)


def test_of_two_steps_that_tell_about_as_much_the_one_that_may_end_it_is_taken() -> None:
    rows = [[2, 1, 1, 0, 0], [1, 1, 0, 1, 0], [1, 2, 1, 2, 2]]
    one = puzzle([2, 4, 4, 1, 1], [2, 1, 0, 0, 1], rows)
    gains = one.gains(one.all(), one.splits(one.all()))
    assert gains.min() < gains.max()
    assert greedy_steps(one) == pytest.approx(fewest_steps(one)) == pytest.approx(11 / 6)


@given(puzzles)
def test_no_way_is_better_than_the_optimum(one: Puzzle) -> None:
    best = fewest_steps(one)
    fixed = min(steps_in_order(one, order) for order in permutations(range(len(one.outcomes))))
    assert best <= fixed + 1e-9
    assert best <= greedy_steps(one) + 1e-9 or not can_finish_greedily(one)


def can_finish_greedily(one: Puzzle) -> bool:
    """Tell whether every step that parts stories also tells about the repair, so that the rule never stops early."""
    ways = one.splits(one.all())
    return bool(len(ways)) and bool((one.gains(one.all(), ways) > 1e-9).all())


@given(st.lists(st.floats(0.05, 1.0), min_size=2, max_size=6))
def test_with_every_reading_on_offer_the_optimum_is_the_huffman_bound(weights: list[float]) -> None:
    stories = len(weights)
    cuts = [[(number >> bit) & 1 for bit in range(stories)] for number in range(1, 2**stories - 1)]
    every = puzzle(weights, list(range(stories)), cuts)
    assert fewest_steps(every) == pytest.approx(huffman_bound(weights, 2))
