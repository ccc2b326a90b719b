"""The laws of the primitives: values at known points, and slopes against differences."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from assistant.circuit import devices

Array = NDArray[np.float64]


def array(value: float) -> Array:
    return np.array(value)


MOTOR = {
    "ohm": array(0.25),
    "idle_a": array(1.0),
    "rated_v": array(7.2),
    "rated_a": array(6.0),
    "load": array(1.0),
}
CURVES: dict[str, tuple[Callable[[Array], tuple[Array, ...]], float, float]] = {
    "diode": (lambda v: devices.diode_current(v, array(0.9), array(3.0), array(0.045)), -3.0, 1.1),
    "motor": (lambda v: devices.motor_current(v, **MOTOR), -12.0, 12.0),
    "dragging motor": (lambda v: devices.motor_current(v, **MOTOR | {"load": array(4.0)}), -12.0, 12.0),
    "stalled motor": (lambda v: devices.motor_current(v, **MOTOR | {"load": array(1e6)}), -12.0, 12.0),
    "draw": (lambda v: devices.draw_current(v, array(0.2), array(3.0)), -2.0, 6.0),
    "regulator output": (lambda a: devices.regulator_output(a, array(2.0)), -1.0, 3.0),
    "regulator target": (lambda v: devices.regulator_target(v, array(5.0), array(0.5)), -1.0, 12.0),
}
NUDGE = 1e-7
CORNERS = {"draw": (1.5, 3.0), "motor": (-0.25, 0.25), "dragging motor": (-1.0, 1.0)}


@pytest.mark.parametrize("name", CURVES)
@given(share=st.floats(0.0, 1.0))
def test_slope_is_that_of_the_curve(name: str, share: float) -> None:
    curve, low, high = CURVES[name]
    x = low + share * (high - low)
    if any(abs(x - corner) < 1e-5 for corner in CORNERS.get(name, ())):
        return
    slope = (curve(array(x + NUDGE))[0] - curve(array(x - NUDGE))[0]) / (2 * NUDGE)
    assert float(curve(array(x))[1]) == pytest.approx(float(slope), rel=1e-3, abs=1e-4)


@given(st.floats(-20.0, 20.0), st.floats(0.0, 10.0))
def test_motor_is_odd_and_splits_its_volts(volts: float, load: float) -> None:
    amps, _, emf = devices.motor_current(array(volts), **MOTOR | {"load": array(load)})
    back, _, _ = devices.motor_current(array(-volts), **MOTOR | {"load": array(load)})
    assert float(back) == pytest.approx(-float(amps))
    assert float(amps * MOTOR["ohm"] + emf) == pytest.approx(volts, abs=1e-9)


def test_motor_at_its_rating_and_held_fast() -> None:
    amps, _, emf = devices.motor_current(array(7.2), **MOTOR)
    assert float(amps) == pytest.approx(6.0)
    assert float(
        devices.motor_speed(emf, *(MOTOR[k] for k in ("ohm", "rated_v", "rated_a")))
    ) == pytest.approx(1.0)
    stalled, _, still = devices.motor_current(array(7.2), **MOTOR | {"load": array(1e6)})
    assert float(stalled) == pytest.approx(7.2 / 0.25)
    assert float(still) == 0.0


def test_diode_passes_its_point_and_blocks() -> None:
    at = devices.diode_current(array(0.9), array(0.9), array(3.0), array(0.045))[0]
    back = devices.diode_current(array(-12.0), array(0.9), array(3.0), array(0.045))[0]
    assert float(at) == pytest.approx(3.0)
    assert -1e-6 < float(back) < 0.0


def test_draw_takes_all_above_its_least_and_nothing_below_half_of_it() -> None:
    amps, _ = devices.draw_current(np.array([-5.0, 1.5, 2.25, 3.0, 9.0]), array(0.2), array(3.0))
    assert amps.tolist() == pytest.approx([0.0, 0.0, 0.1, 0.2, 0.2])


def test_regulator_gives_nothing_when_pushed_back_and_no_more_than_its_limit() -> None:
    held, _ = devices.regulator_output(np.array([-100.0, -0.27, -0.001, 0.5, 2.0, 50.0]), array(2.0))
    assert held[:3].tolist() == [0.0, 0.0, 0.0]
    assert held[3:].tolist() == pytest.approx([0.5, 2.0, 2.0], abs=devices.ROUND_A)


def test_regulator_without_a_set_point_stands_at_nothing() -> None:
    target, _ = devices.regulator_target(np.array([0.0, 5.0, 12.0]), array(0.0), array(0.5))
    assert np.abs(target).max() <= devices.ROUND_V / 2


@given(st.floats(0.1, 20.0))
def test_switching_regulator_takes_constant_power(volts: float) -> None:
    """Input power is output power over the efficiency, but never more current than flows out."""
    vin, efficiency = array(volts), array(0.85)
    target, _ = devices.regulator_target(vin, array(5.0), array(0.5))
    ratio, *_ = devices.regulator_ratio(vin, target, efficiency)
    assert float(ratio) == pytest.approx(min(1.0, float(target) / (0.85 * volts)))


@given(st.floats(0.1, 20.0), st.floats(-1.0, 9.0))
def test_slopes_of_the_share_of_current_a_regulator_takes_in(volts: float, inner: float) -> None:
    def ratio(vin: float, inner: float) -> float:
        return float(devices.regulator_ratio(array(vin), array(inner), array(0.85))[0])

    whole, by_inner, by_vin = (
        float(x) for x in devices.regulator_ratio(array(volts), array(inner), array(0.85))
    )
    assert 0.0 <= whole <= 1.0
    if min(abs(inner), abs(inner - 0.85 * volts)) > 1e-4:
        step = (ratio(volts, inner + NUDGE) - ratio(volts, inner - NUDGE)) / (2 * NUDGE)
        assert by_inner == pytest.approx(step, rel=1e-3, abs=1e-4)
        step = (ratio(volts + NUDGE, inner) - ratio(volts - NUDGE, inner)) / (2 * NUDGE)
        assert by_vin == pytest.approx(step, rel=1e-3, abs=1e-4)


def test_a_curve_is_never_crossed_in_one_step_unless_nothing_lies_between() -> None:
    old, new, low = array(1.0), array(9.0), array(2.0)
    assert float(devices.tame(new, old, low, array(4.0))) == 3.0
    assert float(devices.tame(old, new, low, array(4.0))) == 3.0
    assert float(devices.tame(new, old, low, low)) == 9.0
