"""From typed text to a quantity.

The text is normalised (NFKC, so that full-width digits, narrow spaces and both micro and ohm signs fall
together), then read as an overload, a wire gauge, a component code such as 4k7, or a number with a unit, in
this order. Patterns decide what is a number before it is converted, and length and exponent are bounded, so
that no text can do harm. Every refusal says what was found, what is wanted, and what to type.
"""

import re
import unicodedata
from fractions import Fraction
from typing import Final, NoReturn

from assistant.errors import QuantityError, quote
from assistant.quantities.quantity import OVERLOAD, Quantity
from assistant.quantities.show import show
from assistant.quantities.unit import Unit, conversion, facts_of, identify
from assistant.quantities.wire import MAX_GAUGE, MIN_GAUGE, awg_mm2

__all__ = ["MAX_LENGTH", "parse_quantity"]

MAX_LENGTH: Final = 40
"""Most characters a typed quantity may have."""

_DASHES: Final = str.maketrans(dict.fromkeys("\N{MINUS SIGN}\N{HYPHEN}\N{EN DASH}", "-"))

_NUMBER: Final = re.compile(
    r"""
    (?P<sign>[+-]?)\ ?
    (?P<digits>
        [1-9][0-9]{0,2} (?:\ [0-9]{3})+ (?:[.,][0-9]+)?     # 1 234,5
      | [1-9][0-9]{0,2} (?:,[0-9]{3})+ \.[0-9]+             # 1,234.5
      | [1-9][0-9]{0,2} (?:\.[0-9]{3})+ ,[0-9]+             # 1.234,5
      | [1-9][0-9]{0,2} (?:,[0-9]{3}){2,}                   # 1,234,567
      | [1-9][0-9]{0,2} (?:\.[0-9]{3}){2,}                  # 1.234.567
      | [0-9]+ (?:[.,][0-9]+)?
      | [.,][0-9]+
    )
    (?![0-9])
    (?P<exponent>(?:[eE][+-]?[0-9]{1,2}(?![0-9]))?)
    (?P<rest>.*)
    """,
    re.VERBOSE | re.DOTALL,
)
_CODE: Final = re.compile(
    r"(?P<sign>[+-]?)(?P<whole>[0-9]*)(?P<letter>[^\W\d_])(?P<part>[0-9]+)(?P<rest>\D*)"
)
_GAUGE: Final = re.compile(r"awg ?(?P<after>[0-9]{1,2})|(?P<before>[0-9]{1,2}) ?awg", re.IGNORECASE)
_OVERLOAD: Final = re.compile(r"(?:[o0]l|overload|overrange)(?P<rest>.*)", re.IGNORECASE)


def parse_quantity(
    text: str,
    unit: Unit,
    *,
    allow_overload: bool = False,
    low: float | None = None,
    high: float | None = None,
) -> Quantity:
    """Return the quantity that a person typed.

    A missing unit means `unit`; any other that converts is converted. **A single comma is always a decimal
    comma**: ``1,234`` is a little more than one. Thousands may be set apart by spaces, or by commas or points
    wherever that can mean nothing else (``1,234.5``, ``1.234,5``, ``1,234,567``). A number that ends in its
    decimal point is refused, because some meters show an overload as a lone ``1 .``.

    Parameters
    ----------
    text
        What was typed, at most `MAX_LENGTH` characters.
    unit
        The unit wanted, and the unit of the result.
    allow_overload
        Whether the meter's "OL" is an answer.
    low, high
        Smallest and largest value that makes sense, in `unit`, both included; an overload is not checked.

    Returns
    -------
    Quantity
        In `unit`; its value is `OVERLOAD` for "OL".

    Raises
    ------
    QuantityError
        If the text is not one number in a fitting unit and range; no other error, whatever the text.

    References
    ----------
    Component codes: IEC 60062. Wire gauges: ASTM B258.

    Examples
    --------
    >>> parse_quantity("1500 mV", Unit.VOLT).value
    1.5
    >>> parse_quantity("4k7", Unit.OHM).value
    4700.0
    >>> parse_quantity("11,1", Unit.VOLT).value
    11.1
    """
    typed = _normalised(text, unit)
    overload = _OVERLOAD.fullmatch(typed.replace(".", "").replace(" ", ""))
    if overload and conversion(overload["rest"], unit) is not None:
        if allow_overload:
            return Quantity(value=OVERLOAD, unit=unit)
        _refuse(text, "an overload is no value here", f"type a number, such as {unit.example}")
    value = _gauge_mm2(typed, text) if unit is Unit.SQUARE_MM else None
    if value is None:
        value = _coded(typed, unit)
    if value is None:
        value = _plain(typed, unit, text)
    _check_range(text, value, unit, low, high)
    return Quantity(value=value, unit=unit)


def _refuse(text: str, reason: str, next_step: str) -> NoReturn:
    raise QuantityError(value=text, reason=reason, next_step=next_step) from None


def _normalised(text: str, unit: Unit) -> str:
    """Text in one spelling of digits, signs, spaces and letters."""
    if len(text) > MAX_LENGTH:
        _refuse(text, f"longer than {MAX_LENGTH} characters", f"type one number, such as {unit.example}")
    squared = text.replace("mm²", "mm2")
    # NFKC would turn 5² into 52 and ① into 1, so such digits must go first.
    if any(unicodedata.category(char) == "No" for char in squared):
        _refuse(text, "it has raised or special digits", f"type plain digits, such as {unit.example}")
    plain = unicodedata.normalize("NFKC", squared).translate(_DASHES)
    # Line breaks are left in, and refused later: digits on two lines are two numbers.
    plain = re.sub(r"[ \t]+", " ", plain).strip(" ")
    if not plain:
        _refuse(text, "nothing was typed", f"type a number, such as {unit.example}")
    if len(plain) > MAX_LENGTH:
        _refuse(text, f"longer than {MAX_LENGTH} characters", f"type one number, such as {unit.example}")
    return plain


def _gauge_mm2(typed: str, text: str) -> float | None:
    """Cross-section of a gauge such as ``14 AWG``; None where no gauge is meant."""
    if "awg" not in typed.casefold():
        return None
    found = _GAUGE.fullmatch(typed)
    gauge = int(found["after"] or found["before"]) if found else -1
    if not MIN_GAUGE <= gauge <= MAX_GAUGE:
        step = f"type a whole gauge from {MIN_GAUGE} to {MAX_GAUGE}, such as 14 AWG, or a size in mm²"
        _refuse(text, "not a wire gauge", step)
    return awg_mm2(gauge)


def _coded(typed: str, unit: Unit) -> float | None:
    """Value of a code such as 4k7 or R47; None where the text is none."""
    facts = facts_of(unit)
    found = _CODE.fullmatch(typed)
    if not found or found["letter"] not in facts.codes:
        return None
    if not found["whole"] and not facts.leading_code:
        return None
    if found["rest"].strip().casefold() not in ("", *facts.names):
        return None
    return _exact(found["sign"], f"{found['whole']}.{found['part']}", facts.codes[found["letter"]])


def _plain(typed: str, unit: Unit, text: str) -> float:
    """Value of a number with or without a unit."""
    found = _NUMBER.fullmatch(typed)
    if not found:
        _refuse(text, f"this is no number, wanted {unit.called}", f"type it like {unit.example}")
    rest = found["rest"].strip()
    convert = conversion(rest, unit)
    if convert is None:
        _refuse_unit(text, rest, unit)
    return _exact(found["sign"], _decimal(found["digits"]) + found["exponent"], *convert)


def _exact(sign: str, number: str, factor: float, offset: float = 0.0) -> float:
    """Return factor·number + offset, rounded once, so that 350 mV is 0.35 V to the last bit."""
    return float(Fraction(sign + number) * Fraction(repr(factor)) + Fraction(repr(offset)))


def _decimal(digits: str) -> str:
    """Digits with a decimal point and without separators of thousands."""
    packed = digits.replace(" ", "")
    last = max(packed.rfind(","), packed.rfind("."))
    whole, part = packed, ""
    if last >= 0 and packed.count(packed[last]) == 1:
        whole, part = packed[:last], packed[last + 1 :]
    return f"{whole.replace(',', '').replace('.', '')}.{part}"


def _refuse_unit(text: str, rest: str, unit: Unit) -> NoReturn:
    """Say why what follows the number cannot be used."""
    given = identify(rest)
    step = f"type it like {unit.example}"
    if given is not None:
        _refuse(text, f"found {given.called}, wanted {unit.called}", step)
    if rest in (".", ","):
        _refuse(text, "the number is not finished", f"{step}, or OL if the meter shows a lone 1")
    if any(char.isdigit() for char in rest):
        _refuse(text, "more than one number", f"type one, like {unit.example}")
    _refuse(text, f"{quote(rest)} is no unit known here, wanted {unit.called}", step)


def _check_range(text: str, value: float, unit: Unit, low: float | None, high: float | None) -> None:
    """Refuse a value outside the limits, naming them."""
    too_low = low is not None and value < low
    too_high = high is not None and value > high
    if not (too_low or too_high):
        return
    least = "" if low is None else show(low, unit, digits=6)
    most = "" if high is None else show(high, unit, digits=6)
    read = show(value, unit, digits=6)
    reason = f"{read} is less than {least}" if too_low else f"{read} is more than {most}"
    half_open = f"of at least {least}" if least else f"of at most {most}"
    allowed = f"from {least} to {most}" if least and most else half_open
    _refuse(text, reason, f"check the number and its unit, and type a value {allowed}")
