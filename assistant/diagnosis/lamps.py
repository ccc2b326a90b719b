"""Looks at a test lamp, weighed together.

What a lamp draws may make other loads give way, which is not foreseen: where it pulls down much, it may be brighter
than reckoned.  Whether they do is the same at the next look.  So how far the light is off for that reason is one
unknown for all looks, and their likelihood is the mean over it.  Taken anew for each, six that show the same would
weigh as six, and bury a story that merely does not foresee the first.  Which moment of a stutter the eye goes by is
drawn anew each time.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import LAMP_LEVELS, lamp_edges, lamp_level
from assistant.diagnosis.instruments import PULLED
from assistant.diagnosis.model import ReadingSeen
from assistant.diagnosis.normal import normal_cdf
from assistant.diagnosis.table import FaultTable

Array = NDArray[np.float64]

_COUNT = 16
_OFF = np.array([NormalDist().inv_cdf((n + 0.5) / _COUNT) for n in range(_COUNT)])
"""How far off a lamp may be, in standard deviations, each as likely as the others."""


def lamp_chances(shares: Array, unrest: Array) -> Array:
    """Return how likely a test lamp is called each of its levels at shares of its rated volts, shape (levels, ...)."""
    above = [normal_cdf((shares - cut) / np.hypot(sigma, unrest)) for cut, sigma in lamp_edges()]
    return np.asarray(-np.diff(np.stack([np.ones_like(shares), *above, np.zeros_like(shares)]), axis=0))


def looks_together(
    table: FaultTable, looks: Sequence[tuple[ReadingSeen, float]], there: Array | None
) -> tuple[Array, Array]:
    """Return what looks at a lamp (at least one) say together.

    Parameters
    ----------
    looks : each with the chance that it says nothing.
    there : share of the time that the fault of each cell is there, always when left out.

    Returns
    -------
    The logarithm of how likely all are on each variant, shape (cells, draws), and by how much each of them changed
    that, given the others, shape (looks, cells, draws).
    """
    given = np.stack([_given(table, look, slip, there) for look, slip in looks])
    joint = given.prod(axis=0)
    whole = joint.mean(axis=0)
    return np.log(whole), np.asarray(whole / (joint / given).mean(axis=1))


def _given(table: FaultTable, look: ReadingSeen, slip: float, there: Array | None) -> Array:
    """Return how likely a look is on each variant with the lamp so far off, shape (ways to be off, cells, draws)."""
    shown = table.state(look.measurement.state).shown_everywhere(look.measurement)
    values, level, wide = shown.values[0], LAMP_LEVELS.index(lamp_level(look.value)), 1.0 / len(LAMP_LEVELS)
    off_by = PULLED * shown.loaded[0]
    own = np.sqrt(np.maximum(shown.unrest[0] ** 2 - off_by**2, 0.0))
    chances = np.stack([lamp_chances(values + off * off_by, own)[level] for off in _OFF.tolist()])
    known = table.cells.by_time(np.where(np.isnan(values), wide, chances), there)
    return np.asarray((1.0 - slip) * known + slip * wide)
