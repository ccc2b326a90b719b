"""What the hypotheses predict, against single boats solved alone."""

import numpy as np
import pytest

from assistant.diagnosis.table import FaultTable
from tests.diagnosis.boats import SMEW, diagnosis_of, ohms, unplugged

UNPLUGGED = unplugged(SMEW)


@pytest.fixture(scope="module")
def table() -> FaultTable:
    return diagnosis_of(SMEW).table


def test_ohms_along_a_lead_are_those_of_its_wire_and_joints(table: FaultTable) -> None:
    """Ten centimetres of 18 AWG and two soldered joints; nothing else may add to it, whatever lies behind."""
    shown = table.state(UNPLUGGED).shown([ohms("fuse out", "lamp +", UNPLUGGED)])
    wire_ohm = 0.1 / (58.0 * 0.823)
    assert shown.values[0, 0] == pytest.approx(wire_ohm + 2 * 0.0001, rel=0.15)


def test_ohms_of_a_broken_lead_are_those_of_the_way_round(table: FaultTable) -> None:
    """With the pack unplugged there is no way round: the display reads OL."""
    number = next(
        n
        for n, h in enumerate(table.hypotheses)
        if [(m.part, m.mode) for m in h.modes] == [("fuse.out--lamp.+", "broken")]
    )
    (cell,) = np.flatnonzero(table.cells.owner == number)
    shown = table.state(UNPLUGGED).shown([ohms("fuse out", "lamp +", UNPLUGGED)])
    assert np.isinf(shown.values[0, cell]).all()
    assert np.isfinite(shown.values[0, 0]).all()
