"""Feeds solved alone beside the rest, against the whole boat."""

import numpy as np
import pytest

from assistant.circuit import (
    BoatState,
    Solution,
    Solver,
    Survey,
    Variant,
    build_network,
    make_solver,
    ready_state,
    rest_state,
)
from assistant.circuit.beside import Beside
from assistant.circuit.feeds import divided
from assistant.wiring import Boat, load_boat
from tests.bench.measures import branched_text
from tests.oracle.campaign import variants_of
from tests.support.boats import read_catalogue

PARTS = 40
CLOSE_V = 1e-8
CLOSE_A = 1e-7
FIRM = "10 AWG 20 cm plug/screwed"
SOFT = "24 AWG 2400 cm plug/screwed"
"""Leads of the pack so long and thin that what one lamp draws dims the others, and a short darkens them."""


def lamps(lead: str) -> Boat:
    """Return a boat of many lamps whose pack has such leads."""
    return load_boat(branched_text(PARTS).replace(FIRM, lead), "lamps.yaml", read_catalogue())


def some_off(boat: Boat) -> BoatState:
    """Return the state in which every other switch is off."""
    switches = [part for part in boat.parts if part.startswith("switch")]
    return ready_state(boat).with_({f"{part}.closed": 0.0 for part in switches[::2]})


def every_fault(solver: Solver) -> tuple[Variant, ...]:
    """Return the healthy boat and every fault, each on two draws of the tolerances."""
    return tuple(Variant(faults=v.faults, draw=draw) for v in variants_of(solver.network) for draw in (1, 2))


def solved_alone(
    solver: Solver, state: BoatState, variants: tuple[Variant, ...]
) -> tuple[list[int], list[int]]:
    """Return which variants with a fault in a feed are solved alone, and which are not."""
    division = divided(solver.frame)
    sound = solver.batch([Variant(draw=1), Variant(draw=2)], 2)
    beside = Beside(solver.frame, division, sound, state)
    alone: list[int] = []
    others: list[int] = []
    for number, feed in enumerate(division.feeds):
        rows = [n for n, v in enumerate(variants) if v.faults and v.faults[0].part in feed.parts]
        found = [variants[n] for n in rows]
        solved = beside.solved(
            number,
            solver.batch([Variant(draw=1), Variant(draw=2)], 2, feed.frame.network),
            solver.batch(found, 2, feed.frame.network),
            np.array([v.draw - 1 for v in found]),
        )
        alone += [rows[n] for n in solved.rows.tolist()]
        others += sorted(set(rows) - set(alone))
    return alone, others


@pytest.mark.parametrize("state", [rest_state, ready_state, some_off])
@pytest.mark.parametrize("lead", [FIRM, SOFT])
def test_feeds_solved_alone_are_those_of_the_whole_boat(lead: str, state: object) -> None:
    assert callable(state)
    boat = lamps(lead)
    solver = make_solver(build_network(boat))
    variants, every = every_fault(solver)[2:], state(boat)
    assert all(variant.faults for variant in variants)
    whole, kept = solver.solve(every, variants, draws=2), solver.survey(every, variants, draws=2)
    assert not whole.failed.any()
    assert np.array_equal(kept.failed, whole.failed)
    assert np.array_equal(kept.restless, whole.restless)
    _assert_all_alike(kept, whole)
    _assert_each_alike(kept, whole)


def _assert_all_alike(kept: Survey, whole: Solution) -> None:
    """Compare all values at once, which are substituted one by one."""
    found = kept.take(np.arange(len(whole.failed)))
    for one, other in ((found.phase, whole.phase), (found.other, whole.other)):
        assert np.array_equal(one.conditions, other.conditions)
        assert np.abs(one.volts - other.volts).max() < CLOSE_V
        assert np.abs(one.amps - other.amps).max() < CLOSE_A


def _assert_each_alike(kept: Survey, whole: Solution) -> None:
    """Compare values node by node and element by element, as they are read off where feeds meet."""
    for one, other in ((kept.phase, whole.phase), (kept.other, whole.other)):
        for node in range(len(other.volts)):
            assert np.abs(one.volts_of(node) - other.volts[node]).max() < CLOSE_V
        for element in range(len(other.amps)):
            assert np.abs(one.amps_of(element) - other.amps[element]).max() < CLOSE_A
    some = np.arange(0, len(whole.failed), 3)
    for node in range(1, len(whole.phase.volts)):
        pair = np.array([node, node - 1])
        assert np.abs(kept.phase.volts_at(pair, some) - whole.phase.volts[pair][:, some]).max() < CLOSE_V


def test_nearly_all_are_solved_alone_on_a_firm_supply() -> None:
    solver = make_solver(build_network(lamps(FIRM)))
    alone, others = solved_alone(solver, ready_state(solver.network.boat), every_fault(solver))
    assert len(alone) > 20 * len(others)


def test_what_changes_the_rest_is_not_solved_alone() -> None:
    solver = make_solver(build_network(lamps(SOFT)))
    variants, state = every_fault(solver), ready_state(solver.network.boat)
    alone, others = solved_alone(solver, state, variants)
    assert alone
    assert others
    conditions = solver.solve(state, variants, draws=2).phase.conditions
    own = {part: feed for feed in divided(solver.frame).feeds for part in feed.parts}
    for row in (*alone, *others):
        feed, sound = own[variants[row].faults[0].part], variants[row].draw - 1
        elsewhere = np.setdiff1d(np.arange(len(conditions)), feed.conditions)
        if (conditions[elsewhere, row] != conditions[elsewhere, sound]).any():
            assert row in others
