"""Feeds solved alone beside the rest, against the whole boat."""

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
    ready_state,
    rest_state,
)
from assistant.circuit.beside import Beside
from assistant.circuit.feeds import divided
from assistant.wiring import Boat, load_boat
from tests.bench.measures import branched_text
from tests.dialogue.boats import boat
from tests.oracle.campaign import variants_of
from tests.support.boats import read_catalogue

PARTS = 40
CLOSE = 1e-5
CLOSE_V = 1e-6
CLOSE_A = 2e-6
FIRM = "10 AWG 20 cm plug/screwed"
SOFT = "24 AWG 300 cm plug/screwed"
"""Leads of the pack so long and thin that what one branch draws moves the others, and a short darkens them."""


def made_up(lead: str) -> Boat:
    """Return a boat of many branches, with drive and radio, whose pack has such leads."""
    return load_boat(branched_text(PARTS, steered=True).replace(FIRM, lead), "made-up.yaml", read_catalogue())


def dividing(boat: Boat) -> Solver:
    """Return a solver that divides a boat, though it is small."""
    solver = make_solver(build_network(boat))
    solver.divisions.append(divided(solver.frame, least=1))
    return solver


def some_off(boat: Boat) -> BoatState:
    """Return the state in which every other switch is off."""
    switches = [part for part in boat.parts if part.startswith("switch")]
    return ready_state(boat).with_({f"{part}.closed": 0.0 for part in switches[::2]})


def at_work(boat: Boat) -> BoatState:
    """Return a state in which everything works."""
    return forward_states(boat)[0]


def every_fault(solver: Solver) -> tuple[Variant, ...]:
    """Return every fault, each on two draws of the tolerances."""
    faulty = (v.faults for v in variants_of(solver.network) if v.faults)
    return tuple(Variant(faults=faults, draw=draw) for faults in faulty for draw in (1, 2))


def solved_alone(
    solver: Solver, state: BoatState, variants: tuple[Variant, ...]
) -> tuple[list[int], list[int]]:
    """Return which variants with a fault in a feed are solved alone, and which are not."""
    sound = [Variant(draw=1), Variant(draw=2)]
    beside = Beside(solver.frame, solver.division(), solver.batch(sound, 2), state)
    alone: list[int] = []
    others: list[int] = []
    for number, feed in enumerate(solver.division().feeds):
        network = feed.frame.network
        rows = [n for n, v in enumerate(variants) if v.faults[0].part in feed.parts]
        found = [variants[n] for n in rows]
        batches = solver.batch(sound, 2, network), solver.batch(found, 2, network)
        solved = beside.solved(number, *batches, np.array([v.draw - 1 for v in found]))
        alone += [rows[n] for n in solved.rows.tolist()]
        others += sorted(set(rows) - set(alone))
    return alone, others


def assert_is_as_solved_whole(solver: Solver, state: BoatState) -> None:
    """Compare what a survey keeps of a boat that is divided with what solving gives."""
    variants = every_fault(solver)
    whole, kept = solver.solve(state, variants, draws=2), solver.survey(state, variants, draws=2)
    assert np.array_equal(kept.failed, whole.failed)
    assert np.array_equal(kept.restless, whole.restless)
    assert_all_alike(kept, whole)
    assert_each_alike(kept, whole)


def at_rest(whole: Solution) -> NDArray[np.intp]:
    """Return the variants that come to rest; of others, two phases may be so even that rounding chooses."""
    return np.flatnonzero(~whole.failed & ~whole.restless.any(axis=0))


def assert_all_alike(kept: Survey, whole: Solution) -> None:
    """Compare all values at once, which are substituted one by one."""
    sound = at_rest(whole)
    found, wanted = kept.take(sound), whole.take(sound)
    one, other = found.phase, wanted.phase
    assert np.array_equal(one.conditions, other.conditions)
    assert np.array_equal(one.travel, other.travel)
    assert np.allclose(one.volts, other.volts, rtol=CLOSE, atol=CLOSE_V)
    assert np.allclose(one.amps, other.amps, rtol=CLOSE, atol=CLOSE_A)
    assert np.allclose(one.speed, other.speed, rtol=CLOSE, atol=CLOSE_V)


def assert_each_alike(kept: Survey, whole: Solution) -> None:
    """Compare values node by node and element by element, as they are read off where feeds meet."""
    sound = at_rest(whole)
    for one, other in ((kept.phase, whole.phase), (kept.other, whole.other)):
        for node in range(0, len(other.volts), 5):
            wanted = other.volts[node, sound]
            assert np.allclose(one.volts_of(node)[sound], wanted, rtol=CLOSE, atol=CLOSE_V)
        for element in range(0, len(other.amps), 5):
            wanted = other.amps[element, sound]
            assert np.allclose(one.amps_of(element)[sound], wanted, rtol=CLOSE, atol=CLOSE_A)
    for node in range(1, len(whole.phase.volts), 7):
        pair, some = np.array([node, node - 1]), sound[::3]
        wanted = whole.phase.volts[pair][:, some]
        assert np.allclose(kept.phase.volts_at(pair, some), wanted, rtol=CLOSE, atol=CLOSE_V)


@pytest.mark.parametrize(
    ("lead", "state"), [(FIRM, rest_state), (FIRM, ready_state), (SOFT, some_off), (SOFT, at_work)]
)
def test_feeds_solved_alone_are_those_of_the_whole_boat(
    lead: str, state: Callable[[Boat], BoatState]
) -> None:
    own = made_up(lead)
    assert_is_as_solved_whole(dividing(own), state(own))


@pytest.mark.parametrize("name", ["dabchick", "grebe", "pochard", "wigeon"])
def test_so_they_are_on_boats_with_drives_regulators_and_radio(name: str) -> None:
    own = boat(name)
    assert_is_as_solved_whole(dividing(own), at_work(own))


def test_most_are_solved_alone_on_a_firm_supply() -> None:
    solver = dividing(made_up(FIRM))
    alone, others = solved_alone(solver, ready_state(solver.network.boat), every_fault(solver))
    assert len(alone) > 6 * len(others)


def test_what_changes_the_rest_is_not_solved_alone() -> None:
    solver = dividing(made_up(SOFT))
    variants, state = every_fault(solver), ready_state(solver.network.boat)
    alone, others = solved_alone(solver, state, variants)
    whole = solver.solve(state, [*variants, Variant(draw=1), Variant(draw=2)], draws=2)
    conditions = whole.phase.conditions
    own = {part: feed for feed in solver.division().feeds for part in feed.parts}
    changed = []
    for row in (*alone, *others):
        elsewhere = np.setdiff1d(np.arange(len(conditions)), own[variants[row].faults[0].part].conditions)
        sound = len(variants) + variants[row].draw - 1
        if (conditions[elsewhere, row] != conditions[elsewhere, sound]).any():
            changed.append(row)
    assert alone
    assert changed
    assert set(changed) <= set(others)
