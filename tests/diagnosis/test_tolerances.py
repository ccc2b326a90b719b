"""Readings that share the tolerances of one boat, against the normal distribution of all of them at once."""

from dataclasses import replace
from itertools import permutations, product

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.diagnosis.tolerances import KERNEL, Sight, sighted, ways_of

Array = NDArray[np.float64]

DRAWS = np.array(
    [
        [[12.2, 11.9, 11.9, 12.1]],
        [[0.04, 0.02, 0.03, -0.05]],
        [[0.041, 0.022, 0.028, -0.05]],
        [[4.9, 5.1, 5.0, 5.0]],
    ]
)
"""What four readings show on the four draws of one cell."""

NOISE = (0.05, 0.004, 0.004, 0.04)


def sight(number: int, value: float, *, slip: float = 1e-9) -> Sight:
    values = DRAWS[number]
    return Sight(
        value=value,
        low=values,
        high=values,
        ways=ways_of(values),
        sigma=np.full_like(values, NOISE[number]),
        slip=slip,
        wide=0.03,
        blind=np.zeros(values.shape, dtype=np.bool_),
    )


def normal_log(values: Array, mean: Array, covariance: Array) -> float:
    off = values - mean
    inner = off @ np.linalg.solve(covariance, off)
    return float(-0.5 * (inner + np.linalg.slogdet(2.0 * np.pi * covariance)[1]))


@pytest.mark.parametrize("values", [(12.0, 0.01, 0.012, 5.0), (12.6, -0.05, -0.046, 4.95)])
def test_without_slips_it_is_the_normal_distribution_with_the_covariance_of_the_draws(
    values: tuple[float, ...],
) -> None:
    found = sighted([sight(n, value) for n, value in enumerate(values)])
    flat = DRAWS[:, 0]
    covariance = KERNEL**2 * np.cov(flat, bias=True) + np.diag(np.square(NOISE))
    for draw in range(4):
        by_hand = normal_log(np.array(values), flat[:, draw], covariance)
        assert found.logs[0, draw] == pytest.approx(by_hand, abs=1e-3)
        for n in range(4):
            others = [i for i in range(4) if i != n]
            rest = normal_log(
                np.array(values)[others], flat[others, draw], covariance[np.ix_(others, others)]
            )
            assert np.log(found.factors[n, 0, draw]) == pytest.approx(by_hand - rest, abs=1e-2)


def test_what_a_reading_told_another_of_the_same_does_not_tell_again() -> None:
    """The two drops are one current twice: the second is foretold by the first to a few millivolts."""
    both = sighted([sight(1, 0.01), sight(2, 0.012)])
    alone = sighted([sight(2, 0.012)])
    assert (both.factors[1] > 3.0 * alone.factors[0].max()).any()
    fresh = DRAWS.std(axis=2)[2, 0]
    left = np.sqrt(alone_ways() @ both.place.spread[0] @ alone_ways())
    assert left < 0.15 * fresh


def alone_ways() -> Array:
    """Return the directions of the third reading."""
    first: Array = ways_of(DRAWS[2])[0]
    return first


def test_order_changes_nothing() -> None:
    sights = [sight(n, value, slip=0.02) for n, value in enumerate((12.6, 0.01, 0.6, 5.0))]
    first = sighted(sights)
    for order in permutations(range(4)):
        other = sighted([sights[i] for i in order])
        assert other.logs == pytest.approx(first.logs, rel=1e-9)
        assert other.factors == pytest.approx(first.factors[list(order)], rel=1e-9)


def test_a_slip_neither_drags_the_tolerances_nor_rules_a_story_out() -> None:
    well = sighted([sight(0, 12.1, slip=0.02), sight(3, 5.0, slip=0.02)])
    slipped = sighted([sight(0, 12.1, slip=0.02), sight(3, 5.0, slip=0.02), sight(1, 7.0, slip=0.02)])
    assert slipped.place.middle == pytest.approx(well.place.middle, abs=0.05)
    assert slipped.logs == pytest.approx(well.logs + np.log(0.02 * 0.03), abs=0.05)


HEALTHY = np.array(
    [[12.2, 11.9, 11.9, 12.1], [8.0, 7.9, 7.9, 8.1], [0.041, 0.022, 0.028, -0.05], [4.9, 5.1, 5.0, 5.0]]
)
"""What the four readings show while the fault is away; only the second tells of it."""


@pytest.mark.parametrize(
    "values",
    [(12.0, 0.01, 0.012, 5.0), (12.3, 8.05, -0.046, 4.95), (12.0, 7.95, 0.03, 5.0), (12.1, 0.0, 0.03, 5.0)],
)
@pytest.mark.parametrize("there", [0.2, 0.8])
def test_what_comes_and_goes_is_the_mean_over_all_that_may_have_been_there_at_each_reading(
    values: tuple[float, ...], there: float
) -> None:
    """Two cells: the healthy one, and one whose fault is there for a share of the time."""
    sights = []
    for n, value in enumerate(values):
        both = np.stack([HEALTHY[n], DRAWS[n, 0]])
        sights.append(
            replace(
                sight(n, value),
                low=both,
                high=both,
                ways=ways_of(both),
                sigma=np.full_like(both, NOISE[n]),
                blind=np.zeros(both.shape, dtype=np.bool_),
            )
        )
    found = sighted(sights, np.array([1.0, there]), 0)
    for draw in range(4):
        whole = 0.0
        for at in product((False, True), repeat=4):
            flat = np.array([DRAWS[n, 0] if here else HEALTHY[n] for n, here in enumerate(at)])
            covariance = KERNEL**2 * np.cov(flat, bias=True) + np.diag(np.square(NOISE))
            chance = np.prod([there if here else 1.0 - there for here in at])
            whole += float(chance * np.exp(normal_log(np.array(values), flat[:, draw], covariance)))
        assert found.logs[1, draw] == pytest.approx(np.log(whole), abs=0.02)
    shuffled = sighted(sights[::-1], np.array([1.0, there]), 0)
    assert shuffled.logs == pytest.approx(found.logs)
    alone = sighted(sights)
    assert found.logs[0] == pytest.approx(alone.logs[0])
