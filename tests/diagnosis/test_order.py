"""The order of checks, against trying every order."""

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.diagnosis.order import expected_repair_cost, repair_order
from assistant.errors import MisuseError

MASSES = st.lists(st.tuples(st.integers(0, 20), st.integers(1, 20)), min_size=1, max_size=5)


@given(MASSES)
def test_no_order_is_cheaper(pairs: list[tuple[int, int]]) -> None:
    total = sum(p for p, _ in pairs) or 1
    probabilities = [p / total for p, _ in pairs]
    costs = [float(c) for _, c in pairs]
    least = min(expected_repair_cost(probabilities, costs, o) for o in permutations(range(len(costs))))
    mine = expected_repair_cost(probabilities, costs, repair_order(probabilities, costs))
    assert mine == pytest.approx(least)


def test_scale_of_probabilities_does_not_matter_and_equals_keep_their_order() -> None:
    assert repair_order([3, 1, 2], [1, 1, 1]) == repair_order([0.5, 1 / 6, 1 / 3], [1, 1, 1]) == (0, 2, 1)
    assert repair_order([1, 2, 1], [5, 10, 5]) == (0, 1, 2)


def test_cost_of_a_walk_done_by_hand() -> None:
    """Three places, the last found after the cost of all: 0.5 * 1 + 0.3 * (1 + 2) + 0.2 * (1 + 2 + 4)."""
    assert expected_repair_cost([0.5, 0.3, 0.2], [1, 2, 4], [0, 1, 2]) == pytest.approx(2.8)


@given(MASSES)
def test_cost_of_repairs_is_the_same_in_every_order(pairs: list[tuple[int, int]]) -> None:
    total = sum(p for p, _ in pairs) or 1
    probabilities = [p / total for p, _ in pairs]
    costs = [float(c) for _, c in pairs]
    repairs = [7.0 * c for c in costs]
    extra = sum(p * r for p, r in zip(probabilities, repairs, strict=True))
    for order in permutations(range(len(costs))):
        with_repairs = expected_repair_cost(probabilities, costs, order, repairs)
        assert with_repairs == pytest.approx(expected_repair_cost(probabilities, costs, order) + extra)


@pytest.mark.parametrize(
    ("probabilities", "costs"), [([0.5], [1, 2]), ([-0.1, 1.1], [1, 1]), ([0.5, 0.5], [1, 0])]
)
def test_what_is_no_order_is_refused(probabilities: list[float], costs: list[float]) -> None:
    with pytest.raises(MisuseError):
        repair_order(probabilities, costs)
    with pytest.raises(MisuseError):
        expected_repair_cost(probabilities, costs, range(len(costs)))
