"""The normal distribution on arrays."""

from __future__ import annotations

from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_GRID = np.linspace(-6.0, 6.0, 2401)
_TABLE = np.array([0.5 * (1.0 + erf(x / sqrt(2.0))) for x in _GRID])


def normal_cdf(x: Array) -> Array:
    """Return the standard normal distribution function, to about 1e-6 (interpolated in a table of `math.erf`).

    >>> round(float(normal_cdf(np.array(1.0))), 4)
    0.8413
    """
    return np.asarray(np.interp(x, _GRID, _TABLE, left=0.0, right=1.0))


def normal_density(x: Array, mean: Array, sigma: Array) -> Array:
    """Return the normal density at `x`."""
    return np.asarray(np.exp(-0.5 * ((x - mean) / sigma) ** 2) / (sigma * sqrt(2.0 * np.pi)))


def box_density(x: Array, low: Array, high: Array, sigma: Array) -> Array:
    """Return the density at `x` of a value spread evenly from `low` to `high` and read with normal error `sigma`."""
    width = high - low
    wide = width > 0.5 * sigma
    safe = np.where(wide, width, 1.0)
    box = (normal_cdf((x - low) / sigma) - normal_cdf((x - high) / sigma)) / safe
    return np.where(wide, box, normal_density(x, 0.5 * (low + high), sigma))
