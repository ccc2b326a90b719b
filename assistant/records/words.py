"""Readings, boat states, sizes and repairs as a sheet says them; text of a record made harmless."""

import math
import unicodedata
from typing import Final

from assistant.circuit import BoatState, MeterFunction, lamp_level, rest_state
from assistant.circuit.expectation import Band
from assistant.diagnosis import ReadingSeen
from assistant.dialogue.answers import UNIT_OF
from assistant.dialogue.states import changes_between
from assistant.quantities import Unit, show
from assistant.wiring import Boat, Lead, Part

__all__ = [
    "band_words",
    "harmless",
    "kind_words",
    "lead_words",
    "moment",
    "reading_words",
    "size_words",
    "state_words",
    "unit_of",
    "value_words",
]

_NOTHING_V: Final = 0.001
"""What the display of a cheap meter counts in at best on the range of the feed's volts."""

_AWG_ROOT_MM: Final = 0.127
_AWG_STEPS: Final = 39.0
_AWG_SMALLEST: Final = 36
_AWG_FROM_TO: Final = (0, 36)
_SAME_SIZE: Final = 0.02


def harmless(text: str) -> str:
    r"""Return text on one line, without what a terminal obeys or what turns writing around.

    >>> harmless("a\x1b[2J\u202eb\n<c>")
    'a[2Jb <c>'
    """
    return "".join(_harmless(character) for character in text)


def _harmless(character: str) -> str:
    if character in "\t\n\r\v\f":
        return " "
    category = unicodedata.category(character)
    if category in {"Zs", "Zl", "Zp"}:
        return " "
    return "" if category in {"Cc", "Cf", "Cs", "Co", "Cn"} else character


def unit_of(seen: ReadingSeen) -> Unit:
    """Return what a reading is in."""
    return UNIT_OF[seen.measurement.function]


def value_words(value: float, unit: Unit) -> str:
    """Return a value as it is written down; tenths of an ohm stay ohms, as on a cheap meter.

    >>> value_words(0.35, Unit.OHM), value_words(7.5812, Unit.VOLT), value_words(math.inf, Unit.OHM)
    ('0.35 Ω', '7.58 V', 'OL')
    """
    return f"{value:.2g} Ω" if unit is Unit.OHM and 0 < value < 1 else show(value, unit)


def reading_words(seen: ReadingSeen) -> str:
    """Return the value of a reading; of a test lamp its level."""
    if seen.measurement.function is MeterFunction.LAMP:
        return lamp_level(seen.value)
    return value_words(seen.value, unit_of(seen))


def band_words(band: Band, unit: Unit) -> str:
    """Return what a healthy boat shows.

    >>> band_words(Band(typical=7.2, low=6.9, high=7.6), Unit.VOLT)
    '6.9 to 7.6 V'
    >>> band_words(Band(typical=0.00002, low=-0.0001, high=0.0002), Unit.VOLT)
    'about 0 V'
    """
    if unit is Unit.VOLT and max(abs(band.low), abs(band.high)) < _NOTHING_V:
        return "about 0 V"
    if math.isinf(band.low):
        return "OL"
    low, high = value_words(band.low, unit), value_words(band.high, unit)
    if math.isinf(band.high):
        return f"{low} or more, or OL"
    number, _, name = low.rpartition(" ")
    return f"{number} to {high}" if high.endswith(f" {name}") else f"{low} to {high}"


def expected_of(seen: ReadingSeen, band: Band) -> str:
    """Return what a healthy boat shows where something was read."""
    if seen.measurement.function is MeterFunction.LAMP:
        return lamp_level(band.typical)
    return band_words(band, unit_of(seen))


def state_words(boat: Boat, state: BoatState) -> str:
    """Return what is set for a boat state, counted from everything off and unplugged."""
    texts = [change.text for change in changes_between(boat, rest_state(boat), state)]
    return "; ".join(texts) or "everything unplugged, off and let go"


def moment(at: str) -> str:
    """Return date and time as a sheet shows them.

    >>> moment("2025-06-14T09:30:05+02:00")
    '2025-06-14 09:30'
    """
    return harmless(at[:16].replace("T", " "))


def size_words(area_mm2: float) -> str:
    """Return the size of a wire: its gauge number where it is one (ASTM B258), else its area.

    >>> size_words(2.081), size_words(1.5)
    ('14 AWG', '1.5 mm²')
    """
    diameter = math.sqrt(4.0 * area_mm2 / math.pi)
    number = round(_AWG_SMALLEST - _AWG_STEPS * math.log(diameter / _AWG_ROOT_MM, 92.0))
    exact = math.pi / 4.0 * (_AWG_ROOT_MM * 92.0 ** ((_AWG_SMALLEST - number) / _AWG_STEPS)) ** 2
    low, high = _AWG_FROM_TO
    if low <= number <= high and abs(area_mm2 / exact - 1.0) < _SAME_SIZE:
        return f"{number} AWG"
    return show(area_mm2, Unit.SQUARE_MM, 2)


def lead_words(lead: Lead) -> str:
    """Return size and length of a lead."""
    return f"{size_words(lead.area_mm2)} {show(lead.length_m, Unit.METRE, 2)}"


def kind_words(part: Part) -> tuple[str, ...]:
    """Return the kind of a part, then what its description gives: what to go by when it is replaced."""
    pieces = [part.kind.name]
    for name, value in part.given.items():
        spec = part.kind.values.get(name)
        if spec is not None and not spec.choices:
            pieces.append(f"{spec.about.partition(' (')[0]} {show(value, spec.unit)}")
    return tuple(pieces)
