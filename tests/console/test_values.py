from dataclasses import replace
from math import inf

import pytest

from assistant.circuit import MeterFunction
from assistant.circuit.expectation import Band
from assistant.console import expected_words
from assistant.console.values import range_words
from assistant.dialogue import Ask
from assistant.quantities import Unit
from tests.console.samples import READING, SIGN, STRIP


def ask(function: MeterFunction, low: float, high: float, *, along: bool = False) -> Ask:
    assert READING.measurement is not None
    return replace(
        READING,
        measurement=replace(READING.measurement, function=function),
        band=Band(typical=low, low=low, high=high),
        strip=STRIP if along else (),
    )


@pytest.mark.parametrize(
    ("low", "high", "unit", "words"),
    [
        (6.9, 7.6, Unit.VOLT, "6.9 to 7.6 V"),
        (0.35, 1.2, Unit.VOLT, "350 mV to 1.2 V"),
        (-7.6, -6.9, Unit.VOLT, "-7.6 to -6.9 V"),
        (-0.01, 0.02, Unit.VOLT, "about 0 V (-10 to 20 mV)"),
        (inf, inf, Unit.OHM, "OL (no connection)"),
        (1e6, inf, Unit.OHM, "1 MΩ or more, or OL"),
        (0.0, 0.6, Unit.OHM, "0 to 0.6 Ω"),
        (5.0, 5.0, Unit.VOLT, "5 V"),
        (7.5149, 8.4151, Unit.VOLT, "7.51 to 8.42 V"),
        (-0.0000658, 0.000354, Unit.VOLT, "about 0 V (-0.1 to 0.4 mV)"),
    ],
)
def test_expectation_in_words(low: float, high: float, unit: Unit, words: str) -> None:
    assert expected_words(Band(typical=low, low=low, high=high), unit) == words


@pytest.mark.parametrize(
    ("function", "low", "high", "along", "words"),
    [
        (MeterFunction.DC_VOLTS, 6.9, 7.6, False, "DC volts, 20 V range"),
        (MeterFunction.DC_VOLTS, 0.0, 0.05, True, "DC volts, 20 V range, then 200 mV"),
        (MeterFunction.DC_VOLTS, -25.0, -24.0, False, "DC volts, 200 V range"),
        (MeterFunction.OHMS, 0.0, 0.8, False, "ohms, 200 Ω range"),
        (MeterFunction.OHMS, inf, inf, False, "ohms, 20 MΩ range"),
        (MeterFunction.CONTINUITY, 0.0, 0.8, False, "continuity (beeper)"),
    ],
)
def test_range_to_select(function: MeterFunction, low: float, high: float, along: bool, words: str) -> None:
    assert range_words(ask(function, low, high, along=along)) == words


def test_a_sign_needs_no_meter() -> None:
    assert range_words(SIGN) == ""
