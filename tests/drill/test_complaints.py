"""What is complained of shows on the boat that is hunted on."""

from random import Random

import numpy as np
import pytest

from assistant.circuit import Fault, Variant
from assistant.diagnosis import Diagnosis, SignSeen
from assistant.diagnosis.signs import SignModel
from assistant.drill import Complaints
from assistant.drill.virtual import VirtualBoat
from tests.diagnosis.boats import SMEW, diagnosis_of, ready


@pytest.fixture(scope="module")
def smew() -> Diagnosis:
    return diagnosis_of(SMEW)


def test_every_fault_shows_by_its_complaint_at_its_own_severity_or_is_a_step_of_the_ladder(
    smew: Diagnosis,
) -> None:
    complaints = Complaints(smew, (ready(SMEW),))
    found = list(complaints.breakdowns())
    assert len(found) > 10
    solver = smew.table.solver
    off_the_ladder = 0
    for one in found:
        if one.faults[0].severity in one.hypothesis.severities:
            continue
        off_the_ladder += 1
        variants = [Variant(), Variant(faults=one.faults)]
        solution = solver.solve(one.complaint.state, variants)
        chances = SignModel(solver.network, variants, 0).probabilities(solution, one.complaint)
        well = int(np.argmax(chances[:, 0]))
        assert chances[well, 1] < 0.5
    assert off_the_ladder > 5


def test_a_sign_shows_where_healthy_boats_hardly_ever_have_it(smew: Diagnosis) -> None:
    complaints = Complaints(smew, (ready(SMEW),))
    solver = smew.table.solver
    dark = next(q for q in complaints.queries if q.part == "lamp")
    assert not complaints.shows(VirtualBoat(solver, (), Random(1)), dark)
    assert complaints.shows(VirtualBoat(solver, (Fault("fuse", "open", 0.0),), Random(1)), dark)


def test_a_level_amiss_is_one_that_healthy_boats_hardly_ever_show(smew: Diagnosis) -> None:
    complaints = Complaints(smew, (ready(SMEW),))
    dark = next(q for q in complaints.queries if q.part == "lamp")
    level = complaints.amiss_level(dark)
    assert level is not None
    assert smew.is_amiss(SignSeen(query=dark, levels=(level,)))
    assert VirtualBoat(smew.table.solver, (), Random(1)).look(dark) != level
