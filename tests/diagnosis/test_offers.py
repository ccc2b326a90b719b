"""What is on offer, what it costs, and that the best of it is taken."""

import pytest

from assistant.catalogue import Look
from assistant.diagnosis import SignQuery
from assistant.diagnosis.belief import believe
from assistant.diagnosis.choose import field_of
from assistant.diagnosis.costs import look_seconds, state_seconds
from assistant.diagnosis.model import Wiggle
from assistant.diagnosis.race import LEAST_BITS
from tests.diagnosis.boats import SMEW, diagnosis_of, ready, unplugged

SMEW_NOW = diagnosis_of(SMEW)
OFFERS = SMEW_NOW.offers((ready(SMEW), unplugged(SMEW)))
FIELD = field_of(SMEW_NOW.table, believe(SMEW_NOW.table, ()))


def test_a_look_costs_the_way_to_its_boat_state_and_the_looking() -> None:
    boat = SMEW_NOW.table.solver.network.boat
    looks = 0
    for offer in OFFERS.all(FIELD, ready(SMEW), None):
        if isinstance(offer.what, SignQuery):
            looks += 1
            look: Look = boat.parts[offer.what.part].kind.signs[offer.what.sign].look
            moving = state_seconds(boat, ready(SMEW), offer.what.state)
            assert offer.seconds == moving + look_seconds(look) > moving
    assert looks > 1


def test_the_same_step_taken_again_is_worth_and_costs_the_same() -> None:
    worth = 0
    for offer in OFFERS.all(FIELD, ready(SMEW), None):
        assert not isinstance(offer.what, Wiggle)
        again = OFFERS.again(offer.what, FIELD, ready(SMEW), None)
        assert again.seconds == offer.seconds
        if offer.gain_bits >= LEAST_BITS:
            worth += 1
            assert again.gain_bits == pytest.approx(offer.gain_bits)
        else:
            assert again.gain_bits < LEAST_BITS
    assert worth


def test_the_best_tells_most_a_second_of_all_that_tell_enough() -> None:
    enough = [o for o in OFFERS.all(FIELD, ready(SMEW), None) if o.gain_bits >= LEAST_BITS]
    best = OFFERS.best(FIELD, ready(SMEW), None)
    assert best is not None
    assert best.rate == max(offer.rate for offer in enough)
