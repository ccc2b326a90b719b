"""Variants that stand for others in a part of the boat, against those others themselves."""

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest

from assistant.circuit import REST, BoatState, Likeness, Solver, Survey, Variant
from assistant.wiring import Boat
from tests.circuit.test_beside import FIRM, SOFT, at_work, dividing, every_fault, made_up, some_off

CLOSE_V = 1e-5
CLOSE_A = 1e-3
"""What a microvolt drives through a milliohm."""


@cache
def surveyed(lead: str, state_of: Callable[[Boat], BoatState]) -> tuple[Solver, Survey, tuple[Variant, ...]]:
    boat = made_up(lead)
    solver = dividing(boat)
    variants = every_fault(solver)[::2]
    return solver, solver.survey(state_of(boat), variants, draws=2), variants


@pytest.mark.parametrize(("lead", "state_of"), [(FIRM, some_off), (SOFT, at_work)])
def test_in_a_feed_each_variant_is_as_the_one_that_stands_for_it(
    lead: str, state_of: Callable[[Boat], BoatState]
) -> None:
    solver, survey, variants = surveyed(lead, state_of)
    division, every = solver.division(), np.arange(len(variants))
    likeness = Likeness(solver.network, division, survey, variants)
    standing = 0
    for number, feed in enumerate(division.feeds):
        alike = likeness.within({number})
        own, stand_in = survey.in_feed(feed, every), survey.in_feed(feed, alike.columns)
        for one, other in ((own.phase, stand_in.phase), (own.other, stand_in.other)):
            there = other.take(alike.of)
            settled = ~survey.failed
            assert np.abs(one.volts - there.volts)[:, settled].max() < CLOSE_V
            assert np.abs(one.amps - there.amps)[:, settled].max() < CLOSE_A
            assert np.array_equal(one.conditions, there.conditions)
            assert np.array_equal(one.travel, there.travel)
        assert np.array_equal(own.restless, stand_in.restless[:, alike.of])
        assert np.array_equal(own.failed, stand_in.failed[alike.of])
        standing += len(alike.columns)
    assert standing < 0.5 * len(division.feeds) * len(variants)


def test_a_variant_stands_for_itself_where_its_fault_is() -> None:
    solver, survey, variants = surveyed(SOFT, at_work)
    feed_of = solver.division().feed_of_part
    likeness = Likeness(solver.network, solver.division(), survey, variants)
    for number in range(REST, len(solver.division().feeds)):
        alike = likeness.within({number})
        own = [n for n, v in enumerate(variants) if feed_of.get(v.faults[0].part, REST) == number]
        assert own
        assert np.array_equal(alike.columns[alike.of[own]], own)


def test_in_a_feed_the_solution_is_that_of_the_whole_boat() -> None:
    solver, survey, variants = surveyed(SOFT, at_work)
    columns = np.flatnonzero(~survey.failed)[::7]
    whole = survey.take(columns)
    for feed in solver.division().feeds:
        own = survey.in_feed(feed, columns)
        for one, other in ((own.phase, whole.phase), (own.other, whole.other)):
            assert one.volts[:-1] == pytest.approx(other.volts[feed.way.nodes], abs=1e-9)
            assert one.amps == pytest.approx(other.amps[feed.elements], abs=1e-9)
            assert np.array_equal(one.speed, other.speed[feed.elements])
            assert np.array_equal(one.conditions, other.conditions[feed.conditions])
            assert np.array_equal(one.travel, other.travel[feed.inputs])
        assert np.array_equal(own.restless, whole.restless[feed.conditions])
    assert len(columns) > len(variants) // 10


def test_what_tells_variants_apart_besides_is_kept_apart() -> None:
    solver, survey, variants = surveyed(SOFT, at_work)
    likeness = Likeness(solver.network, solver.division(), survey, variants)
    besides = np.arange(len(variants)) % 3
    alike = likeness.within({REST}, [besides])
    assert np.array_equal(besides[alike.columns[alike.of]], besides)
    assert len(alike.columns) > len(likeness.within({REST}).columns)
