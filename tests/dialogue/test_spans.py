from math import inf

import pytest

from assistant.circuit.expectation import Band
from assistant.dialogue.spans import expected_words, typical_words
from assistant.quantities import Unit


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
    ("volts", "words"),
    [(7.6812, "7.68 V"), (0.000111, "0.1 mV"), (0.00002, "0 V"), (-0.0311, "-31.1 mV"), (12.0004, "12 V")],
)
def test_computed_volts_are_no_finer_than_a_display(volts: float, words: str) -> None:
    assert typical_words(volts) == words
