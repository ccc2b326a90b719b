"""Readings and expectations in words: what to select on the meter and to expect, how a reading compares."""

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

import numpy as np

from assistant.circuit import CHEAP_METER, MeterFunction, last_digit
from assistant.circuit.expectation import Band, BandName
from assistant.dialogue import Ask
from assistant.quantities import Unit, show

__all__ = ["UNITS", "expected_words", "range_words", "reading_words", "standing", "typical_words"]

UNITS: Final = {
    MeterFunction.DC_VOLTS: Unit.VOLT,
    MeterFunction.OHMS: Unit.OHM,
    MeterFunction.CONTINUITY: Unit.OHM,
}
"""What each meter function shows."""

_VOLT_RANGES_V: Final = (0.2, 2.0, 20.0, 200.0, 600.0)
_OHM_RANGES_OHM: Final = (200.0, 2e3, 20e3, 200e3, 2e6, 20e6)
# A reading is looked at on the range that leaves it some room.
_HEADROOM: Final = 1.05
# A limit that is a whole number of steps stays one, whatever the last bit of its quotient says.
_ROUNDING: Final = 1e-6


def reading_words(value: float, unit: Unit) -> str:
    """Return a reading as a person says it.

    >>> reading_words(0.35, Unit.VOLT), reading_words(0.35, Unit.OHM), reading_words(float("inf"), Unit.OHM)
    ('350 mV', '0.35 Ω', 'OL')
    """
    # No cheap meter counts in milliohms.
    return f"{value:.2g} Ω" if unit is Unit.OHM and 0 < value < 1 else show(value, unit)


def typical_words(band: Band | None) -> str:
    """Return the healthy volts at a point, or nothing where they are not known."""
    return "" if band is None else show(band.typical, Unit.VOLT)


def expected_words(band: Band, unit: Unit) -> str:
    """Return the band of a healthy boat.

    >>> expected_words(Band(typical=7.2, low=6.9, high=7.6), Unit.VOLT)
    '6.9 to 7.6 V'
    >>> expected_words(Band(typical=0.0, low=-0.01, high=0.02), Unit.VOLT)
    'about 0 V (-10 to 20 mV)'

    Volts are rounded outwards to what the display of a cheap meter counts in.
    """
    if unit is Unit.VOLT:
        band = _displayed(band)
    if math.isinf(band.low):
        return "OL (no connection)"
    if math.isinf(band.high):
        return f"{reading_words(band.low, unit)} or more, or OL"
    limits = _between(reading_words(band.low, unit), reading_words(band.high, unit))
    return f"about 0 {unit} ({limits})" if band.low < 0.0 < band.high and unit is Unit.VOLT else limits


def standing(band: Band | None, value: float | None) -> BandName | None:
    """Return how a reading stands to its band, when both are known."""
    return None if band is None or value is None else band.name(value)


def range_words(ask: Ask) -> str:
    """Return what to select on the meter for a reading.

    A dead joint can put all the volts of the feed between the probes, so volts begin on a range for those and
    go down when the healthy value fits a smaller one.
    """
    if ask.measurement is None:
        return ""
    function = ask.measurement.function
    finite = [abs(value) for value in _limits(ask.band) if math.isfinite(value)]
    if function is MeterFunction.CONTINUITY:
        return "continuity (beeper)"
    if function is MeterFunction.OHMS:
        fitting = _range(_OHM_RANGES_OHM, finite) if finite else _OHM_RANGES_OHM[-1]
        return f"{function}, {show(fitting, Unit.OHM)} range"
    along = [abs(value) for point in ask.strip for value in _limits(point.expected) if math.isfinite(value)]
    first, then = _range(_VOLT_RANGES_V, finite + along), _range(_VOLT_RANGES_V, finite)
    down = f", then {show(then, Unit.VOLT)}" if finite and then < first else ""
    return f"{function}, {show(first, Unit.VOLT)} range{down}"


def _displayed(band: Band) -> Band:
    largest = np.array(max(abs(band.low), abs(band.high)))
    step = float(last_digit(CHEAP_METER, MeterFunction.DC_VOLTS, largest))
    low = math.floor(band.low / step + _ROUNDING) * step
    return replace(band, low=low, high=math.ceil(band.high / step - _ROUNDING) * step)


def _limits(band: Band | None) -> tuple[float, ...]:
    return () if band is None else (band.low, band.high)


def _range(ranges: tuple[float, ...], values: Iterable[float]) -> float:
    largest = _HEADROOM * max(values, default=0.0)
    return next((one for one in ranges if one >= largest), ranges[-1])


def _between(low: str, high: str) -> str:
    """Return two values with their unit said once where it is the same."""
    number, _, unit = low.rpartition(" ")
    if low == high:
        return low
    return f"{number} to {high}" if number and high.endswith(f" {unit}") else f"{low} to {high}"
