"""Size and resistance of copper wire.

A gauge number is a step on a geometric scale of diameters; resistance follows from cross-section and length
by the resistivity of annealed copper, which rises with temperature. Stranded wire is a little longer inside
than outside, because its strands are twisted.
"""

import math
from typing import Final

from assistant.errors import MisuseError

__all__ = ["MAX_GAUGE", "MIN_GAUGE", "awg_mm2", "wire_ohm"]

MIN_GAUGE: Final = 0
MAX_GAUGE: Final = 40

# Gauge 36 is 0.127 mm; 39 steps up to 11.684 mm, a ratio of 92 (ASTM B258, m).
_GAUGE_36_MM: Final = 0.127
_RATIO: Final = 92.0
_STEPS: Final = 39

RESISTIVITY_OHM_MM2_PER_M: Final = 1 / 58  # Annealed copper at 20 °C (IEC 60028, m).
COEFFICIENT_PER_K: Final = 0.00393  # Of the resistance, at 20 °C (IEC 60028, m).
REFERENCE_C: Final = 20.0
STRANDED_FACTOR: Final = 1.02  # About 2 % longer strands (m).


def awg_mm2(gauge: int) -> float:
    """Return the copper cross-section of a solid wire of this gauge, in mm².

    Parameters
    ----------
    gauge
        American wire gauge, 0 to 40.

    Raises
    ------
    MisuseError
        If the gauge is outside that range.

    References
    ----------
    ASTM B258 (from memory): diameter 0.127 mm · 92^((36 - gauge)/39).

    Examples
    --------
    >>> round(awg_mm2(14), 3)
    2.081
    """
    if not MIN_GAUGE <= gauge <= MAX_GAUGE:
        reason = f"a gauge is a whole number from {MIN_GAUGE} to {MAX_GAUGE}"
        raise MisuseError(value=gauge, reason=reason, next_step="check it where it comes in")
    diameter_mm = _GAUGE_36_MM * math.pow(_RATIO, (36 - gauge) / _STEPS)
    return math.pi / 4 * diameter_mm**2


def wire_ohm(area_mm2: float, length_m: float, temp_c: float = REFERENCE_C, stranded: bool = False) -> float:
    """Return the resistance of a copper wire, in ohms.

    Parameters
    ----------
    area_mm2
        Copper cross-section, above 0.
    length_m
        Length, 0 or more, one way.
    temp_c
        Temperature of the copper in °C; the linear coefficient holds from about -50 to 150 °C.
    stranded
        Whether to add the 2 % that twisted strands are longer than the wire.

    Raises
    ------
    MisuseError
        If the area or the length is out of range, or the temperature leaves no resistance.

    References
    ----------
    IEC 60028 (from memory): 1/58 Ω·mm²/m at 20 °C, 0.00393/K.

    Examples
    --------
    >>> round(wire_ohm(2.5, 10), 5)
    0.06897
    """
    warming = 1 + COEFFICIENT_PER_K * (temp_c - REFERENCE_C)
    if not (0 < area_mm2 < math.inf and 0 <= length_m < math.inf and 0 < warming < math.inf):
        raise MisuseError(
            value=f"{area_mm2} mm², {length_m} m, {temp_c} °C",
            reason="no such wire: area above 0, length from 0, temperature above -234 °C are needed",
            next_step="check the values where they come in",
        )
    ohm = RESISTIVITY_OHM_MM2_PER_M * length_m / area_mm2 * warming
    return ohm * STRANDED_FACTOR if stranded else ohm
