"""Families of causes, drawn half way towards how often they were reported."""

from math import sqrt

import pytest

from assistant.circuit import Network, build_network
from assistant.diagnosis.families import MOST, REPORTED, Family, family_factors, family_of
from assistant.diagnosis.hypotheses import single_faults
from tests.dialogue.boats import boat


def shares_of(network: Network) -> dict[Family, float]:
    """Return the prior share of each reported family among the faults of these families."""
    found: dict[Family, float] = {}
    for hypothesis in single_faults(network):
        for mode in hypothesis.modes:
            kind = network.parts[mode.part].kind
            family = family_of(kind, kind.faults[mode.mode])
            if family in REPORTED:
                found[family] = found.get(family, 0.0) + hypothesis.weight
    return {family: share / sum(found.values()) for family, share in found.items()}


def test_the_factor_is_the_root_of_reported_over_own_share() -> None:
    factors = family_factors([Family.CONTACT, Family.SERVO, Family.OTHER], [3.0, 1.0, 5.0])
    servo = REPORTED[Family.SERVO] / (REPORTED[Family.SERVO] + REPORTED[Family.CONTACT])
    assert factors[Family.SERVO] == pytest.approx(sqrt(servo / 0.25))
    assert Family.OTHER not in factors


def test_no_family_is_moved_by_more_than_the_limit() -> None:
    factors = family_factors([Family.CONTACT, Family.CONNECTION], [1000.0, 1.0])
    assert factors[Family.CONNECTION] == MOST
    factors = family_factors([Family.CONTACT, Family.WATER], [1.0, 1000.0])
    assert factors[Family.WATER] == 1.0 / MOST


@pytest.mark.parametrize("name", ["dabchick", "grebe"])
def test_the_commonest_families_are_those_reported(name: str) -> None:
    """Joints first and alone far in front; a wrong connection is no rarity any more."""
    shares = shares_of(build_network(boat(name)))
    ranked = sorted(shares, key=lambda family: -shares[family])
    assert ranked[0] is Family.CONTACT
    assert 0.3 < shares[Family.CONTACT] < 0.65
    assert shares[Family.CONNECTION] > 0.04
    assert shares[Family.SUPPLY] < 0.25
