"""Further functions of a meter against worked values."""

import math

import numpy as np
import pytest

from assistant.circuit import CHEAP_METER, MeterProfile, diode_volts
from tests.support.bench import Bench, diode, resistor

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
