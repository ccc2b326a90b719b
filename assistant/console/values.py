"""What to select on the meter for a reading."""

import math
from collections.abc import Iterable
from typing import Final

from assistant.circuit import MeterFunction
from assistant.circuit.expectation import Band
from assistant.dialogue import Ask
from assistant.quantities import Unit, show

__all__ = ["range_words"]

_VOLT_RANGES_V: Final = (0.2, 2.0, 20.0, 200.0, 600.0)
_OHM_RANGES_OHM: Final = (200.0, 2e3, 20e3, 200e3, 2e6, 20e6)
_PLAIN: Final = {
    MeterFunction.CONTINUITY: "continuity (beeper)",
    MeterFunction.DIODE_TEST: "diode test",
    MeterFunction.DC_AMPS: "DC amps, largest range first; red lead in the amps hole",
    MeterFunction.AC_MILLIVOLTS: "AC millivolts, the V with a wave",
    MeterFunction.DUTY: "duty, marked %",
    MeterFunction.FREQUENCY: "frequency, marked Hz",
    MeterFunction.LAMP: "none: the test lamp, 12 V 5 W, in its place",
}
# A reading is looked at on the range that leaves it some room.
_HEADROOM: Final = 1.05


def range_words(ask: Ask) -> str:
    """Return what to select on the meter for a reading.

    A dead joint can put all the volts of the feed between the probes, so volts begin on a range for those and
    go down when the healthy value fits a smaller one.
    """
    if ask.measurement is None:
        return ""
    function = ask.measurement.function
    finite = [abs(value) for value in _limits(ask.band) if math.isfinite(value)]
    if function in _PLAIN:
        return _PLAIN[function]
    if function is MeterFunction.OHMS:
        fitting = _range(_OHM_RANGES_OHM, finite) if finite else _OHM_RANGES_OHM[-1]
        return f"{function}, {show(fitting, Unit.OHM)} range"
    along = [abs(value) for point in ask.strip for value in _limits(point.expected) if math.isfinite(value)]
    first, then = _range(_VOLT_RANGES_V, finite + along), _range(_VOLT_RANGES_V, finite)
    down = f", then {show(then, Unit.VOLT)}" if finite and then < first else ""
    return f"{function}, {show(first, Unit.VOLT)} range{down}"


def _limits(band: Band | None) -> tuple[float, ...]:
    return () if band is None else (band.low, band.high)


def _range(ranges: tuple[float, ...], values: Iterable[float]) -> float:
    largest = _HEADROOM * max(values, default=0.0)
    return next((one for one in ranges if one >= largest), ranges[-1])
