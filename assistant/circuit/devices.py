"""Current against voltage of the few nonlinear primitives, with the slopes that Newton's method needs.

All functions work on arrays of any shape, one entry an element and variant.  Corners are rounded over a few
millivolts or milliamperes, so that slopes exist everywhere; the rounding stays below what a meter shows.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

ROUND_V = 0.002
ROUND_A = 0.001
_STEEPEST = 60.0


def diode_current(volts: Array, forward_v: Array, forward_a: Array, slope_v: Array) -> tuple[Array, Array]:
    """Return current (A, anode to cathode) and slope (S) of a Shockley diode through one known point.

    Parameters
    ----------
    volts : anode over cathode.
    forward_v, forward_a : the point the curve passes.
    slope_v : emission coefficient times thermal voltage.
    """
    saturation = forward_a / np.expm1(forward_v / slope_v)
    power = np.exp(np.minimum(volts / slope_v, _STEEPEST))
    return saturation * (power - 1.0), saturation * power / slope_v


def tame_diode(new: Array, old: Array, forward_v: Array, forward_a: Array, slope_v: Array) -> Array:
    """Return the junction voltage to linearise at, given Newton's proposal.

    From below, no further than the knee of the curve; beyond it, on a logarithmic scale, as circuit simulators have
    done since Nagel's thesis of 1975 (from memory).
    """
    saturation = forward_a / np.expm1(forward_v / slope_v)
    critical = slope_v * np.log(slope_v / (np.sqrt(2.0) * saturation))
    jump = (new - old) / slope_v
    from_on = np.where(1.0 + jump > 0.0, old + slope_v * np.log(np.maximum(1.0 + jump, 1e-12)), critical)
    limited = np.where(old >= critical, from_on, critical)
    return np.where((new > critical) & (np.abs(new - old) > 2.0 * slope_v), limited, new)


def motor_current(
    volts: Array, ohm: Array, idle_a: Array, rated_v: Array, rated_a: Array, load: Array
) -> tuple[Array, Array, Array]:
    """Return current (A), slope (S) and back-EMF (V) of a brushed motor in steady rotation.

    The torque needed is a friction part (`idle_a`) and a part rising with speed squared that makes the motor draw
    `rated_a` at `rated_v`; both scale with `load`.  Below the breakaway voltage it stands still as its bare winding.
    """
    rated_emf = np.maximum(rated_v - rated_a * ohm, 0.02 * rated_v)
    drag = load * np.maximum(rated_a - idle_a, 0.0) / rated_emf**2
    spare = np.abs(volts) - load * idle_a * ohm
    turning = spare > 0.0
    spare = np.where(turning, spare, 0.0)
    root = np.sqrt(1.0 + 4.0 * drag * ohm * spare)
    emf = 2.0 * spare / (1.0 + root)
    slope = (1.0 - np.where(turning, 1.0 / root, 0.0)) / ohm
    current = (np.abs(volts) - emf) / ohm
    sign = np.where(volts < 0.0, -1.0, 1.0)
    return sign * current, slope, sign * emf


def motor_speed(emf: Array, ohm: Array, rated_v: Array, rated_a: Array) -> Array:
    """Return speed over the speed at rated volts and normal load, signed."""
    return emf / np.maximum(rated_v - rated_a * ohm, 0.02 * rated_v)


def draw_current(volts: Array, amps: Array, min_v: Array) -> tuple[Array, Array]:
    """Return current and slope of a load that takes `amps` above `min_v`, falling evenly to nothing at half of it."""
    half = 0.5 * min_v
    part = (volts - half) / half
    falling = (part > 0.0) & (part < 1.0)
    return amps * np.clip(part, 0.0, 1.0), np.where(falling, amps / half, 0.0)


def tame(new: Array, old: Array, low: Array | float, high: Array) -> Array:
    """Return where to linearise a curve that is flat below `low` and above `high`: never straight across.

    Newton's method on such a curve would else jump from one flat to the other for ever.  Where nothing lies between the
    flats, there is nothing to jump over.
    """
    across = ((old >= high) & (new <= low)) | ((old <= low) & (new >= high))
    return np.where(across & (low < high), 0.5 * (low + high), new)


def _lesser(a: Array, b: Array, width: float) -> tuple[Array, Array]:
    """Return the rounded lesser of two and its derivative by the first."""
    gap = a - b
    root = np.sqrt(gap**2 + width**2)
    return 0.5 * (a + b - root), 0.5 * (1.0 - gap / root)


def regulator_target(vin: Array, set_v: Array, dropout_v: Array) -> tuple[Array, Array]:
    """Return the inner output voltage of a regulator and its derivative by the input voltage."""
    lesser, by_room = _lesser(vin - dropout_v, set_v, ROUND_V)
    target, by_lesser = _above(lesser, ROUND_V)
    return target, by_room * by_lesser


def regulator_output(wish: Array, limit_a: Array) -> tuple[Array, Array]:
    """Return the output current for a wished current, held between nothing and the limit, and its derivative."""
    positive, by_wish = _above(wish, ROUND_A)
    missing, by_positive = _above(limit_a - positive, ROUND_A)
    return limit_a - missing, by_wish * by_positive


def _above(x: Array, width: float) -> tuple[Array, Array]:
    """Return `x` where it is positive and else nothing, rounded by a parabola within `width`, and its derivative.

    Beyond the parabola it is exact: a regulator that is not there, or without load, must not lift its output.
    """
    inside = np.clip((x + width) / (2.0 * width), 0.0, 1.0)
    return np.where(x >= width, x, width * inside**2), inside


def regulator_ratio(vin: Array, inner: Array, efficiency: Array) -> tuple[Array, Array, Array]:
    """Return input current over output current of a regulator, and its derivatives by `inner` and by `vin`.

    A switching regulator takes the power that it gives over its efficiency, so the ratio is
    ``inner / (efficiency · vin)``, 1 at most: `inner` is its output voltage with what its own resistance drops.  In
    current limit that has sunk below the set volts, and the input current with it.
    """
    safe = np.maximum(vin, 0.05)
    by_inner = 1.0 / (efficiency * safe)
    ratio = inner * by_inner
    between = (ratio > 0.0) & (ratio < 1.0)
    by_vin = np.where(between & (vin > 0.05), -ratio / safe, 0.0)
    return np.clip(ratio, 0.0, 1.0), np.where(between, by_inner, 0.0), by_vin
