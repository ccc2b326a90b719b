"""What people read, and that it can be typed in again."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import MisuseError
from assistant.quantities import OVERLOAD, Quantity, Unit, format_quantity, parse_quantity, show


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (11.1, Unit.VOLT, "11.1 V"),
        (0.35, Unit.VOLT, "350 mV"),
        (-0.35, Unit.VOLT, "-350 mV"),
        (0.9996, Unit.VOLT, "1 V"),
        (0.9994, Unit.VOLT, "999 mV"),
        (0.0, Unit.VOLT, "0 V"),
        (-0.0, Unit.VOLT, "0 V"),
        (1e-15, Unit.VOLT, "1e-12 mV"),
        (0.00055, Unit.OHM, "0.55 mΩ"),
        (4700, Unit.OHM, "4.7 kΩ"),
        (5e9, Unit.OHM, "5000 MΩ"),
        (270e-6, Unit.FARAD, "270 µF"),
        (4725e-6, Unit.FARAD, "4725 µF"),
        (0.5, Unit.FARAD, "0.5 F"),
        (3.3, Unit.AMP_HOUR, "3.3 Ah"),
        (0.85, Unit.AMP_HOUR, "850 mAh"),
        (0.15, Unit.METRE, "15 cm"),
        (0.0016, Unit.METRE, "1.6 mm"),
        (0.0015, Unit.SECOND, "1.5 ms"),
        (90, Unit.SECOND, "90 s"),
        (1800, Unit.SECOND, "30 min"),
        (18000, Unit.SECOND, "5 h"),
        (19000 * math.pi / 30, Unit.RADIAN_PER_SECOND, "19000 rpm"),
        (0.5, Unit.RATIO, "50 %"),
        (2.0809, Unit.SQUARE_MM, "2.08 mm²"),
        (20, Unit.CELSIUS, "20 °C"),
        (6, Unit.COUNT, "6"),
        (1234567, Unit.COUNT, "1234567"),
        (OVERLOAD, Unit.OHM, "OL"),
    ],
)
def test_shows(value: float, unit: Unit, text: str) -> None:
    assert show(value, unit) == text


def test_digits_are_significant_digits() -> None:
    assert [show(12.3456, Unit.VOLT, digits) for digits in (1, 2, 3, 4, 5)] == [
        "12 V",
        "12 V",
        "12.3 V",
        "12.35 V",
        "12.346 V",
    ]


def test_nothing_but_a_value_is_shown() -> None:
    for value in (math.nan, -math.inf):
        with pytest.raises(MisuseError, match="finite or an overload"):
            show(value, Unit.VOLT)


MAGNITUDES = st.floats(1e-30, 1e30) | st.floats(1e-4, 1e4)


@given(
    size=MAGNITUDES,
    sign=st.sampled_from([-1, 1]),
    unit=st.sampled_from(Unit),
    digits=st.integers(1, 15),
)
def test_what_is_shown_can_be_typed_in_again(size: float, sign: int, unit: Unit, digits: int) -> None:
    shown = show(sign * size, unit, digits)
    half_a_digit = 0.5 * 10.0 ** (1 - digits)
    assert parse_quantity(shown, unit).value == pytest.approx(sign * size, rel=half_a_digit * 1.001 + 1e-15)


@given(unit=st.sampled_from(Unit))
def test_overload_and_nothing_can_be_typed_in_again(unit: Unit) -> None:
    overload = Quantity(value=OVERLOAD, unit=unit)
    assert parse_quantity(format_quantity(overload), unit, allow_overload=True) == overload
    assert parse_quantity(show(0, unit), unit).value == 0


@given(value=st.integers(-(10**6), 10**6), digits=st.integers(1, 6))
def test_no_count_loses_digits(value: int, digits: int) -> None:
    assert show(value, Unit.COUNT, digits) == str(value)
