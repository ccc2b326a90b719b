"""What a healthy boat would show at a reading: the typical value and an honest band around it.

Healthy boats are drawn within the tolerances of their parts and solved together; the meter's own uncertainty is
added evenly over its whole width.  The band leaves half a percent out on each side.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.lamp import lamp_level, level_span
from assistant.circuit.meter import MeterFunction, MeterProfile, half_width
from assistant.circuit.ripple import RIPPLE_FLOOR_V, RIPPLE_SPREAD

Array = NDArray[np.float64]

_OUTSIDE = 0.005
_HALVINGS = 30
_CERTAIN = 2.6
"""Standard deviations that leave half a percent out on one side."""

_NONE_SHARE = 0.05
_NONE_V = 0.02


class BandName(StrEnum):
    """How a reading stands to its expectation."""

    AS_EXPECTED = "as expected"
    LOW = "low"
    NONE = "none"
    HIGH = "high"
    REVERSED = "reversed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Healthy value and the limits that 99 % of healthy boats keep, in the unit of the reading."""

    typical: float
    low: float
    high: float

    def holds(self, value: float, *, slack: float = 0.0) -> bool:
        """Tell whether `value` lies in the band widened on each side by `slack` of its half-width."""
        if np.isinf(self.high) or np.isinf(value):
            return value >= self.low
        more = slack * 0.5 * (self.high - self.low)
        return self.low - more <= value <= self.high + more

    def name(self, value: float) -> BandName:
        """Return how `value` stands to the band.

        >>> Band(typical=7.2, low=7.0, high=7.4).name(5.0).value
        'low'
        """
        if self.low <= value <= self.high:
            return BandName.AS_EXPECTED
        if np.isinf(self.low):
            return BandName.LOW
        if abs(value) <= max(_NONE_SHARE * abs(self.typical), _NONE_V):
            return BandName.NONE
        if self.low <= 0.0 <= self.high:
            sign = 1.0 if self.typical >= 0.0 else -1.0
            return BandName.HIGH if value * sign > 0.0 else BandName.REVERSED
        if value * self.typical < 0.0:
            return BandName.REVERSED
        return BandName.LOW if abs(value) < abs(self.typical) else BandName.HIGH


def band_of(values: Array, function: MeterFunction, profile: MeterProfile) -> Band:
    """Return the band of what healthy boats would show.

    Parameters
    ----------
    values : true values at the probes, the nominal boat first, shape (boats,).
    """
    finite = values[np.isfinite(values)]
    if not len(finite):
        return Band(typical=np.inf, low=np.inf, high=np.inf)
    if function is MeterFunction.AC_MILLIVOLTS:
        return _ripple_band(finite)
    if function is MeterFunction.LAMP:
        return _lamp_band(finite)
    error = half_width(profile, function, finite)
    low, high = (_quantile(finite, error, share) for share in (_OUTSIDE, 1.0 - _OUTSIDE))
    high = np.inf if len(finite) < len(values) else high
    return Band(typical=float(values[0]), low=float(low), high=float(high))


def _ripple_band(values: Array) -> Band:
    """Return a band that is open towards nothing: no ripple accuses no part."""
    high = (float(values.max()) + RIPPLE_FLOOR_V) * np.exp(_CERTAIN * RIPPLE_SPREAD)
    return Band(typical=float(values[0]), low=0.0, high=float(high))


def _lamp_band(values: Array) -> Band:
    """Return the levels of a test lamp that healthy boats show."""
    low, high = (float(np.quantile(values, share)) for share in (_OUTSIDE, 1.0 - _OUTSIDE))
    return Band(
        typical=float(values[0]), low=level_span(lamp_level(low))[0], high=level_span(lamp_level(high))[1]
    )


def _quantile(centres: Array, half_widths: Array, share: float) -> float:
    """Return below which value a share of the readings lies, each spread evenly about its centre."""
    low, high = float((centres - half_widths).min()), float((centres + half_widths).max())
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        below = np.clip(0.5 + 0.5 * (middle - centres) / half_widths, 0.0, 1.0).mean()
        low, high = (middle, high) if below < share else (low, middle)
    return 0.5 * (low + high)
