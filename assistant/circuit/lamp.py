"""A test lamp between two points: a load, where a voltmeter is none.

A meter of ten megohm shows full volts behind a joint that carries next to nothing; a lamp of some watts pulls such a
joint down and stays dark.  Near a steady state the boat between two points is a voltage behind a resistance, and the
filament takes its share of it: cold it has about a tenth of its hot resistance, in between its current goes with about
the square root of the volts.  That its draw makes a regulator give way or a relay let go is not foreseen.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LAMP_V: Final = 12.0
LAMP_W: Final = 5.0
"""A lamp for side lights, 12 V and 5 W (common practice, no source)."""

MOST_SHARE: Final = 1.2
"""Share of its rated volts that a lamp bears for the time of a look (common practice, no source)."""

LAMP_LEVELS: Final = ("dark", "dim", "bright")
_CUTS: Final = (0.2, 0.5)
"""Shares of the rated volts; light goes with about their power of 3.5, so half of them give a tenth (from memory)."""

_BLUR: Final = 0.12
"""How far people differ about a cut, as a share of it (common practice, no source)."""

_CENTRES: Final = (0.1, 0.35, 0.75)
_COLD: Final = 0.1
"""Cold over hot resistance of a filament: about a tenth (from memory)."""

_CURVE: Final = 0.5
_HALVINGS: Final = 50


def filament_ohm(volts: Array) -> Array:
    """Return the resistance of the filament with some volts over it.

    >>> [round(float(filament_ohm(np.array(v))), 1) for v in (0.0, 3.0, 12.0)]
    [2.9, 14.4, 28.8]
    """
    hot = LAMP_V**2 / LAMP_W
    return np.asarray(hot * np.maximum(_COLD, (np.abs(volts) / LAMP_V) ** _CURVE))


def lamp_share(open_v: Array, source_ohm: Array) -> Array:
    """Return the volts over the lamp as a share of its rated ones, from those without it and what they stand behind.

    >>> (
    ...     round(float(lamp_share(np.array(12.0), np.array(0.0))), 3),
    ...     round(float(lamp_share(np.array(12.0), np.array(1e3))), 3),
    ... )
    (1.0, 0.003)
    """
    whole = np.abs(open_v)
    low, high = np.zeros_like(whole), whole.copy()
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        # Volts that the lamp and what feeds it take together rise with those of the lamp alone.
        wanted = middle * (1.0 + np.maximum(source_ohm, 0.0) / filament_ohm(middle))
        low, high = np.where(wanted < whole, middle, low), np.where(wanted < whole, high, middle)
    return np.asarray(0.5 * (low + high) / LAMP_V)


def lamp_value(level: str) -> float:
    """Return the share of its rated volts that a level stands for.

    >>> lamp_level(lamp_value("dim"))
    'dim'
    """
    return _CENTRES[LAMP_LEVELS.index(level)]


def lamp_level(share: float) -> str:
    """Return the level at a share of the rated volts."""
    return LAMP_LEVELS[sum(share >= cut for cut in _CUTS)]


def level_span(level: str) -> tuple[float, float]:
    """Return between which shares of the rated volts a lamp is called so."""
    number = LAMP_LEVELS.index(level)
    edges = (0.0, *_CUTS, MOST_SHARE)
    return edges[number], edges[number + 1]


def lamp_edges() -> tuple[tuple[float, float], ...]:
    """Return the cuts between levels, each with the standard deviation among people."""
    return tuple((cut, _BLUR * cut) for cut in _CUTS)
