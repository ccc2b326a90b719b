"""Further functions of a meter against worked values."""

import math

import numpy as np
import pytest

from assistant.circuit import (
    CHEAP_METER,
    CurrentRange,
    MeterProfile,
    Variant,
    amps_shown,
    around_ohm,
    build_network,
    diode_volts,
    make_solver,
    pulses_shown,
    ready_state,
)
from assistant.circuit.batch import make_batch
from assistant.wiring import Point, load_boat
from tests.support.bench import Bench, diode, resistor
from tests.support.boats import ROOT, read_catalogue

ONE = np.zeros(1, dtype=np.intp)


def test_a_battery_behind_a_resistor_on_a_diode() -> None:
    """12 V, 470 ohm, saturation 1e-14 A at 300.15 K: 0.7372786 V (c, solved by hand and by another simulator)."""
    thermal_v = 1.380649e-23 * 300.15 / 1.602176634e-19
    point_a = 1e-14 * math.expm1(0.7 / thermal_v)
    bench = Bench.of(d=diode("b", "0", 0.7, point_a, thermal_v), r=resistor("b", "0", 1e9))
    meter = MeterProfile(
        functions=CHEAP_METER.functions, diode_open_v=12.0, diode_a=12.0 / 470.0, diode_largest_v=13.0
    )
    hold = bench.solver.hold(bench.solution, [bench.variant], ONE)
    probes = (bench.node("b"), bench.node("0"))
    shown = diode_volts(bench.network, hold, ONE, [bench.variant], probes, meter)
    # The two leads of the bench are in the way: 0.06 milliohm at 24 mA.
    assert shown[0] == pytest.approx(0.7372786, abs=3e-6)


def test_the_current_of_a_diode_test_is_that_of_the_data_sheets() -> None:
    """1 to 1.5 mA (data sheets of hand-held meters, s): volts over a known small resistor tell it."""
    bench = Bench.of(r=resistor("b", "0", 10.0))
    hold = bench.solver.hold(bench.solution, [bench.variant], ONE)
    probes = (bench.node("b"), bench.node("0"))
    amps = diode_volts(bench.network, hold, ONE, [bench.variant], probes, CHEAP_METER)[0] / 10.0
    assert 0.99e-3 < amps < 1.5e-3


@pytest.mark.parametrize(("ohm", "amps"), [(0.0, 3.0), (0.5, 2.0), (1.0, 1.5)])
def test_burden_in_series_with_a_source_and_a_load(ohm: float, amps: float) -> None:
    """Ohm's law: 3 V behind 0.25 ohm on 0.75 ohm carry 3 A; the ohms of a meter in the lead add to them (c)."""
    burden = CurrentRange(full_a=10.0, ohm=max(ohm, 1e-9), fuse_a=10.0)
    meter = MeterProfile(functions=CHEAP_METER.functions, currents=(burden,))
    gap, loop = np.array(1e-6), np.array(1.0)
    between = 1.0 / (1.0 / gap + 1.0 / loop)
    shown = amps_shown(np.array(3.0), around_ohm(between, gap), gap, meter)
    told = amps if amps >= 0.8 * 3.0 else math.nan  # beyond a fifth the program says nothing
    assert shown == pytest.approx(told, rel=1e-5, nan_ok=True)


def test_the_burden_of_a_cheap_meter_is_that_of_the_data_sheets() -> None:
    """About 1 ohm in a mA range (s); 0.01 ohm and leads of 0.03 to 0.1 ohm in the 10 A range (m)."""
    small, large = CHEAP_METER.currents
    assert small.ohm == pytest.approx(1.0, rel=0.1)
    assert 0.01 + 0.03 <= large.ohm <= 0.01 + 0.1


@pytest.mark.parametrize(
    ("logic_v", "helm", "mean_v"),
    [
        (3.3, -1.0, 0.165),
        (3.3, 0.0, 0.248),
        (3.3, 1.0, 0.330),
        (5.0, -1.0, 0.250),
        (5.0, 0.0, 0.375),
        (5.0, 1.0, 0.500),
    ],
)
def test_mean_of_a_servo_signal_on_dc_volts(logic_v: float, helm: float, mean_v: float) -> None:
    """1.0, 1.5 and 2.0 ms of 20 ms at 3.3 V: 165, 248, 330 mV; at 5 V: 250, 375, 500 mV (c)."""
    text = (ROOT / "cases" / "dabchick.yaml").read_text(encoding="utf-8")
    text = text.replace("receiver: {kind: receiver}", f"receiver: {{kind: receiver, logic: {logic_v} V}}")
    network = build_network(load_boat(text, "dabchick.yaml", read_catalogue()))
    state = ready_state(network.boat).with_({"helm": helm})
    volts = make_solver(network).solve(state, [Variant()]).phase.volts[:, 0]
    signal, minus = (network.node(Point(part="receiver", terminal=name)) for name in ("1s", "1-"))
    # The input of the servo, 47 kilohm, takes a hundredth of it behind the 470 ohm of the receiver.
    assert volts[signal] - volts[minus] == pytest.approx(mean_v * 47.0 / 47.47, rel=5e-3)


@pytest.mark.parametrize(("helm", "duty"), [(-1.0, 0.05), (0.0, 0.075), (1.0, 0.1)])
def test_duty_and_rate_of_a_servo_signal(helm: float, duty: float) -> None:
    """1.0, 1.5 and 2.0 ms fifty times a second (pulses p, 50 Hz with the means above c): 5, 7.5 and 10 %, 50 Hz (c)."""
    text = (ROOT / "cases" / "dabchick.yaml").read_text(encoding="utf-8")
    network = build_network(load_boat(text, "dabchick.yaml", read_catalogue()))
    solver, variants = make_solver(network), [Variant()]
    state = ready_state(network.boat).with_({"helm": helm})
    solution = solver.solve(state, variants)
    red, black = (np.array([network.node(Point(part="receiver", terminal=name))]) for name in ("1s", "1-"))
    batch, hold = make_batch(network, variants, draws=0), solver.hold(solution, variants, ONE)
    seen = pulses_shown(batch, state, solution.phase.conditions, hold, ONE, (red, black), CHEAP_METER)
    assert seen.duty[0, 0] == pytest.approx(duty)
    assert seen.rate_hz[0, 0] == pytest.approx(50.0)
