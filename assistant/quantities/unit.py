"""The units and, in one table, everything known about each.

The table drives parsing (names, prefixes, other units that convert), messages (what the unit is called, an
example) and display (the sizes a person reads). A prefix letter keeps its case where the case matters (m is
milli, M is mega); the rest of a unit may be typed in any case.
"""

import math
import re
from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from attrs import field, frozen

__all__ = ["Unit", "UnitFacts", "conversion", "facts_of", "identify"]

FOOT_M: Final = 0.3048  # International foot, exact by definition (1959 agreement, m).
INCH_M: Final = FOOT_M / 12
ZERO_CELSIUS_K: Final = 273.15  # Exact by definition of the Celsius scale (SI brochure, m).

PREFIXES: Final[Mapping[str, float]] = MappingProxyType(
    {
        "p": 1e-12,
        "n": 1e-9,
        "u": 1e-6,
        "m": 1e-3,
        "c": 1e-2,
        "k": 1e3,
        "M": 1e6,
        "G": 1e9,
    }
)
_PREFIX_SPELLINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        **{letter: letter for letter in PREFIXES},
        "P": "p",
        "N": "n",
        "U": "u",
        "\N{GREEK SMALL LETTER MU}": "u",
        "C": "c",
        "K": "k",
        "nano": "n",
        "micro": "u",
        "milli": "m",
        "kilo": "k",
        "mega": "M",
    }
)

_WORD_LENGTHS: Final = tuple(sorted({len(word) for word in _PREFIX_SPELLINGS} - {1}))
# What people put between the words of a unit: amp-hours, A·h, sq mm.
_FILLING: Final = re.compile(r"(?<=[^\W\d_])[-·\N{DOT OPERATOR} ]+(?=[^\W\d_])")


class Unit(StrEnum):
    """What a value is counted in inside the program; SI but for wire and temperature."""

    VOLT = "V"
    AMP = "A"
    OHM = "ohm"
    WATT = "W"
    FARAD = "F"
    AMP_HOUR = "Ah"
    METRE = "m"
    SECOND = "s"
    HERTZ = "Hz"
    RADIAN_PER_SECOND = "rad/s"
    CELSIUS = "degC"
    KELVIN = "K"
    """A temperature difference, such as a rise above the air; a temperature itself is CELSIUS."""
    KELVIN_PER_WATT = "K/W"
    PER_KELVIN = "1/K"
    RATIO = "ratio"
    """A share of a whole: 1 is 100 %."""
    SQUARE_MM = "mm2"
    """Copper cross-section of a wire; may be typed as a gauge (AWG)."""
    COUNT = "count"

    @property
    def symbol(self) -> str:
        """The unit as a person reads it, such as Ω; empty for a plain number."""
        return _FACTS[self].symbol

    @property
    def called(self) -> str:
        """The unit in words, such as "volts (V)"."""
        return _FACTS[self].called

    @property
    def example(self) -> str:
        """A value in this unit as somebody would type it."""
        return _FACTS[self].example


@frozen(kw_only=True)
class UnitFacts:
    """One row of the table of units.

    Parameters
    ----------
    symbol, called, example
        For messages: see `Unit`.
    names
        Spellings in lower case without prefix or spaces.
    prefixes
        Prefix letters that make sense with this unit.
    bare
        Prefix letters that may stand alone, as in ``4.7k``.
    others
        Further spellings, as (factor, offset): the value is ``factor·x + offset``.
    codes
        Letters that may stand for the decimal point, and their factor.
    leading_code
        Whether such a letter may come first, as in ``R47``.
    sizes
        What to display, ascending: (from this absolute value on, value of one, symbol).
    """

    symbol: str
    called: str
    example: str
    names: tuple[str, ...] = ()
    prefixes: str = ""
    bare: str = ""
    others: Mapping[str, tuple[float, float]] = field(factory=dict)
    codes: Mapping[str, float] = field(factory=dict)
    leading_code: bool = False
    sizes: tuple[tuple[float, float, str], ...]


_RPM: Final = 2 * math.pi / 60

# Letters in place of the decimal point: IEC 60062 (s for R, K, M).
_RESISTANCE_CODES: Final = {"R": 1.0, "r": 1.0, "K": 1e3, "k": 1e3, "M": 1e6, "G": 1e9}
_CAPACITANCE_CODES: Final = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "\N{GREEK SMALL LETTER MU}": 1e-6, "F": 1.0}

_FACTS: Final[Mapping[Unit, UnitFacts]] = MappingProxyType(
    {
        Unit.VOLT: UnitFacts(
            symbol="V",
            called="volts (V)",
            example="11.1 V",
            names=("v", "volt", "volts", "vdc", "voltsdc"),
            prefixes="umk",
            codes={"V": 1.0, "v": 1.0},
            sizes=((0, 1e-3, "mV"), (1, 1, "V"), (1e3, 1e3, "kV")),
        ),
        Unit.AMP: UnitFacts(
            symbol="A",
            called="amps (A)",
            example="2.5 A",
            names=("a", "amp", "amps", "ampere", "amperes", "adc"),
            prefixes="numk",
            sizes=((0, 1e-6, "µA"), (1e-3, 1e-3, "mA"), (1, 1, "A"), (1e3, 1e3, "kA")),
        ),
        Unit.OHM: UnitFacts(
            symbol="Ω",
            called="ohms (Ω)",
            example="4.7 kΩ",
            names=("ω", "ohm", "ohms", "r"),
            prefixes="umkMG",
            bare="kMG",
            others={"kilohm": (1e3, 0.0), "kilohms": (1e3, 0.0), "megohm": (1e6, 0.0), "megohms": (1e6, 0.0)},
            codes=_RESISTANCE_CODES,
            leading_code=True,
            sizes=((0, 1e-3, "mΩ"), (1, 1, "Ω"), (1e3, 1e3, "kΩ"), (1e6, 1e6, "MΩ")),
        ),
        Unit.WATT: UnitFacts(
            symbol="W",
            called="watts (W)",
            example="40 W",
            names=("w", "watt", "watts"),
            prefixes="umk",
            sizes=((0, 1e-3, "mW"), (1, 1, "W"), (1e3, 1e3, "kW")),
        ),
        Unit.FARAD: UnitFacts(
            symbol="F",
            called="farads (F)",
            example="270 µF",
            names=("f", "farad", "farads"),
            prefixes="pnum",
            bare="pnu",
            codes=_CAPACITANCE_CODES,
            leading_code=True,
            # Cans are marked in µF up to tens of thousands, so there is no step of mF.
            sizes=((0, 1e-12, "pF"), (1e-9, 1e-9, "nF"), (1e-6, 1e-6, "µF"), (0.1, 1, "F")),
        ),
        Unit.AMP_HOUR: UnitFacts(
            symbol="Ah",
            called="amp-hours (Ah)",
            example="3300 mAh",
            names=("ah", "amphour", "amphours", "amperehour", "amperehours"),
            prefixes="m",
            sizes=((0, 1e-3, "mAh"), (1, 1, "Ah")),
        ),
        Unit.METRE: UnitFacts(
            symbol="m",
            called="a length (m, cm, in)",
            example="15 cm",
            names=("m", "metre", "metres", "meter", "meters"),
            prefixes="umck",
            others={
                **dict.fromkeys(("in", "inch", "inches", '"', "\N{PRIME}\N{PRIME}"), (INCH_M, 0.0)),
                **dict.fromkeys(("ft", "foot", "feet", "'", "\N{PRIME}"), (FOOT_M, 0.0)),
            },
            sizes=((0, 1e-3, "mm"), (1e-2, 1e-2, "cm"), (1, 1, "m"), (1e3, 1e3, "km")),
        ),
        Unit.SECOND: UnitFacts(
            symbol="s",
            called="a time (s, ms, min, h)",
            example="30 s",
            names=("s", "sec", "secs", "second", "seconds"),
            prefixes="num",
            others={
                **dict.fromkeys(("min", "mins", "minute", "minutes"), (60.0, 0.0)),
                **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), (3600.0, 0.0)),
            },
            sizes=(
                (0, 1e-6, "µs"),
                (1e-3, 1e-3, "ms"),
                (1, 1, "s"),
                (120, 60, "min"),
                (7200, 3600, "h"),
            ),
        ),
        Unit.HERTZ: UnitFacts(
            symbol="Hz",
            called="a frequency (Hz)",
            example="50 Hz",
            names=("hz", "hertz"),
            prefixes="kMG",
            sizes=((0, 1, "Hz"), (1e3, 1e3, "kHz"), (1e6, 1e6, "MHz"), (1e9, 1e9, "GHz")),
        ),
        Unit.RADIAN_PER_SECOND: UnitFacts(
            symbol="rad/s",
            called="a speed (rpm or rad/s)",
            example="9000 rpm",
            names=("rad/s",),
            others=dict.fromkeys(("rpm", "r/min", "rev/min", "1/min"), (_RPM, 0.0)),
            sizes=((0, _RPM, "rpm"),),
        ),
        Unit.CELSIUS: UnitFacts(
            symbol="°C",
            called="a temperature (°C)",
            example="20 °C",
            names=("°c", "c", "degc", "degreesc", "celsius", "degreescelsius"),
            others={
                "k": (1.0, -ZERO_CELSIUS_K),
                **dict.fromkeys(("°f", "degf", "fahrenheit"), (5 / 9, -32 * 5 / 9)),
            },
            sizes=((0, 1, "°C"),),
        ),
        Unit.KELVIN: UnitFacts(
            symbol="K",
            called="a temperature difference (K)",
            example="40 K",
            names=("k", "kelvin"),
            sizes=((0, 1, "K"),),
        ),
        Unit.KELVIN_PER_WATT: UnitFacts(
            symbol="K/W",
            called="a thermal resistance (K/W)",
            example="50 K/W",
            names=("k/w", "°c/w", "c/w"),
            sizes=((0, 1, "K/W"),),
        ),
        Unit.PER_KELVIN: UnitFacts(
            symbol="1/K",
            called="a change per degree (1/K or %/K)",
            example="0.4 %/K",
            names=("1/k", "/k"),
            others={"%/k": (0.01, 0.0), "ppm/k": (1e-6, 0.0)},
            sizes=((0, 0.01, "%/K"),),
        ),
        Unit.RATIO: UnitFacts(
            symbol="%",
            called="a share (%)",
            example="50 %",
            others={
                **dict.fromkeys(("%", "percent", "pct"), (0.01, 0.0)),
                "\N{PER MILLE SIGN}": (0.001, 0.0),
            },
            sizes=((0, 0.01, "%"),),
        ),
        Unit.SQUARE_MM: UnitFacts(
            symbol="mm²",
            called="a wire size (mm² or AWG)",
            example="2.5 mm² or 14 AWG",
            names=("mm2", "mm^2", "sqmm", "squaremm"),
            sizes=((0, 1, "mm²"),),
        ),
        Unit.COUNT: UnitFacts(symbol="", called="a plain number", example="6", sizes=((0, 1, ""),)),
    }
)


def facts_of(unit: Unit) -> UnitFacts:
    """Return the row of the table for `unit`."""
    return _FACTS[unit]


def conversion(spelling: str, unit: Unit) -> tuple[float, float] | None:
    """Tell how to turn a number typed with `spelling` into `unit`.

    Parameters
    ----------
    spelling
        What was typed after the number, normalised (NFKC); may be empty.
    unit
        The unit wanted.

    Returns
    -------
    tuple of float, or None
        (factor, offset), or None where the spelling does not belong to `unit`.
    """
    facts = _FACTS[unit]
    packed = _FILLING.sub("", spelling.strip())
    folded = packed.casefold()
    if not folded or folded in facts.names:
        return 1.0, 0.0
    if folded in facts.others:
        return facts.others[folded]
    for length in (1, *_WORD_LENGTHS):
        prefix = _PREFIX_SPELLINGS.get(packed[:length] if length == 1 else folded[:length], "")
        rest = folded[length:]
        allowed = facts.prefixes if rest in facts.names else "" if rest else facts.bare
        if prefix and prefix in allowed:
            return PREFIXES[prefix], 0.0
    return None


def identify(spelling: str) -> Unit | None:
    """Return the first unit that `spelling` belongs to, so that a message can name what was given."""
    if not spelling.strip():
        return None
    if spelling.strip().casefold() == "awg":
        return Unit.SQUARE_MM
    return next((unit for unit in Unit if conversion(spelling, unit) is not None), None)
