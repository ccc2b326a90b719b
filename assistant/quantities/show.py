"""From a quantity to the text a person reads.

The size of unit is chosen from the table of units so that the number is one people say (350 mV, 15 cm, 4700
µF). Digits left of the decimal point are never rounded away. What is shown can be typed in again.
"""

import math
from typing import Final

from assistant.quantities.quantity import Quantity
from assistant.quantities.unit import Unit, facts_of

__all__ = ["format_quantity", "show"]

# Beyond these a plain number is a row of zeros nobody counts.
_PLAIN_FROM: Final = 1e-3
_PLAIN_BELOW: Final = 1e7


def format_quantity(quantity: Quantity, digits: int = 3) -> str:
    """Return a quantity as a person reads it.

    Parameters
    ----------
    quantity
        What to show.
    digits
        Significant digits, 1 or more; trailing zeros are left out.

    Notes
    -----
    Parsing the result gives the value back within half a unit of the last digit shown, for up to 15 digits
    and for 0 and absolute values from 1e-80 to 1e80. An echo of a reading should ask for more digits than
    the meter shows.

    Examples
    --------
    >>> format_quantity(Quantity(value=0.00055, unit=Unit.OHM))
    '0.55 mΩ'
    >>> format_quantity(Quantity(value=11.1, unit=Unit.VOLT))
    '11.1 V'
    """
    if quantity.is_overload:
        return "OL"
    value = quantity.value
    rounded = abs(_significant(value, digits))
    sizes = facts_of(quantity.unit).sizes
    if rounded:
        _, one, symbol = next(size for size in reversed(sizes) if rounded >= size[0])
    else:
        _, one, symbol = next((size for size in sizes if size[1] == 1), sizes[0])
    return f"{_number(value / one, digits)} {symbol}".rstrip()


def show(value: float, unit: Unit, digits: int = 3) -> str:
    """Return `format_quantity` for a bare value in `unit`; infinity is shown as OL.

    Raises
    ------
    MisuseError
        If the value is not a number or minus infinity.

    Examples
    --------
    >>> show(0.35, Unit.VOLT)
    '350 mV'
    """
    return format_quantity(Quantity(value=value, unit=unit), digits)


def _significant(value: float, digits: int) -> float:
    return float(f"{value:.{max(digits, 1) - 1}e}")


def _number(number: float, digits: int) -> str:
    """Decimal digits of a number, without trailing zeros."""
    size = abs(_significant(number, digits))
    if size == 0:
        return "0"
    if not _PLAIN_FROM <= size < _PLAIN_BELOW:
        return f"{number:.{digits}g}"
    decimals = max(0, digits - 1 - math.floor(math.log10(size)))
    text = f"{number:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if decimals else text
