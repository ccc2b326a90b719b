"""Bands: their names, and that they hold what they promise on boats they have not seen."""

from collections.abc import Iterator
from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.circuit import (
    CHEAP_METER,
    BoatState,
    MeterFunction,
    Variant,
    build_network,
    half_width,
    make_solver,
    ready_state,
    volts_shown,
)
from assistant.circuit.expectation import Band, BandName, band_of
from assistant.wiring import Boat, Point
from tests.support.boats import example_boats

Array = NDArray[np.float64]

BAND = Band(typical=11.1, low=10.5, high=11.7)
BOATS = 1000
FOR_BAND = 400


@pytest.mark.parametrize(
    ("value", "name"),
    [
        (11.1, BandName.AS_EXPECTED),
        (10.5, BandName.AS_EXPECTED),
        (10.4, BandName.LOW),
        (0.6, BandName.LOW),
        (0.5, BandName.NONE),
        (-0.5, BandName.NONE),
        (12.0, BandName.HIGH),
        (-11.1, BandName.REVERSED),
        (np.inf, BandName.HIGH),
    ],
)
def test_names_around_a_positive_value(value: float, name: BandName) -> None:
    assert BAND.name(value) is name
    mirrored = Band(typical=-BAND.typical, low=-BAND.high, high=-BAND.low)
    assert mirrored.name(-value) is name


def test_nothing_expected_and_something_read() -> None:
    nothing = Band(typical=0.0, low=-0.001, high=0.001)
    assert nothing.name(0.0) is BandName.AS_EXPECTED
    assert nothing.name(0.01) is BandName.NONE
    assert nothing.name(5.0) is BandName.HIGH
    assert nothing.name(-5.0) is BandName.REVERSED


def test_open_circuit_on_all_boats_expects_over_limit() -> None:
    band = band_of(np.full(5, np.inf), MeterFunction.OHMS, CHEAP_METER)
    assert band.holds(np.inf)
    assert not band.holds(1e6)


def test_slack_widens_by_shares_of_the_half_width() -> None:
    assert not BAND.holds(11.9)
    assert BAND.holds(11.9, slack=0.5)
    assert not BAND.holds(12.1, slack=0.5)


def test_exact_boats_leave_the_meters_own_uncertainty() -> None:
    band = band_of(np.full(10, 11.1), MeterFunction.DC_VOLTS, CHEAP_METER)
    width = float(half_width(CHEAP_METER, MeterFunction.DC_VOLTS, np.array(11.1)))
    assert 11.1 - band.low == pytest.approx(0.99 * width, rel=1e-3)
    assert band.high - 11.1 == pytest.approx(0.99 * width, rel=1e-3)


STATES: dict[str, tuple[dict[str, float], ...]] = {
    "dabchick": ({}, {"throttle": 1.0}, {"throttle": -1.0}, {"helm": 1.0}),
    "grebe": ({}, {"power": 1.0}, {"power": 1.0, "throttle": 1.0}),
}
POINTS = {
    "dabchick": (
        "pack.+",
        "fuse.out",
        "switch.out",
        "drive.+",
        "drive.A",
        "pump.+",
        "receiver.3+",
        "rudder.s",
    ),
    "grebe": (
        "pack.+",
        "feed.x",
        "bus.x",
        "step-down.out",
        "port-drive.A",
        "starboard-pump.-",
        "receiver.1s",
        "lights.x",
    ),
}


def readings(
    boat: Boat, points: tuple[str, ...], state: BoatState, draws: int
) -> tuple[Array, NDArray[np.bool_]]:
    """Return what a perfect meter shows, nominal boat first, and which boats are settled.

    Readings are from each point to the pack's negative, then from each to the next.
    """
    network = build_network(boat)
    solver = make_solver(network)
    variants = [Variant(draw=d) for d in range(1 + draws)]
    solution = solver.solve(state, variants, draws=draws)
    assert not solution.failed.any()
    nodes = [network.node(Point(part=p.rsplit(".", 1)[0], terminal=p.rsplit(".", 1)[1])) for p in points]
    red = np.array([*nodes, *nodes[:-1]])
    black = np.array([len(network.nodes) - 1] * len(nodes) + nodes[1:])
    mean = 0.5 * (solution.phase.volts + solution.other.volts)
    hold = solver.hold(solution, variants[:1], np.array([0])).between(red, black, np.array([0]))
    settled = np.asarray(~solution.restless.any(axis=0))
    return volts_shown(mean[red] - mean[black], hold, CHEAP_METER), settled


def shares(name: str) -> Iterator[tuple[float, float]]:
    """Yield for each reading the share of unseen boats inside the band, and inside a band two thirds as wide."""
    boat = example_boats()[name]
    chance = np.random.default_rng(20)
    for sticks in STATES[name]:
        state = ready_state(boat).with_(sticks)
        known, _ = readings(boat, POINTS[name], state, FOR_BAND)
        unseen, settled = readings(boat, POINTS[name], state, FOR_BAND + BOATS)
        assert settled.all()
        for for_band, values in zip(known, unseen[:, 1 + FOR_BAND :], strict=True):
            band = band_of(for_band, MeterFunction.DC_VOLTS, CHEAP_METER)
            error = half_width(CHEAP_METER, MeterFunction.DC_VOLTS, values) * chance.uniform(
                -1.0, 1.0, len(values)
            )
            shown = values + error
            inside = np.mean([band.low <= v <= band.high for v in shown])
            middle, narrow = 0.5 * (band.low + band.high), (band.high - band.low) / 3.0
            yield float(inside), float(np.mean(np.abs(shown - middle) <= narrow))


@pytest.mark.parametrize("name", STATES)
def test_bands_hold_99_of_100_unseen_boats_and_no_more(name: str) -> None:
    found = np.array(list(shares(name)))
    inside, narrow = found.mean(axis=0)
    print(
        f"{name}: {len(found)} readings on {BOATS} boats, inside {inside:.4f}, two thirds as wide {narrow:.4f}"
    )
    assert 0.985 <= inside <= 0.997
    assert narrow < 0.95
    assert found[:, 0].min() > 0.96


def test_unseen_boats_are_others_than_those_of_the_band() -> None:
    boat = example_boats()["dabchick"]
    known, _ = readings(boat, POINTS["dabchick"], ready_state(boat), 20)
    unseen, _ = readings(boat, POINTS["dabchick"], ready_state(boat), 60)
    for one, other in product(known[0, 1:], unseen[0, 21:]):
        assert one != other
