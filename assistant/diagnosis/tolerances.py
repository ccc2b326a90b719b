"""Tolerances that all readings of one boat share.

A cell is simulated for a few draws of the tolerances; between and around them lie all other boats of its kind.  Where
such a boat lies is one unknown for all readings: a pack charged higher than drawn lifts every voltage, and must be paid
for once.  Taken anew for each reading, a story in which readings vary less would gain by every reading that tells
nothing new.  So a draw is widened by a normal distribution over the directions in which the draws differ (a kernel),
readings move along them together, and the likelihood of all readings is the integral over it: Laplace's approximation,
exact for one reading and where no reading is a slip.  A reading that would drag the tolerances far off counts as a slip
in finding them, in so far as it is likelier one; each is weighed apart from what it made of the others, so that their
order does not matter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from assistant.diagnosis.normal import box_density, normal_density

Array = NDArray[np.float64]

KERNEL = 1.0
"""Width of the kernel that joins tolerance draws, as a share of their standard deviation."""

_ROUNDS = 2
"""How often it is told anew which readings are slips, once the tolerances are known better."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """A reading against what every variant would show; arrays of shape (cells, draws).

    Attributes
    ----------
    value : what was read.
    low, high : what a variant stands for.
    ways : how far a step in each direction of the tolerances moves the reading, shape (cells, directions).
    sigma : standard deviation from everything but the tolerances.
    slip, wide : chance that it says nothing, and the density it then has.
    blind : where nothing is expected.
    """

    value: float
    low: Array
    high: Array
    ways: Array
    sigma: Array
    slip: float
    wide: float
    blind: NDArray[np.bool_]

    def density(self, shift: Array, variance: Array) -> Array:
        """Return the density on each variant, the tolerances `shift` volts off and known to within `variance`."""
        sigma = np.sqrt(self.sigma**2 + variance)
        density = box_density(np.asarray(self.value), self.low + shift, self.high + shift, sigma)
        return (1.0 - self.slip) * np.where(self.blind, self.wide, density) + self.slip * self.wide

    def spread(self) -> Array:
        """Return the variance of everything but the tolerances, the severities a cell stands for included."""
        return self.sigma**2 + (self.high - self.low) ** 2 / 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where the tolerances of each variant lie, as far as readings tell.

    Attributes
    ----------
    middle : in standard deviations from the draw, shape (cells, draws, directions).
    spread : their covariance, shape (cells, directions, directions): the mean over the draws.
    """

    middle: Array
    spread: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighted:
    """What some readings say together.

    Attributes
    ----------
    logs : logarithm of their joint density on each variant, shape (cells, draws).
    factors : by how much each of them changed that, given the others, shape (readings, cells, draws).
    """

    logs: Array
    factors: Array
    place: Place


def ways_of(values: Array) -> Array:
    """Return how far a step in each direction of the tolerances moves readings: (..., draws) to (..., directions).

    The squares of the steps of one reading add up to the variance of the kernel.
    """
    draws = values.shape[-1]
    return np.asarray(KERNEL / np.sqrt(draws) * (values @ _directions(draws).T))


@cache
def _directions(draws: int) -> Array:
    """Return directions at right angles to each other and to the mean, shape (draws - 1, draws)."""
    steps = np.zeros((draws - 1, draws))
    for n in range(1, draws):
        steps[n - 1, :n] = 1.0
        steps[n - 1, n] = -n
    return np.asarray(steps / np.linalg.norm(steps, axis=1, keepdims=True))


def sighted(sights: Sequence[Sight]) -> Sighted:
    """Return what readings (at least one) say together."""
    ways = np.stack([s.ways for s in sights])
    off = np.stack([s.value - 0.5 * (s.low + s.high) for s in sights])
    noise = np.stack([s.spread() for s in sights])
    fresh = np.broadcast_to((ways**2).sum(axis=2)[:, :, None], off.shape)
    fit = _fit(sights, off, noise, ways, _trust(sights, off, noise + fresh))
    for _ in range(_ROUNDS - 1):
        fit = _fit(sights, off, noise, ways, _trust(sights, fit.rest_apart, noise + fit.known_apart))
    factors = np.stack(
        [s.density(off[i] - fit.rest_apart[i], fit.known_apart[i]) for i, s in enumerate(sights)]
    )
    if len(sights) == 1:
        logs = np.log(factors[0])
    else:
        logs = -0.5 * ((fit.middle**2).sum(axis=2) - np.linalg.slogdet(fit.spread)[1])
        for i, sight in enumerate(sights):
            logs = logs + np.log(sight.density(off[i] - fit.rest[i], np.zeros_like(fit.rest[i])))
    return Sighted(logs=logs, factors=factors, place=Place(middle=fit.middle, spread=fit.spread.mean(axis=1)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """The tolerances that fit readings best, and what is left of each reading then.

    `rest` is how far it lies off, `known` the variance the tolerances still give it; `_apart` means that it had no say.
    """

    middle: Array
    spread: Array
    rest: Array
    rest_apart: Array
    known_apart: Array


def _fit(sights: Sequence[Sight], off: Array, noise: Array, ways: Array, trust: Array) -> _Fit:
    """Return the fit of readings that count as far as they are trusted."""
    weight = trust / noise
    squares = ways[:, :, :, None] * ways[:, :, None, :]
    count, directions = len(sights), ways.shape[2]
    by_cell = weight.transpose(1, 2, 0) @ squares.reshape(count, -1, directions**2).transpose(1, 0, 2)
    inverse = by_cell.reshape(*off.shape[1:], directions, directions) + np.eye(directions)
    spread = np.asarray(np.linalg.inv(inverse), dtype=np.float64)
    pull = (weight * off).transpose(1, 2, 0) @ ways.transpose(1, 0, 2)
    middle = (spread @ pull[..., None])[..., 0]
    rest = off - (middle @ ways.transpose(1, 2, 0)).transpose(2, 0, 1)
    flat = spread.reshape(*off.shape[1:], -1)
    known = (flat @ squares.reshape(count, -1, directions**2).transpose(1, 2, 0)).transpose(2, 0, 1)
    free = 1.0 / np.maximum(1.0 - weight * known, 1e-9)
    return _Fit(middle=middle, spread=spread, rest=rest, rest_apart=rest * free, known_apart=known * free)


def _trust(sights: Sequence[Sight], off: Array, variance: Array) -> Array:
    """Return how likely each reading is no slip on each variant, given how far off it lies."""
    density = normal_density(off, np.asarray(0.0), np.sqrt(variance))
    slip = np.array([s.slip for s in sights])[:, None, None]
    wide = np.array([s.wide for s in sights])[:, None, None]
    blind = np.stack([s.blind for s in sights])
    return np.where(blind, 0.0, (1.0 - slip) * density / ((1.0 - slip) * density + slip * wide))
