"""Boats that are alike where it matters: which they are, and that who follows another ends where he would alone."""

import numpy as np
import pytest

from assistant.circuit import (
    Fault,
    Solution,
    Variant,
    build_network,
    make_solver,
    ready_state,
    working_states,
)
from assistant.circuit.batch import make_batch
from assistant.circuit.crew import Crew
from assistant.circuit.plant import Plant
from assistant.circuit.twins import marks_of, passive_parts
from tests.support.boats import example_boats

FEED = ("pack.+--fuse.in@1", "pack.+--fuse.in@2", "fuse.out--switch.in@1", "switch.out--drive.+@2")


def marks(*variants: Variant) -> list[object]:
    boat = example_boats()["dabchick"]
    frame = make_solver(build_network(boat)).frame
    batch = make_batch(frame.network, variants, draws=2)
    plant = Plant.of(frame, Crew.of(batch, ready_state(boat)))
    return list(marks_of(plant, passive_parts(frame), variants))


def joint(part: str, ohm: float, draw: int = 0) -> Variant:
    return Variant(faults=(Fault(part, "poor", ohm),), draw=draw)


def test_joints_of_one_feed_are_alike_at_equal_ohms_alone() -> None:
    assert len(set(marks(*(joint(part, 3.0) for part in FEED)))) == 1
    assert len(set(marks(*(joint(FEED[0], ohm) for ohm in (3.0, 3.001, 10.0))))) == 3
    assert len(set(marks(*(joint(FEED[0], 3.0, draw) for draw in (0, 1, 2))))) == 3


def test_joints_of_two_feeds_are_not_alike() -> None:
    first, second = marks(joint(FEED[0], 3.0), joint("receiver.1+--rudder.r@1", 3.0))
    assert first != second


def test_faults_of_parts_that_switch_are_never_alike() -> None:
    frame = make_solver(build_network(example_boats()["dabchick"])).frame
    assert {"drive", "receiver", "rudder"}.isdisjoint(passive_parts(frame))
    assert {"fuse", *FEED} <= passive_parts(frame)


@pytest.mark.parametrize("ohm", [0.3, 3.0, 30.0, 100.0])
def test_who_follows_another_ends_where_he_would_alone(ohm: float) -> None:
    boat = example_boats()["dabchick"]
    solver = make_solver(build_network(boat))
    variants = [joint(part, ohm) for part in FEED]
    for state in working_states(boat):
        together = solver.solve(state, variants)
        alone = [solver.solve(state, [variant]) for variant in variants]
        for number, one in enumerate(alone):
            assert_same(together.take(np.array([number])), one)


def assert_same(one: Solution, other: Solution) -> None:
    """Expect the same, but for which two phases are kept of what alternates: that may hang on the last digits."""
    assert (one.failed == other.failed).all()
    assert (one.restless == other.restless).all()
    if not one.restless.any():
        np.testing.assert_allclose(one.phase.volts, other.phase.volts, rtol=0.0, atol=1e-6)
        np.testing.assert_allclose(one.phase.amps, other.phase.amps, rtol=0.0, atol=1e-5)
        assert (one.phase.conditions == other.phase.conditions).all()
        assert (one.other.volts == one.phase.volts).all()
