"""AC millivolts on a rail, against circuits worked out by hand."""

import math

import numpy as np
import pytest

from assistant.circuit import (
    CHEAP_METER,
    Fault,
    Variant,
    build_network,
    make_solver,
    ready_state,
    ripple_shown,
)
from assistant.circuit.expectation import band_of
from assistant.circuit.meter import MeterFunction
from assistant.wiring import Point, load_boat
from tests.support.boats import ROOT, read_catalogue

ONE = np.zeros(1, dtype=np.intp)
PLAIN = """\
boat: Smew
parts:
  pack: {kind: nimh pack, cells: 6, capacity: 3.3 Ah}
  sounder: {kind: depth sounder}
  pump: {kind: pump motor, rated: 7.2 V at 6 A, stall: 28 A}
runs:
  - [pack +, 14 AWG 15 cm soldered, sounder +]
  - [sounder +, 14 AWG 15 cm soldered, pump +]
  - [pack -, 14 AWG 15 cm soldered, sounder -]
  - [sounder -, 14 AWG 15 cm soldered, pump -]
"""


def rail(text: str, part: str, settings: dict[str, float], *faults: Fault) -> tuple[float, float, float]:
    """Return AC volts over what feeds a part, the current of the pump and its speed."""
    boat = load_boat(text, "boat.yaml", read_catalogue())
    solver = make_solver(build_network(boat))
    variants = [Variant(faults=faults)]
    solution = solver.solve(ready_state(boat).with_(settings), variants)
    hold = solver.hold(solution, variants, ONE)
    probes = tuple(np.array([solver.network.node(Point(part=part, terminal=t))]) for t in "+-")
    phases = (solution.phase, solution.other)
    shown = ripple_shown(solver.network, phases, hold, ONE, (probes[0], probes[1]), CHEAP_METER)
    (winding,) = [
        i for i in solver.network.elements_of("pump") if solver.network.elements[i].name == "winding"
    ]
    return float(shown[0, 0]), float(solution.phase.amps[winding, 0]), float(solution.phase.speed[winding, 0])


def test_a_tenth_of_the_motor_current_drops_over_what_feeds_the_rail() -> None:
    """A bad joint of 0.1 ohm before the rail: a tenth of the amps, less what 400 Hz leave, over 0.1 ohm more (c)."""
    place = "pack.+--sounder.+@1"
    clean, _, _ = rail(PLAIN, "sounder", {})
    worse, amps, speed = rail(PLAIN, "sounder", {}, Fault(place, "poor", 0.1))
    passed = 1.0 / math.hypot(1.0, 1000.0 * speed / 400.0)
    source = 0.1 * amps * min(speed, 1.0) * passed
    # The motor itself, some half an ohm, lies beside what feeds it and keeps part of its own ripple.
    assert 0.5 * source * 0.1 < worse - clean < source * 0.1


def test_a_motor_that_stands_still_makes_none() -> None:
    assert rail(PLAIN, "sounder", {}, Fault("pump", "stalled"))[0] == pytest.approx(0.0, abs=1e-9)


def test_a_drive_chops_at_half_stick_and_not_at_full() -> None:
    """At full stick nothing is chopped, so what is left comes from the brushes alone."""
    text = (ROOT / "cases" / "dabchick.yaml").read_text(encoding="utf-8")
    full, amps, speed = rail(text, "drive", {"throttle": 1.0})
    half, _, _ = rail(text, "drive", {"throttle": 0.5})
    assert half > 0.0
    assert rail(text, "drive", {"throttle": 0.0})[0] == pytest.approx(0.0, abs=1e-9)
    assert full < 0.1 * amps * speed


def test_the_band_is_open_towards_nothing_and_wide_towards_much() -> None:
    band = band_of(np.array([0.010, 0.012]), MeterFunction.AC_MILLIVOLTS, CHEAP_METER)
    assert (band.typical, band.low) == (0.010, 0.0)
    assert 0.1 < band.high < 0.3
