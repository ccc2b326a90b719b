"""Of steps that tell nearly as much, the one that more often ends the hunt."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.circuit import Measurement, ready_state
from assistant.diagnosis import Diagnosis, SignQuery
from assistant.diagnosis.choose import Field, field_of
from assistant.diagnosis.ending import NEARLY, chance_to_end, foremost, outcomes_of
from tests.diagnosis.boats import SMEW, diagnosis_of, light, network_of, volts

READY = ready_state(network_of(SMEW).boat)


def field(weights: Sequence[float], repairs: Sequence[int]) -> Field:
    return Field(
        np.arange(len(weights)),
        np.array(weights)[:, None],
        np.array(repairs, dtype=np.intp),
        max(repairs) + 1,
    )


def test_a_step_that_names_one_of_three_ends_as_often_as_that_one_is_it() -> None:
    three = field([0.5, 0.3, 0.2], [0, 1, 2])
    names_one = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 1.0]])
    assert chance_to_end(three, names_one) == pytest.approx(0.5)
    assert chance_to_end(three, np.full((2, 3), 0.5)) == 0.0


def test_two_stories_mended_alike_end_the_hunt_together() -> None:
    alike = field([0.4, 0.4, 0.2], [0, 0, 1])
    assert chance_to_end(alike, np.array([[1.0, 1.0, 0.0], [0.0, 0.0, 1.0]])) == pytest.approx(1.0)


def test_what_tells_most_is_taken_where_nothing_comes_near() -> None:
    assert foremost([0.5, 1.0, 0.8], lambda step: float(step != 1)) == 1


def test_of_two_that_hardly_differ_the_better_one_is_taken_though_not_the_first() -> None:
    assert foremost([0.99, 1.0], lambda step: (0.5001, 0.5)[step]) == 1


@given(st.lists(st.tuples(st.floats(0.1, 5.0), st.floats(0.0, 1.0)), min_size=1, max_size=8))
def test_what_is_taken_is_nearly_the_best_and_none_as_good_ends_more_often(
    steps: list[tuple[float, float]],
) -> None:
    worth = [own for own, _ in steps]
    taken = foremost(worth, lambda step: steps[step][1])
    near = [step for step in steps if step[0] >= NEARLY * max(worth)]
    assert worth[taken] >= NEARLY * max(worth)
    assert len(near) == 1 or steps[taken][1] >= max(chance for _, chance in near) - 1e-3


@pytest.mark.parametrize("what", [volts("lamp +", "lamp -", READY), light(READY, "dark").query])
def test_outcomes_on_each_variant_are_certain_together(what: Measurement | SignQuery) -> None:
    smew: Diagnosis = diagnosis_of(SMEW)
    belief = smew.belief([light(READY, "dark")])
    left = field_of(smew.table, belief)
    outcomes = outcomes_of(smew.table, left, what)
    assert outcomes.sum(axis=0) == pytest.approx(np.ones(left.weights.size))
