"""An answer that does not belong with the others is asked for once more, and only once."""

import pytest

from assistant.circuit import ready_state, rest_state
from assistant.diagnosis import Asked, Belief, Diagnosis, Evidence, Outcome, ReadingSeen, RepairId
from assistant.diagnosis.belief import MISREAD
from assistant.diagnosis.choose import field_of
from assistant.diagnosis.slips import lone, misfit
from assistant.diagnosis.verdict import leader
from tests.diagnosis.boats import SMEW, light, network_of, volts

READY = ready_state(network_of(SMEW).boat)


@pytest.fixture(scope="module")
def smew() -> Diagnosis:
    return Diagnosis(network_of(SMEW))


def seen(points: str, value: float) -> ReadingSeen:
    red, black = points.split(" to ")
    return ReadingSeen(measurement=volts(red, black, READY), value=value)


def repair_led_by(smew: Diagnosis, evidence: list[Evidence]) -> RepairId | None:
    belief = smew.belief(evidence)
    return leader(belief.table, belief)[0]


def every_step(smew: Diagnosis, belief: Belief) -> frozenset[Asked]:
    offers = smew.offers((READY,)).all(field_of(smew.table, belief), READY, None)
    return frozenset(offer.what for offer in offers)


DARK = light(READY, "dark")
SLIPPED: list[Evidence] = [
    DARK,
    seen("pack + to pack -", 0.0),
    seen("lamp + to lamp -", 7.5),
    seen("fuse in to pack -", 7.6),
]


def test_answers_of_one_story_belong_together(smew: Diagnosis) -> None:
    blown: list[Evidence] = [DARK, seen("fuse in to pack -", 7.6), seen("fuse out to pack -", 0.0)]
    assert misfit(smew.table, smew.belief(blown)) is None


def test_volts_at_the_lamp_but_none_at_the_pack_do_not_belong_together(smew: Diagnosis) -> None:
    number = misfit(smew.table, smew.belief(SLIPPED))
    assert number == 1


def test_what_does_not_belong_is_asked_for_again_with_the_reason(smew: Diagnosis) -> None:
    belief = smew.belief(SLIPPED)
    fully_asked = every_step(smew, belief)
    step = smew.next_step(belief, state=READY, last=None, refused=fully_asked - {SLIPPED[1].asked})
    assert step is not None
    assert step.measurement == SLIPPED[1].asked
    assert "once more" in smew.explain(step, belief)


def test_what_was_taken_twice_is_not_doubted_again(smew: Diagnosis) -> None:
    twice = [*SLIPPED, seen("pack + to pack -", 0.0)]
    insisted = smew.belief(twice)
    assert misfit(insisted.table, insisted) != 1
    mended = [*SLIPPED, seen("pack + to pack -", 7.6)]
    assert misfit(smew.table, smew.belief(mended)) is None
    assert repair_led_by(smew, mended) is not None


def test_what_is_out_of_reach_is_not_asked_for_again(smew: Diagnosis) -> None:
    belief = smew.belief(SLIPPED)
    everything = every_step(smew, belief)
    assert smew.next_step(belief, state=READY, last=None, refused=everything) is None


def test_a_mark_that_a_second_look_does_not_show_accuses_no_part(smew: Diagnosis) -> None:
    well = [seen("pack + to pack -", 7.6), seen("lamp + to lamp -", 7.5)]
    looks = [light(READY, "dark"), light(READY, "bright")]
    overruled = smew.verdict(smew.belief([*looks, *well]), None)
    insisted = smew.verdict(smew.belief([*reversed(looks), *well]), None)
    assert overruled.outcome is Outcome.HEALTHY
    assert insisted.outcome in (Outcome.SOLE, Outcome.GROUP)


def test_the_only_answer_that_speaks_for_a_fault_is_asked_for_again_before_a_part_is_named(
    smew: Diagnosis,
) -> None:
    alone: list[Evidence] = [DARK]
    belief = smew.belief(alone)
    assert lone(belief, smew.is_amiss) == 0
    assert misfit(smew.table, belief) is None
    step = smew.next_step(belief, state=READY, last=None, refused=every_step(smew, belief) - {DARK.asked})
    assert step is not None
    assert step.query == DARK.asked
    assert "once more" in smew.explain(step, belief)
    twice = smew.belief([DARK, DARK])
    assert lone(twice, smew.is_amiss) is None


def test_what_stands_beside_another_amiss_answer_is_not_alone(smew: Diagnosis) -> None:
    assert lone(smew.belief([DARK, seen("fuse out to pack -", 0.0)]), smew.is_amiss) is None


def test_a_doubt_is_not_followed_into_a_state_that_is_not_on_offer(smew: Diagnosis) -> None:
    elsewhere = rest_state(smew.network.boat)
    belief = smew.belief([DARK])
    offers = smew.offers((elsewhere,)).all(field_of(smew.table, belief), READY, None)
    refused = frozenset(offer.what for offer in offers)
    step = smew.next_step(belief, state=READY, last=None, refused=refused, states=(elsewhere,))
    assert step is None


def test_an_answer_repeated_multiplies_no_certainty_but_makes_a_slip_unlikely(smew: Diagnosis) -> None:
    low = seen("lamp + to lamp -", 5.4)
    once, often = smew.belief([low]), smew.belief([low, low, low])
    fits = once.factors[0] > 100.0 * MISREAD * once.unknown_factors[0]
    assert fits.sum() > 10
    assert often.factors.prod(axis=0)[fits] == pytest.approx(once.factors[0][fits], rel=0.05)
    healthy = smew.table.cells.owner == 0
    assert often.cells[healthy].sum() < 0.01 * once.cells[healthy].sum()
