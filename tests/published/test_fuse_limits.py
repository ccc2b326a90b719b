"""How long fuses last, against the limits of their standards."""

from collections.abc import Mapping
from itertools import pairwise
from math import inf

import pytest

from assistant.catalogue import nominal_values
from assistant.circuit import Fault, Opening, Variant, build_network, make_solver, opening_of, ready_state
from tests.support.boats import example_boats, read_catalogue

KINDS = read_catalogue().kinds


def opening(kind: str, given: Mapping[str, float], amps: float) -> Opening:
    found = opening_of(KINDS[kind], nominal_values(KINDS[kind], given), amps)
    assert found is not None
    return found


@pytest.mark.parametrize("rating_a", [3.0, 10.0, 30.0])
@pytest.mark.parametrize(
    ("percent", "soonest_s", "latest_s"),
    [
        (110, 360_000.0, inf),  # m
        (135, 0.75, 600.0),  # s
        (160, 0.25, 50.0),  # m
        (200, 0.15, 5.0),  # s
        (350, 0.08, 0.5),  # s
        (600, 0.0, 0.15),  # s
    ],
)
def test_blade_fuses_by_iso_8820_3(
    rating_a: float, percent: float, soonest_s: float, latest_s: float
) -> None:
    found = opening("blade fuse", {"rating_a": rating_a}, percent / 100.0 * rating_a)
    assert found.soonest_s >= 0.995 * soonest_s
    assert found.latest_s == pytest.approx(latest_s, rel=0.005)


@pytest.mark.parametrize(
    ("percent", "soonest_s", "latest_s"),
    [(150, 3600.0, inf), (210, 0.0, 1800.0), (275, 0.01, 2.0), (400, 0.003, 0.3), (1000, 0.0, 0.02)],
)
def test_quick_glass_fuses_by_iec_60127_2(percent: float, soonest_s: float, latest_s: float) -> None:
    """IEC 60127-2, quick-acting 5 x 20 mm fuses (m)."""
    found = opening("glass fuse", {"rating_a": 2.0}, percent / 100.0 * 2.0)
    assert found.soonest_s >= 0.995 * soonest_s
    assert found.latest_s == pytest.approx(latest_s, rel=0.005)


def test_resettable_fuses_hold_their_hold_current_and_trip_at_twice() -> None:
    """Data sheets of radial types (m)."""
    assert opening("resettable fuse", {"hold_a": 1.0}, 1.0).latest_s == inf
    assert opening("resettable fuse", {"hold_a": 1.0}, 2.0).latest_s <= 600.0
    assert 1.0 <= opening("resettable fuse", {"hold_a": 1.0}, 5.0).latest_s <= 15.5


def test_more_current_never_opens_later() -> None:
    for kind, given in (
        ("blade fuse", "rating_a"),
        ("glass fuse", "rating_a"),
        ("resettable fuse", "hold_a"),
    ):
        found = [opening(kind, {given: 5.0}, 0.5 * n) for n in range(1, 140)]
        for before, after in pairwise(found):
            assert after.soonest_s <= before.soonest_s
            assert after.latest_s <= before.latest_s
        assert all(one.soonest_s <= one.latest_s for one in found)


def test_what_is_no_fuse_has_no_such_time() -> None:
    assert opening_of(KINDS["toggle switch"], {"rating_a": 5.0}, 50.0) is None


@pytest.mark.parametrize(
    ("boat", "fault", "fuse", "longest_s"),
    [
        ("dabchick", Fault("pump", "stalled"), "fuse", 100.0),  # 23 A through 15 A: half as much again
        ("grebe", Fault("mast-lamp", "short"), "light-fuse", 0.15),  # the leads alone stand in between
        ("dabchick", Fault("rudder", "shorted", 0.5), "fuse", inf),  # the regulator's limit stands in between
    ],
)
def test_which_fault_blows_the_fuse_and_in_what_time(
    boat: str, fault: Fault, fuse: str, longest_s: float
) -> None:
    described = example_boats()[boat]
    network = build_network(described)
    state = ready_state(described).with_({"throttle": 1.0, "power": 1.0})
    solution = make_solver(network).solve(state, [Variant(faults=(fault,))])
    (link,) = [n for n in network.elements_of(fuse) if network.elements[n].name == "link"]
    amps = max(abs(float(phase.amps[link, 0])) for phase in (solution.phase, solution.other))
    found = opening("blade fuse", described.parts[fuse].given, amps)
    assert found.latest_s <= longest_s
    assert (found.latest_s == inf) is (longest_s == inf)
