"""Healthy bands in the few words that fit a table."""

from __future__ import annotations

import math

import numpy as np

from assistant.circuit import CHEAP_METER, MeterFunction, last_digit
from assistant.circuit.expectation import Band
from assistant.quantities import Unit, show

_WHOLE_STEPS = 1e-6
_SMALL_V = 0.05
_LEAST_V = 1e-3


def volts_words(value: float) -> str:
    """Return volts rounded to what a cheap meter shows.

    >>> volts_words(11.0963), volts_words(-0.0304)
    ('11.1 V', '-30.4 mV')
    """
    step = float(last_digit(CHEAP_METER, MeterFunction.DC_VOLTS, np.array(abs(value))))
    return show(round(value / step) * step, Unit.VOLT)


def band_words(band: Band) -> str:
    """Return a band of volts, rounded outwards to what a cheap meter shows.

    >>> band_words(Band(typical=7.2, low=6.912, high=7.577))
    '6.91 to 7.58 V'

    Next to nothing is said as the most it may be.

    >>> band_words(Band(typical=0.0, low=-0.0101, high=0.02))
    'under 30 mV'
    """
    largest = max(abs(band.low), abs(band.high))
    if largest < _SMALL_V:
        digit = 10.0 ** math.floor(math.log10(max(largest, _LEAST_V)))
        return f"under {show((math.floor(largest / digit) + 1) * digit, Unit.VOLT)}"
    step = float(last_digit(CHEAP_METER, MeterFunction.DC_VOLTS, np.array(largest)))
    low = show(math.floor(band.low / step + _WHOLE_STEPS) * step, Unit.VOLT)
    high = show(math.ceil(band.high / step - _WHOLE_STEPS) * step, Unit.VOLT)
    number, _, unit = low.rpartition(" ")
    return f"{number} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"
