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
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from assistant.diagnosis.cells import at_any_moment
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

    def at(self, cells: NDArray[np.intp]) -> Sight:
        """Return the reading against some of the cells."""
        return replace(
            self,
            low=self.low[cells],
            high=self.high[cells],
            ways=self.ways[cells],
            sigma=self.sigma[cells],
            blind=self.blind[cells],
        )

    def where(self, chosen: NDArray[np.bool_], other: Sight) -> Sight:
        """Return this sight on the cells chosen, shape (cells, 1), and another of the same reading on the others."""
        return replace(
            self,
            low=np.where(chosen, self.low, other.low),
            high=np.where(chosen, self.high, other.high),
            ways=np.where(chosen, self.ways, other.ways),
            sigma=np.where(chosen, self.sigma, other.sigma),
            blind=np.where(chosen, self.blind, other.blind),
        )

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


def sighted(sights: Sequence[Sight], there: Array | None = None, well: int = 0) -> Sighted:
    """Return what readings (at least one) say together.

    Parameters
    ----------
    there : share of the time that the fault of each cell is there, always when left out.
    well : the cell that the boat is like the rest of the time.
    """
    always = _steady(sights)
    fickle = np.flatnonzero(there < 1.0) if there is not None else np.zeros(0, dtype=np.intp)
    if there is None or not len(fickle):
        return always
    away = np.full(len(fickle), well)
    at_times = _at_times([(s.at(fickle), s.at(away)) for s in sights], there[fickle, None])
    place = Place(
        middle=_put(always.place.middle, at_times.place.middle, fickle),
        spread=_put(always.place.spread, at_times.place.spread, fickle),
    )
    factors = always.factors.copy()
    factors[:, fickle] = at_times.factors
    return Sighted(logs=_put(always.logs, at_times.logs, fickle), factors=factors, place=place)


def _put(whole: Array, some: Array, cells: NDArray[np.intp]) -> Array:
    changed = whole.copy()
    changed[cells] = some
    return changed


def _steady(sights: Sequence[Sight]) -> Sighted:
    """Return what readings say together on boats whose faults are always there."""
    fit = _settled(sights)
    factors = np.stack([s.density(*fit.apart(i)) for i, s in enumerate(sights)])
    if len(sights) == 1:
        return Sighted(logs=np.log(factors[0]), factors=factors, place=fit.place())
    logs = fit.price()
    for sight in sights:
        logs = logs + np.log(sight.density(fit.shift(sight.ways), np.zeros_like(logs)))
    return Sighted(logs=logs, factors=factors, place=fit.place())


def _at_times(pairs: Sequence[tuple[Sight, Sight]], there: Array) -> Sighted:
    """Return what readings say together where each may have been taken with the fault there or away.

    To find the tolerances, each counts as taken in the likelier of the two; how likely it was is then the mean of both.

    Parameters
    ----------
    pairs : each reading against the boat with the fault there, and away.
    there : share of the time that it is there, shape (cells, 1).
    """
    fit = _settled([_likelier(here, gone, there) for here, gone in pairs])
    factors = np.stack(
        [
            at_any_moment(there, *(s.density(*fit.apart(i, s.ways)) for s in (here, gone)))
            for i, (here, gone) in enumerate(pairs)
        ]
    )
    if len(pairs) == 1:
        return Sighted(logs=np.log(factors[0]), factors=factors, place=fit.place())
    logs = fit.price()
    for here, gone in pairs:
        both = [s.density(fit.shift(s.ways), np.zeros_like(logs)) for s in (here, gone)]
        logs = logs + np.log(at_any_moment(there, *both))
    return Sighted(logs=logs, factors=factors, place=fit.place())


def _likelier(here: Sight, gone: Sight, there: Array) -> Sight:
    """Return on each cell the sight in which a reading was likelier taken, nothing known of the tolerances."""
    fresh = [
        s.density(np.zeros_like(s.sigma), (s.ways**2).sum(axis=1, keepdims=True)).mean(axis=1, keepdims=True)
        for s in (here, gone)
    ]
    return here.where(there * fresh[0] >= (1.0 - there) * fresh[1], gone)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """The tolerances that fit readings best, and what is left of each reading then.

    `middle` and `spread` are of shape (cells, draws, directions) and (..., directions, directions); `ways` are those of
    the readings, `weight` is how much each had to say, `rest` how far it lies off.
    """

    middle: Array
    spread: Array
    ways: Array
    weight: Array
    rest: Array

    def place(self) -> Place:
        """Return where the tolerances lie."""
        return Place(middle=self.middle, spread=self.spread.mean(axis=1))

    def price(self) -> Array:
        """Return the logarithm of what it costs that the tolerances lie there (Laplace), shape (cells, draws)."""
        return np.asarray(-0.5 * ((self.middle**2).sum(axis=2) - np.linalg.slogdet(self.spread)[1]))

    def shift(self, ways: Array) -> Array:
        """Return how far the tolerances move a reading that they move in these `ways`, shape (cells, draws)."""
        return np.asarray((self.middle @ ways[:, :, None])[..., 0])

    def apart(self, number: int, ways: Array | None = None) -> tuple[Array, Array]:
        """Return the same, and the variance that is left of it, had one of the readings had no say.

        `ways` are that reading's own when left out.
        """
        mine, weight = self.ways[number], self.weight[number]
        own = self._common(mine, mine)
        cross = own if ways is None else self._common(ways, mine)
        known = own if ways is None else self._common(ways, ways)
        free = weight / np.maximum(1.0 - weight * own, 1e-9)
        shift = self.shift(mine if ways is None else ways)
        return shift - cross * free * self.rest[number], known + cross**2 * free

    def _common(self, one: Array, other: Array) -> Array:
        """Return the covariance that the tolerances give two readings, shape (cells, draws)."""
        both = (one[:, :, None] * other[:, None, :]).reshape(len(one), -1, 1)
        return np.asarray((self.spread.reshape(*self.spread.shape[:2], -1) @ both)[..., 0])


def _settled(sights: Sequence[Sight]) -> _Fit:
    """Return the tolerances that fit readings best, those left out that are likelier slips."""
    ways = np.stack([s.ways for s in sights])
    off = np.stack([s.value - 0.5 * (s.low + s.high) for s in sights])
    noise = np.stack([s.spread() for s in sights])
    fresh = np.broadcast_to((ways**2).sum(axis=2)[:, :, None], off.shape)
    fit = _fit(off, noise, ways, _trust(sights, off, noise + fresh))
    for _ in range(_ROUNDS - 1):
        apart = [fit.apart(i) for i in range(len(sights))]
        rest, known = (np.stack(both) for both in zip(*apart, strict=True))
        fit = _fit(off, noise, ways, _trust(sights, off - rest, noise + known))
    return fit


def _fit(off: Array, noise: Array, ways: Array, trust: Array) -> _Fit:
    """Return the fit of readings that count as far as they are trusted."""
    weight = trust / noise
    squares = ways[:, :, :, None] * ways[:, :, None, :]
    count, directions = len(off), ways.shape[2]
    by_cell = weight.transpose(1, 2, 0) @ squares.reshape(count, -1, directions**2).transpose(1, 0, 2)
    inverse = by_cell.reshape(*off.shape[1:], directions, directions) + np.eye(directions)
    spread = np.asarray(np.linalg.inv(inverse), dtype=np.float64)
    pull = (weight * off).transpose(1, 2, 0) @ ways.transpose(1, 0, 2)
    middle = (spread @ pull[..., None])[..., 0]
    rest = off - (middle @ ways.transpose(1, 2, 0)).transpose(2, 0, 1)
    return _Fit(middle=middle, spread=spread, ways=ways, weight=weight, rest=rest)


def _trust(sights: Sequence[Sight], off: Array, variance: Array) -> Array:
    """Return how likely each reading is no slip on each variant, given how far off it lies."""
    density = normal_density(off, np.asarray(0.0), np.sqrt(variance))
    slip = np.array([s.slip for s in sights])[:, None, None]
    wide = np.array([s.wide for s in sights])[:, None, None]
    blind = np.stack([s.blind for s in sights])
    return np.where(blind, 0.0, (1.0 - slip) * density / ((1.0 - slip) * density + slip * wide))
