"""The likeliest level of each sign, worked out feed by feed, is that of the whole boat."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.circuit import (
    BoatState,
    Solution,
    Solver,
    Survey,
    Variant,
    build_network,
    forward_states,
    make_solver,
    rest_state,
)
from assistant.diagnosis.hypotheses import single_faults
from assistant.diagnosis.levels import likeliest_levels
from assistant.diagnosis.model import SignQuery
from assistant.diagnosis.refining import refined
from assistant.diagnosis.signs import SignModel, hangs_on_noise
from assistant.diagnosis.stories import faults_of
from assistant.wiring import Boat
from tests.circuit.test_beside import FIRM, SOFT, dividing, made_up
from tests.dialogue.boats import boat as example

STEP = 5
"""Of so many faults one is tried."""


def graded(solver: Solver) -> tuple[Variant, ...]:
    """Return some faults from all over the boat, at every severity."""
    stories = single_faults(solver.network)[::STEP]
    return tuple(Variant(faults=faults_of(solver.network, h, s)) for h in stories for s in h.severities)


def of_the_whole(solver: Solver, variants: tuple[Variant, ...], found: Solution | Survey) -> NDArray[np.intp]:
    """Return the likeliest levels as they are in the whole boat, on every variant."""
    model = SignModel(solver.network, variants, 0)
    queries = [
        SignQuery(part=part.id, sign=sign, state=found.state)
        for part in solver.network.parts.values()
        for sign in part.kind.signs
    ]
    return np.array([model.probabilities(found, query).argmax(axis=0) for query in queries])


def working(boat: Boat) -> BoatState:
    """Return a state in which everything works."""
    return forward_states(boat)[-1]


@pytest.mark.parametrize(
    ("boat", "state_of"),
    [
        pytest.param(made_up(FIRM), working, id="firm"),
        pytest.param(made_up(SOFT), working, id="soft"),
        pytest.param(made_up(SOFT), rest_state, id="at rest"),
        pytest.param(example("wigeon"), working, id="wigeon"),
    ],
)
def test_levels_are_those_of_the_whole_boat(boat: Boat, state_of: Callable[[Boat], BoatState]) -> None:
    solver = dividing(boat)
    variants = graded(solver)
    survey = solver.survey(state_of(boat), variants)
    levels = likeliest_levels(solver, variants, survey)
    assert np.array_equal(levels, of_the_whole(solver, variants, survey))
    assert any(len(np.unique(row)) > 1 for row in levels)


def test_servos_hang_on_noise_that_others_make_and_lamps_do_not() -> None:
    parts = build_network(made_up(FIRM)).parts
    assert any(map(hangs_on_noise, parts["rudder"].kind.signs.values()))
    assert not any(map(hangs_on_noise, parts["lamp-0"].kind.signs.values()))


def test_levels_of_a_boat_that_is_not_divided_are_those_of_the_whole_boat() -> None:
    boat = example("wigeon")
    solver = make_solver(build_network(boat))
    variants = graded(solver)
    found = solver.solve(working(boat), variants)
    assert np.array_equal(likeliest_levels(solver, variants, found), of_the_whole(solver, variants, found))


def test_a_divided_boat_has_the_rungs_of_the_whole_one() -> None:
    boat = made_up(SOFT)
    divided, whole = dividing(boat), make_solver(build_network(boat))
    stories = single_faults(whole.network)[:: 2 * STEP]
    found = refined(divided, stories)
    assert found == refined(whole, stories)
    assert sum(len(story.severities) for story in found) > sum(len(story.severities) for story in stories)
