"""What a survey keeps of a boat state against what solving gives."""

import numpy as np
import pytest

from assistant.circuit import Solution, Solver, Survey, Variant, build_network, forward_states, make_solver
from assistant.circuit.ways import Ways
from assistant.wiring import Boat
from tests.dialogue.boats import boat
from tests.oracle.campaign import variants_of

CLOSE_V = 1e-8
CLOSE_A = 1e-5
CLOSE_SPEED = 1e-9
BOATS = ("dabchick", "grebe")


def surveyed(own: Boat) -> tuple[Solver, tuple[Variant, ...], Solution, Survey]:
    """Return a boat at work with each of its faults, on two draws of the tolerances, solved and surveyed."""
    network = build_network(own)
    solver = make_solver(network)
    faults = [variant.faults for variant in variants_of(network)]
    variants = tuple(Variant(faults=one, draw=draw) for one in faults for draw in (1, 2))
    state = forward_states(own)[0]
    return solver, variants, solver.solve(state, variants, draws=2), solver.survey(state, variants, draws=2)


@pytest.fixture(scope="module", params=BOATS)
def pair(request: pytest.FixtureRequest) -> tuple[Solver, tuple[Variant, ...], Solution, Survey]:
    return surveyed(boat(request.param))


def test_both_phases_are_those_of_the_solution(
    pair: tuple[Solver, tuple[Variant, ...], Solution, Survey],
) -> None:
    solver, variants, solution, survey = pair
    network, every = solver.network, np.arange(len(variants))
    sound = ~solution.failed
    assert np.array_equal(survey.failed, solution.failed)
    assert np.array_equal(survey.restless, solution.restless)
    assert survey.restless.any()
    for kept, whole in ((survey.phase, solution.phase), (survey.other, solution.other)):
        volts = kept.volts_at(np.arange(len(network.nodes)), every)
        assert np.abs(volts - whole.volts)[:, sound].max() < CLOSE_V
        taken = kept.take(every)
        assert np.array_equal(taken.volts, volts)
        assert np.array_equal(taken.conditions, whole.conditions)
        assert np.array_equal(kept.conditions, whole.conditions)
        assert np.abs(taken.amps - whole.amps)[:, sound].max() < CLOSE_A
        for number in range(len(network.elements)):
            apart = np.abs(kept.amps_of(number) - whole.amps_of(number))[sound]
            assert apart.max() < CLOSE_A
            faster = np.abs(kept.speed_of(number) - whole.speed_of(number))[sound]
            assert faster.max() < CLOSE_SPEED
        for number in range(len(network.conditions)):
            assert np.array_equal(kept.holds(number), whole.holds(number))
        for number in range(len(network.inputs)):
            assert np.array_equal(kept.travel_of(number), whole.travel_of(number))


def test_some_nodes_on_some_variants_are_as_on_all(
    pair: tuple[Solver, tuple[Variant, ...], Solution, Survey],
) -> None:
    solver, variants, _, survey = pair
    size = len(solver.network.nodes)
    columns = np.array([len(variants) - 1, 0, *np.flatnonzero(survey.restless.any(axis=0))[:3], 0])
    for kept in (survey.phase, survey.other):
        whole = kept.volts_at(np.arange(size), np.arange(len(variants)))
        for node in (0, size // 2, size - 1):
            few = kept.volts_at(np.array([node]), columns)
            assert np.abs(few - whole[[node]][:, columns]).max() < CLOSE_V


def test_nodes_are_held_as_by_the_whole_equations(
    pair: tuple[Solver, tuple[Variant, ...], Solution, Survey],
) -> None:
    solver, variants, solution, survey = pair
    columns = np.flatnonzero(~solution.failed)[:40]
    hold = solver.hold(solution, [variants[i] for i in columns], columns, draws=2)
    red, black = np.arange(6), np.full(6, len(solver.network.nodes) - 1)
    here = survey.hold.between(red, black, columns, exact=True)
    assert here == pytest.approx(hold.between(red, black, np.arange(len(columns)), exact=True), rel=1e-6)


def test_a_boat_is_kept_by_a_small_part_of_its_equations(
    pair: tuple[Solver, tuple[Variant, ...], Solution, Survey],
) -> None:
    _, variants, _, survey = pair
    factors = survey.kept[0].factors
    assert len(factors.values) < 0.3 * len(factors.base) * len(variants)


def test_the_way_of_all_nodes_is_the_whole_pattern() -> None:
    solver = make_solver(build_network(boat("dabchick")))
    pattern = solver.network.pattern
    ways = Ways(pattern)
    assert sorted(ways.of(range(pattern.size)).entries.tolist()) == list(range(pattern.entries))
    assert ways.of([0]) is ways.of([0, pattern.size])
