"""Readings and healthy bands as a person says them, no finer than the display of a cheap meter.

The width of a band is computed to the last bit; nobody reads 0.108 mV off a meter that counts in tenths. So
limits are rounded outwards to what the display counts in, and the words still hold for every healthy boat.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np

from assistant.circuit import CHEAP_METER, MeterFunction, last_digit
from assistant.circuit.expectation import Band
from assistant.quantities import Unit, show

# A limit that is a whole number of steps stays one, whatever the last bit of its quotient says.
_ROUNDING: Final = 1e-6


def reading_words(value: float, unit: Unit) -> str:
    """Return a reading as a person says it.

    >>> reading_words(0.35, Unit.VOLT), reading_words(0.35, Unit.OHM), reading_words(float("inf"), Unit.OHM)
    ('350 mV', '0.35 Ω', 'OL')
    """
    # No cheap meter counts in milliohms.
    return f"{value:.2g} Ω" if unit is Unit.OHM and 0 < value < 1 else show(value, unit)


def percent(share: float) -> str:
    """Return a probability in words that never claim certainty.

    >>> percent(0.998), percent(0.42), percent(0.001)
    ('>99 %', '42 %', '<1 %')
    """
    if share > 0.99:
        return ">99 %"
    return "<1 %" if share < 0.01 else f"{share * 100:.0f} %"


def typical_words(volts: float) -> str:
    """Return computed volts as a meter shows them.

    >>> typical_words(0.000111), typical_words(0.00001)
    ('0.1 mV', '0 V')
    """
    step = _step_v(volts)
    return show(round(volts / step) * step, Unit.VOLT)


def expected_words(band: Band, unit: Unit) -> str:
    """Return the band of a healthy boat.

    >>> expected_words(Band(typical=7.2, low=6.9, high=7.6), Unit.VOLT)
    '6.9 to 7.6 V'
    >>> expected_words(Band(typical=0.0, low=-0.01, high=0.02), Unit.VOLT)
    'about 0 V (-10 to 20 mV)'
    >>> expected_words(Band(typical=0.001, low=-0.495, high=0.5), Unit.OHM)
    '0 to 0.5 Ω'

    Volts are rounded outwards to what the display of a cheap meter counts in; ohms do not go below nought.
    """
    if unit is Unit.OHM and band.low < 0.0 <= band.high:
        band = replace(band, low=0.0)
    if unit is Unit.VOLT and math.isfinite(band.high):
        band = _displayed(band)
    if math.isinf(band.low):
        return "OL (no connection)"
    if math.isinf(band.high):
        return f"{reading_words(band.low, unit)} or more, or OL"
    limits = _between(reading_words(band.low, unit), reading_words(band.high, unit))
    return f"about 0 {unit} ({limits})" if band.low < 0.0 < band.high and unit is Unit.VOLT else limits


def _displayed(band: Band) -> Band:
    step = _step_v(max(abs(band.low), abs(band.high)))
    low = math.floor(band.low / step + _ROUNDING) * step
    return replace(band, low=low, high=math.ceil(band.high / step - _ROUNDING) * step)


def _step_v(largest_v: float) -> float:
    return float(last_digit(CHEAP_METER, MeterFunction.DC_VOLTS, np.array(abs(largest_v))))


def _between(low: str, high: str) -> str:
    """Return two values with their unit said once where it is the same."""
    number, _, unit = low.rpartition(" ")
    if low == high:
        return low
    return f"{number} to {high}" if number and high.endswith(f" {unit}") else f"{low} to {high}"
