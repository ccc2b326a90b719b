"""What boat states share: rows of one variant stand on one column where hands have set all alike."""

import numpy as np

from assistant.circuit import (
    Fault,
    Variant,
    build_network,
    make_solver,
    ready_state,
    rest_state,
    working_states,
)
from assistant.circuit.batch import make_batch
from assistant.circuit.crew import Crew
from assistant.circuit.plant import Plant
from tests.support.boats import example_boats

BOAT = example_boats()["dabchick"]


def test_sticks_leave_the_eliminated_system_alone_and_switches_do_not() -> None:
    frame = make_solver(build_network(BOAT)).frame
    batch = make_batch(frame.network, [Variant(), Variant(faults=(Fault("fuse", "open"),))], draws=0)
    moved = [state for state in working_states(BOAT) if state != ready_state(BOAT)]
    states = [ready_state(BOAT), moved[0], rest_state(BOAT)]
    variants, at = np.tile([0, 1], 3), np.repeat([0, 1, 2], 2)
    plant = Plant.of(frame, Crew(batch, states, variants, at))
    ready, steered, rest = plant.columns.reshape(3, 2).tolist()
    assert ready == steered
    assert len({*ready, *rest}) == 4
    assert plant.values.shape[1] == 4
