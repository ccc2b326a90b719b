"""A boat of which nothing is amiss is gone through for what shows, and no longer than that is worth its time."""

from random import Random

import numpy as np
import pytest

from assistant.circuit import Fault, forward_states
from assistant.diagnosis import Diagnosis, Evidence, Outcome, ReadingSeen, SignSeen, StepKind
from assistant.diagnosis.choose import entropy_bits, field_of
from assistant.diagnosis.health import (
    LEAST_RATE,
    UNLIKELY,
    best_for_health,
    health_field,
    is_fleeting,
    is_something_likely,
    showing,
    sound_belief,
)
from assistant.diagnosis.race import LEAST_BITS
from assistant.drill.hunting import chooser_of, hunt
from assistant.drill.virtual import VirtualBoat
from tests.diagnosis.boats import SMEW, diagnosis_of, light, read, ready, volts

READY = ready(SMEW)
BRIGHT, DARK = light(READY, "bright"), light(READY, "dark")
FED = read(volts("lamp +", "lamp -", READY), 7.5)


@pytest.fixture(scope="module")
def smew() -> Diagnosis:
    return diagnosis_of(SMEW)


def cell_of(smew: Diagnosis, place: str, mode: str) -> int:
    table = smew.table
    names = [[(m.part, m.mode) for m in table.hypotheses[owner].modes] for owner in table.cells.owner]
    return names.index([(place, mode)])


def test_what_darkens_the_lamp_shows_and_the_healthy_boat_does_not(smew: Diagnosis) -> None:
    cells = np.array(
        [smew.table.cells.well, cell_of(smew, "fuse", "open"), cell_of(smew, "lamp", "burnt out")]
    )
    assert showing(smew.table, cells, (READY,)).tolist() == [False, True, True]
    assert not showing(smew.table, cells, ()).any()


def test_the_two_sides_hold_all_that_is_in_question_once(smew: Diagnosis) -> None:
    belief = smew.belief([BRIGHT])
    field, share = health_field(smew.table, belief, (READY,))
    assert sorted(field.cells) == sorted(field_of(smew.table, belief).cells)
    assert field.weights.sum() == pytest.approx(1.0)
    assert field.masses()[1] == pytest.approx(share)
    shows = showing(smew.table, field.cells, (READY,))
    assert shows.tolist() == field.repairs.astype(bool).tolist()
    assert entropy_bits(field.masses()) <= 1.0


def test_looks_that_are_a_healthy_boats_make_it_unlikely_that_anything_shows(smew: Diagnosis) -> None:
    given: list[list[Evidence]] = [[], [BRIGHT], [BRIGHT, FED]]
    shares = [health_field(smew.table, smew.belief(evidence), (READY,))[1] for evidence in given]
    assert shares[0] > 0.5 > shares[1] > shares[2]


def test_the_hunt_goes_on_while_something_may_show_and_ends_when_that_is_unlikely(smew: Diagnosis) -> None:
    evidence: list[Evidence] = [FED]
    boat = VirtualBoat(smew.table.solver, (), Random(3))
    steps = 0
    while (
        step := smew.next_step(smew.belief(evidence), state=READY, last=None, refused=frozenset())
    ) is not None:
        assert step.gain_bits > 0.0
        if step.measurement is not None:
            evidence.append(read(step.measurement, boat.read(step.measurement)))
        else:
            assert step.kind is StepKind.LOOK
            assert step.query is not None
            evidence.append(SignSeen(query=step.query, levels=(boat.look(step.query),)))
        steps += 1
    belief = smew.belief(evidence)
    verdict = smew.verdict(belief, None)
    assert 0 < steps <= 4
    assert verdict.outcome is Outcome.HEALTHY
    share = health_field(smew.table, belief, (READY,))[1]
    offers = smew.offers((READY,), frozenset(piece.asked for piece in evidence))
    assert share <= UNLIKELY or best_for_health(offers, belief, READY, None) is None


def test_a_step_has_to_be_worth_its_time(smew: Diagnosis) -> None:
    offer = best_for_health(smew.offers((READY,)), smew.belief([BRIGHT]), READY, None)
    assert offer is None or offer.rate >= LEAST_RATE
    first = best_for_health(smew.offers((READY,)), smew.belief([]), READY, None)
    assert first is not None
    assert first.rate >= LEAST_RATE


def test_an_answer_that_was_given_otherwise_the_second_time_is_withdrawn(smew: Diagnosis) -> None:
    corrected = sound_belief(smew.table, smew.belief([DARK, FED, BRIGHT]), smew.is_amiss)
    assert corrected is not None
    assert corrected.evidence == (FED, BRIGHT)
    assert sound_belief(smew.table, smew.belief([DARK, FED]), smew.is_amiss) is None
    assert sound_belief(smew.table, smew.belief([BRIGHT, DARK]), smew.is_amiss) is None
    assert not is_fleeting(smew.table, DARK)


def test_a_sign_remembered_wrongly_is_looked_at_again_before_anything_is_hunted_for(smew: Diagnosis) -> None:
    burns = smew.next_step(smew.belief([DARK, FED]), state=READY, last=None, refused=frozenset())
    assert burns is not None
    assert burns.measurement is not None
    assert burns.band is not None
    drawn = read(burns.measurement, 0.5 * (burns.band.low + burns.band.high))
    belief = smew.belief([DARK, FED, drawn])
    step = smew.next_step(belief, state=READY, last=None, refused=frozenset())
    assert step is not None
    assert step.query == DARK.query
    told = smew.belief([*belief.evidence, BRIGHT])
    assert smew.verdict(told, None).outcome is Outcome.HEALTHY


def test_why_says_that_nothing_is_amiss_so_far(smew: Diagnosis) -> None:
    belief = smew.belief([FED])
    step = smew.next_step(belief, state=READY, last=None, refused=frozenset())
    assert step is not None
    assert smew.explain(step, belief).startswith("Nothing is amiss so far")
    dark = smew.belief([DARK])
    other = smew.next_step(dark, state=READY, last=None, refused=frozenset())
    assert other is not None
    assert "Nothing is amiss" not in smew.explain(other, dark)


def test_a_fault_complained_of_by_the_wrong_sign_is_found_all_the_same(smew: Diagnosis) -> None:
    """The owner tells of volts that are right; the lamp is dark, which nobody had looked at."""
    boat = VirtualBoat(smew.table.solver, (Fault("lamp", "burnt out"),), Random(5))
    states = forward_states(smew.network.boat)
    evidence: list[Evidence] = [ReadingSeen(measurement=FED.measurement, value=boat.read(FED.measurement))]
    choose = chooser_of(smew, states)
    step = choose(smew.belief(evidence), READY, None)
    assert step is not None
    assert step.query == DARK.query
    found = hunt(smew, boat, DARK.query, choose)
    assert {repair.place for repair in found.named} == {"lamp"}


def test_signs_that_tell_little_are_found_whatever_was_asked_before(smew: Diagnosis) -> None:
    cells = field_of(smew.table, smew.belief([])).cells
    fresh = Diagnosis(smew.network).table.telling(READY, cells, None, LEAST_RATE)
    assert smew.table.telling(READY, cells, None, LEAST_BITS).keys() <= fresh.keys()
    later = smew.table.telling(READY, cells, None, LEAST_RATE)
    assert later.keys() == fresh.keys()
    for query, chances in later.items():
        assert chances == pytest.approx(fresh[query])


def test_a_boat_is_not_called_well_while_a_fault_that_shows_is_likely(smew: Diagnosis) -> None:
    """One side alone is in question, so that nothing tells it from the other; which part it is then matters."""
    well = smew.table.cells.well
    belief = smew.belief([FED])
    torn = belief.weighed(np.where(showing(smew.table, np.arange(len(belief.prior)), (READY,)), 1.0, 1e-9))
    assert is_something_likely(smew.table, torn, (READY,))
    assert torn.cells[well] < 1e-6
    assert best_for_health(smew.offers((READY,)), torn, READY, None) is None
    assert smew.next_step(torn, state=READY, last=None, refused=frozenset()) is not None


def test_a_sign_that_few_healthy_boats_show_is_hunted_and_accuses_no_part_by_itself(smew: Diagnosis) -> None:
    glaring = light(READY, "glaring")
    assert not smew.is_amiss(glaring)
    belief = smew.belief([glaring])
    step = smew.next_step(belief, state=READY, last=None, refused=frozenset())
    assert step is not None
    assert "Nothing is amiss" not in smew.explain(step, belief)
    assert smew.verdict(belief, None).outcome is Outcome.HEALTHY
