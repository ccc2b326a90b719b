from dataclasses import replace
from math import inf

import pytest

from assistant.circuit import MeterFunction
from assistant.circuit.expectation import Band
from assistant.console.values import range_words
from assistant.dialogue import Ask
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
