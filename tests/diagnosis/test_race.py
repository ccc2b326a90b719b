"""Who wins a race of steps, and who is left out of it."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from assistant.circuit import BoatState
from assistant.diagnosis import SignQuery
from assistant.diagnosis.race import LEAST_BITS, Offer, Race

OFFERS = st.lists(
    st.tuples(st.sampled_from([0.05, 0.1, 0.5, 1.0, 1.5]), st.sampled_from([5.0, 25.0, 75.0])), max_size=8
)


def offer(number: int, gain_bits: float, seconds: float) -> Offer:
    return Offer(SignQuery(part=str(number), sign="light", state=BoatState.of({})), gain_bits, seconds)


@given(OFFERS, st.randoms(use_true_random=False))
def test_the_first_of_the_best_wins_in_whatever_order_they_come(
    drawn: list[tuple[float, float]], random: np.random.Generator
) -> None:
    offers = [offer(n, *one) for n, one in enumerate(drawn)]
    worth = [one for one in offers if one.gain_bits >= LEAST_BITS]
    race = Race(most_bits=2.0)
    order = list(range(len(offers)))
    random.shuffle(order)
    for number in order:
        race.enter_one(offers[number], 0, number)
    assert race.best == max(worth, key=lambda one: one.rate, default=None)


@given(OFFERS, st.floats(0.0, 2.0), st.floats(0.0, 100.0))
def test_nobody_is_left_out_who_could_have_won(
    drawn: list[tuple[float, float]], gain_bits: float, seconds: float
) -> None:
    race = Race(most_bits=gain_bits)
    race.enter(offer(n, *one) for n, one in enumerate(drawn))
    late = offer(-1, gain_bits, seconds)
    wins = gain_bits >= LEAST_BITS and (race.best is None or late.rate > race.best.rate)
    assert race.is_open(seconds) or not wins


@given(OFFERS, st.sampled_from([0.8, 0.9, 1.0]), st.randoms(use_true_random=False))
def test_all_that_are_nearly_as_good_are_kept_the_best_first(
    drawn: list[tuple[float, float]], nearly: float, random: np.random.Generator
) -> None:
    offers = [offer(n, *one) for n, one in enumerate(drawn)]
    order = list(range(len(offers)))
    random.shuffle(order)
    race = Race(most_bits=2.0, nearly=nearly)
    for number in order:
        if race.is_open(offers[number].seconds):
            race.enter_one(offers[number], number)
    worth = [one for one in offers if one.gain_bits >= LEAST_BITS]
    best = max((one.rate for one in worth), default=0.0)
    assert race.close() == tuple(
        sorted((one for one in worth if one.rate >= nearly * best), key=lambda one: -one.rate)
    )
    assert race.best == next(iter(race.close()), None)
