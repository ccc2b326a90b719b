"""What people type, and what it is read as."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import QuantityError
from assistant.quantities import MAX_LENGTH, OVERLOAD, Quantity, Unit, parse_quantity

READ = [
    # Plain numbers; the unit may be left out.
    ("11.1", Unit.VOLT, 11.1),
    ("12V", Unit.VOLT, 12.0),
    ("12 v", Unit.VOLT, 12.0),
    ("12 volts", Unit.VOLT, 12.0),
    ("12 V dc", Unit.VOLT, 12.0),
    (" +12 ", Unit.VOLT, 12.0),
    ("-0.35 V", Unit.VOLT, -0.35),
    ("- 0.35 V", Unit.VOLT, -0.35),
    (".5", Unit.VOLT, 0.5),
    ("-,5", Unit.VOLT, -0.5),
    ("-0", Unit.VOLT, 0.0),
    ("007", Unit.VOLT, 7.0),
    # Exponents.
    ("1e3", Unit.OHM, 1000.0),
    ("1E3", Unit.OHM, 1000.0),
    ("2.5e-3 V", Unit.VOLT, 0.0025),
    ("1e+2V", Unit.VOLT, 100.0),
    # Prefixes, rounded once and not twice.
    ("1500 mV", Unit.VOLT, 1.5),
    ("350 mV", Unit.VOLT, 0.35),
    ("3300 mAh", Unit.AMP_HOUR, 3.3),
    ("3.3 amp-hours", Unit.AMP_HOUR, 3.3),
    ("3,3 A·h", Unit.AMP_HOUR, 3.3),
    ("200 microamps", Unit.AMP, 200e-6),
    ("40 kW", Unit.WATT, 40e3),
    ("2.4 GHz", Unit.HERTZ, 2.4e9),
    # Decimal comma and thousands.
    ("11,1 V", Unit.VOLT, 11.1),
    ("1,234", Unit.VOLT, 1.234),
    ("1 234,5", Unit.VOLT, 1234.5),
    ("1 234.5", Unit.VOLT, 1234.5),
    ("1 234 567", Unit.OHM, 1234567.0),
    ("1\N{NARROW NO-BREAK SPACE}234,5", Unit.VOLT, 1234.5),
    ("1\N{NO-BREAK SPACE}234,5\N{NO-BREAK SPACE}V", Unit.VOLT, 1234.5),
    ("1,234.5", Unit.VOLT, 1234.5),
    ("1.234,5", Unit.VOLT, 1234.5),
    ("1,234,567", Unit.OHM, 1234567.0),
    ("1.234.567", Unit.OHM, 1234567.0),
    ("1,234,567.8", Unit.OHM, 1234567.8),
    # Other signs and digits.
    ("\N{MINUS SIGN}0.35 V", Unit.VOLT, -0.35),
    ("\N{EN DASH}0.35 V", Unit.VOLT, -0.35),
    ("\N{FULLWIDTH HYPHEN-MINUS}0.35", Unit.VOLT, -0.35),
    ("１２．５Ｖ", Unit.VOLT, 12.5),
    # Resistance.
    ("4.7 kΩ", Unit.OHM, 4700.0),
    ("4.7 k\N{OHM SIGN}", Unit.OHM, 4700.0),
    ("4.7 kohm", Unit.OHM, 4700.0),
    ("4.7 K ohms", Unit.OHM, 4700.0),
    ("4.7 kilohm", Unit.OHM, 4700.0),
    ("4.7k", Unit.OHM, 4700.0),
    ("4.7M", Unit.OHM, 4.7e6),
    ("10 MOhm", Unit.OHM, 1e7),
    ("0.55 mΩ", Unit.OHM, 0.00055),
    ("12 ohms", Unit.OHM, 12.0),
    # Capacitance.
    ("270uF", Unit.FARAD, 270e-6),
    ("270 \N{MICRO SIGN}F", Unit.FARAD, 270e-6),
    ("270 \N{GREEK SMALL LETTER MU}F", Unit.FARAD, 270e-6),
    ("270UF", Unit.FARAD, 270e-6),
    ("100n", Unit.FARAD, 100e-9),
    ("4n7", Unit.FARAD, 4.7e-9),
    ("\N{MICRO SIGN}47", Unit.FARAD, 0.47e-6),
    ("1 mF", Unit.FARAD, 1e-3),
    # Length, time, speed, temperature, share.
    ("15 cm", Unit.METRE, 0.15),
    ("6 in", Unit.METRE, 0.1524),
    ('6"', Unit.METRE, 0.1524),
    ("6\N{DOUBLE PRIME}", Unit.METRE, 0.1524),
    ("2 ft", Unit.METRE, 0.6096),
    ("2'", Unit.METRE, 0.6096),
    ("1500 µs", Unit.SECOND, 0.0015),
    ("5 min", Unit.SECOND, 300.0),
    ("2 h", Unit.SECOND, 7200.0),
    ("60 rpm", Unit.RADIAN_PER_SECOND, 2 * math.pi),
    ("20", Unit.CELSIUS, 20.0),
    ("-5 °C", Unit.CELSIUS, -5.0),
    ("20℃", Unit.CELSIUS, 20.0),
    ("68 °F", Unit.CELSIUS, 20.0),
    ("293.15 K", Unit.CELSIUS, 20.0),
    ("40 K", Unit.KELVIN, 40.0),
    ("0.393 %/K", Unit.PER_KELVIN, 0.00393),
    ("50 %", Unit.RATIO, 0.5),
    ("50%", Unit.RATIO, 0.5),
    ("50 per cent", Unit.RATIO, 0.5),
    ("0.5", Unit.RATIO, 0.5),
    ("-100 %", Unit.RATIO, -1.0),
    ("6", Unit.COUNT, 6.0),
    # Wire.
    ("2.5 mm2", Unit.SQUARE_MM, 2.5),
    ("2.5 mm²", Unit.SQUARE_MM, 2.5),
    ("2,5 mm²", Unit.SQUARE_MM, 2.5),
    ("2.5 mm^2", Unit.SQUARE_MM, 2.5),
    ("2.5 sq mm", Unit.SQUARE_MM, 2.5),
]


@pytest.mark.parametrize(("text", "unit", "value"), READ)
def test_reads(text: str, unit: Unit, value: float) -> None:
    quantity = parse_quantity(text, unit)
    assert quantity.unit is unit
    assert quantity.value == pytest.approx(value, rel=1e-15, abs=0)


# The letter codes of IEC 60062 (s), and the same with a unit behind them.
@pytest.mark.parametrize(
    ("text", "ohm"),
    [
        ("R47", 0.47),
        ("4R7", 4.7),
        ("470R", 470.0),
        ("4K7", 4700.0),
        ("4k7", 4700.0),
        ("47K3", 47300.0),
        ("4M7", 4.7e6),
        ("4k7 Ω", 4700.0),
        ("470 R", 470.0),
        ("0R005", 0.005),
    ],
)
def test_resistor_codes(text: str, ohm: float) -> None:
    assert parse_quantity(text, Unit.OHM).value == ohm


@pytest.mark.parametrize("text", ["14 AWG", "14AWG", "AWG 14", "awg14"])
def test_wire_gauge(text: str) -> None:
    assert parse_quantity(text, Unit.SQUARE_MM).value == pytest.approx(math.pi / 4 * 1.6277**2, rel=1e-4)


@pytest.mark.parametrize("text", ["14.5 AWG", "-14 AWG", "41 AWG", "AWG", "14 AWG 15 cm", "14 AWG 16 AWG"])
def test_no_such_gauge(text: str) -> None:
    with pytest.raises(QuantityError, match="not a wire gauge; type a whole gauge from 0 to 40"):
        parse_quantity(text, Unit.SQUARE_MM)


@pytest.mark.parametrize(
    "text", ["OL", "ol", "0L", "0.L", "O.L", ".OL", "O L", "overload", "Overload", "OL MΩ"]
)
def test_overload_is_an_answer_where_it_is_allowed(text: str) -> None:
    assert parse_quantity(text, Unit.OHM, allow_overload=True, high=10.0).value == OVERLOAD
    with pytest.raises(QuantityError, match="overload is no value here"):
        parse_quantity(text, Unit.OHM)


@pytest.mark.parametrize("text", ["1 .", "1.", "1,", "-OL", "OLD", "OL A", "inf", "∞"])
def test_what_is_no_overload(text: str) -> None:
    with pytest.raises(QuantityError):
        parse_quantity(text, Unit.OHM, allow_overload=True)


@pytest.mark.parametrize(
    ("text", "unit", "reason"),
    [
        ("", Unit.VOLT, "nothing was typed"),
        (" \t ", Unit.VOLT, "nothing was typed"),
        ("nan", Unit.VOLT, "no number"),
        ("inf", Unit.VOLT, "no number"),
        ("-Infinity", Unit.VOLT, "no number"),
        ("abc", Unit.VOLT, "no number"),
        ("V", Unit.VOLT, "no number"),
        ("V12", Unit.VOLT, "no number"),
        ("--5", Unit.VOLT, "no number"),
        ("__import__('os')", Unit.VOLT, "no number"),
        ("11 12", Unit.VOLT, "more than one number"),
        ("5 V 3 A", Unit.VOLT, "more than one number"),
        ("8..9", Unit.VOLT, "more than one number"),
        ("8 V..9 V", Unit.VOLT, "more than one number"),
        ("1.2.3", Unit.VOLT, "more than one number"),
        ("1,2,3", Unit.VOLT, "more than one number"),
        ("1,23,456", Unit.VOLT, "more than one number"),
        ("1 2345", Unit.VOLT, "more than one number"),
        ("11\n120", Unit.VOLT, "more than one number"),
        ("12:30", Unit.SECOND, "more than one number"),
        ("1_000", Unit.VOLT, "more than one number"),
        ("1e999", Unit.VOLT, "more than one number"),
        ("0x10", Unit.VOLT, "more than one number"),
        ("1 .", Unit.VOLT, "not finished"),
        ("12.", Unit.VOLT, "not finished"),
        ("5-", Unit.VOLT, '"-" is no unit'),
        ("5 Q", Unit.VOLT, '"Q" is no unit'),
        ("1e", Unit.VOLT, '"e" is no unit'),
        ("5 MV", Unit.VOLT, '"MV" is no unit'),
        ("5²", Unit.VOLT, "special digits"),
        ("½", Unit.VOLT, "special digits"),
        ("①", Unit.VOLT, "special digits"),
        ("٣", Unit.VOLT, "no number"),
    ],
)
def test_refuses(text: str, unit: Unit, reason: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, unit)
    assert reason in caught.value.reason
    assert caught.value.value == text
    assert caught.value.next_step


@pytest.mark.parametrize(
    ("text", "unit", "found", "wanted"),
    [
        ("11 A", Unit.VOLT, "amps (A)", "volts (V)"),
        ("11 mV", Unit.AMP, "volts (V)", "amps (A)"),
        ("3300 mA", Unit.AMP_HOUR, "amps (A)", "amp-hours (Ah)"),
        ("4.7 kΩ", Unit.VOLT, "ohms (Ω)", "volts (V)"),
        ("14 AWG", Unit.METRE, "a wire size (mm² or AWG)", "a length (m, cm, in)"),
        ("6 V", Unit.COUNT, "volts (V)", "a plain number"),
        ("50 %", Unit.VOLT, "a share (%)", "volts (V)"),
        ("40 °C", Unit.KELVIN, "a temperature (°C)", "a temperature difference (K)"),
    ],
)
def test_wrong_unit_names_both(text: str, unit: Unit, found: str, wanted: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, unit)
    assert caught.value.reason == f"found {found}, wanted {wanted}"
    assert unit.example in caught.value.next_step


def test_milli_and_mega_are_kept_apart() -> None:
    assert parse_quantity("5 mΩ", Unit.OHM).value == 0.005
    assert parse_quantity("5 MΩ", Unit.OHM).value == 5e6
    with pytest.raises(QuantityError):
        parse_quantity("500 MA", Unit.AMP)


def test_range_is_inclusive_and_in_the_unit_asked_for() -> None:
    assert parse_quantity("20 V", Unit.VOLT, low=0, high=20).value == 20
    assert parse_quantity("0 mV", Unit.VOLT, low=0, high=20).value == 0


@pytest.mark.parametrize(
    ("text", "low", "high", "reason", "step"),
    [
        ("25000 mV", 0.0, 20.0, "25 V is more than 20 V", "a value from 0 V to 20 V"),
        ("-1", 0.0, 20.0, "-1 V is less than 0 V", "a value from 0 V to 20 V"),
        ("-1", 0.0, None, "-1 V is less than 0 V", "a value of at least 0 V"),
        ("25", None, 20.0, "25 V is more than 20 V", "a value of at most 20 V"),
    ],
)
def test_out_of_range_says_what_was_read_and_what_would_do(
    text: str, low: float | None, high: float | None, reason: str, step: str
) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, Unit.VOLT, low=low, high=high)
    assert caught.value.reason == reason
    assert step in caught.value.next_step


def test_length_is_limited_before_and_after_normalising() -> None:
    assert parse_quantity("1" + "0" * (MAX_LENGTH - 1), Unit.COUNT).value == 10.0 ** (MAX_LENGTH - 1)
    for text in (
        "1" * (MAX_LENGTH + 1),
        "1" * 10_000_000,
        "\N{ARABIC LIGATURE SALLALLAHOU ALAYHE WASALLAM}" * 5,
    ):
        with pytest.raises(QuantityError, match=f"longer than {MAX_LENGTH} characters"):
            parse_quantity(text, Unit.COUNT)


def quantity_or_error(
    text: str, unit: Unit, *, allow_overload: bool, low: float | None
) -> Quantity | QuantityError:
    try:
        return parse_quantity(text, unit, allow_overload=allow_overload, low=low)
    except QuantityError as error:
        return error


PIECES = st.sampled_from(
    [*"0123456789.,+-eERkKmMuµΩVAhF%°'\" \t\n²½", "OL", "AWG", "mm2", " 000", "inf", "nan", "\N{MINUS SIGN}"]
)
ANY_TEXT = st.one_of(st.text(max_size=60), st.lists(PIECES, max_size=12).map("".join))


@given(text=ANY_TEXT, unit=st.sampled_from(Unit), allow=st.booleans(), low=st.none() | st.floats(-9, 9))
def test_any_text_is_a_number_or_a_quantity_error(
    text: str, unit: Unit, allow: bool, low: float | None
) -> None:
    outcome = quantity_or_error(text, unit, allow_overload=allow, low=low)
    if isinstance(outcome, QuantityError):
        assert outcome.reason
        assert outcome.next_step
        assert "\n" not in str(outcome)
    else:
        assert math.isfinite(outcome.value) or (allow and outcome.value == OVERLOAD)
        assert low is None or outcome.value >= low


GROUPINGS: list[Callable[[int, str], str]] = [
    lambda whole, part: f"{whole}.{part}",
    lambda whole, part: f"{whole},{part}",
    lambda whole, part: f"{whole:,}".replace(",", " ") + f",{part}",
    lambda whole, part: f"{whole:,}".replace(",", "\N{NARROW NO-BREAK SPACE}") + f".{part}",
    lambda whole, part: f"{whole:,}.{part}",
    lambda whole, part: f"{whole:,}".replace(",", ".") + f",{part}",
]


@pytest.mark.parametrize("write", GROUPINGS)
@given(whole=st.integers(0, 10**9), part=st.text("0123456789", min_size=1, max_size=6), minus=st.booleans())
def test_all_ways_to_write_a_number_agree(
    write: Callable[[int, str], str], whole: int, part: str, minus: bool
) -> None:
    text = ("-" if minus else "") + write(whole, part)
    expected = float(f"{'-' if minus else ''}{whole}.{part}")
    assert parse_quantity(text, Unit.VOLT).value == expected
