"""The next step: most expected information about the repair for its cost.

A reading's outcomes are cut where the predictions of the cells still in question leave gaps, and at quantiles where
they run together.  The information is that between outcome and *repair*, not between outcome and fault: telling apart
two faults that are mended alike is worth nothing.  Cells of hardly any weight are left out of the reckoning (not out
of the belief).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import RIPPLE_SPREAD, Measurement, MeterFunction, lamp_edges
from assistant.diagnosis.belief import (
    MISREAD,
    MISSEEN,
    OHM_FLOOR,
    Belief,
    ohm_spread,
    on_scale,
    reading_sigma,
    ripple_log,
    span_of,
)
from assistant.diagnosis.cells import at_any_moment
from assistant.diagnosis.model import RepairId, SignQuery
from assistant.diagnosis.moving import changes_each
from assistant.diagnosis.normal import normal_cdf
from assistant.diagnosis.table import FaultTable, cells_behind
from assistant.diagnosis.tolerances import Place, ways_of

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

_LEFT_OUT = 0.01
_MOST_CELLS = 200
"""Heaviest cells that a step is weighed over: it bounds the time of a step (by trial)."""

_GAPS = 6
_QUANTILES = (0.15, 0.35, 0.5, 0.65, 0.85)
_CLEAR_GAP = 1.5
TOGETHER = 128
"""Readings foreseen at once, at most."""


@dataclass(frozen=True, slots=True)
class Field:
    """The cells still in question, sorted by repair.

    Attributes
    ----------
    cells : their numbers.
    weights : probability of each of their variants (sum 1), shape (cells, draws).
    repairs : the number of each cell's repair, ascending.
    count : how many repairs there are.
    place : where the tolerances of the cells lie, as far as readings told; None where nothing is known of them.
    there : share of the time that the fault of every cell of the table is there; None: always.
    """

    cells: Rows
    weights: Array
    repairs: Rows
    count: int
    place: Place | None = None
    there: Array | None = None

    def masses(self) -> Array:
        """Return the probability of each repair."""
        return np.asarray(np.bincount(self.repairs, self.weights.sum(axis=1), self.count), dtype=np.float64)


def field_of(table: FaultTable, belief: Belief) -> Field:
    """Return the weightiest cells that together make up nearly all of the belief."""
    return make_field(table, belief, repair_numbers(table)[table.cells.owner])


def rivals_field(table: FaultTable, belief: Belief, repairs: Collection[RepairId | None]) -> Field:
    """Return the field of two sides: some repairs (None: the healthy boat), and everything else."""
    return make_field(table, belief, cells_behind(table, repairs).astype(np.intp))


def make_field(table: FaultTable, belief: Belief, repairs: Rows) -> Field:
    """Return the weightiest cells, `repairs` being the number of every cell's repair."""
    masses = belief.cells
    heaviest = np.argsort(-masses, kind="stable")[:_MOST_CELLS]
    running = np.cumsum(masses[heaviest])
    enough = int(np.searchsorted(running, (1.0 - _LEFT_OUT) * masses.sum())) + 1
    kept = _with_neighbours(table, heaviest[:enough])
    kept = kept[np.argsort(repairs[kept], kind="stable")]
    present, numbers = np.unique(repairs[kept], return_inverse=True)
    weights = belief.variants[kept]
    place = belief.place
    if place is not None:
        place = Place(middle=place.middle[kept], spread=place.spread[kept])
    return Field(kept, weights / weights.sum(), numbers.astype(np.intp), len(present), place, belief.there)


def _with_neighbours(table: FaultTable, cells: Rows) -> Rows:
    """Return the cells in order with the neighbouring severities of each."""
    owner = table.cells.owner
    near = np.clip(np.concatenate([cells - 1, cells, cells + 1]), 0, len(owner) - 1)
    return np.unique(near[owner[near] == owner[np.tile(cells, 3)]])


def contrast_field(table: FaultTable, belief: Belief, repair: RepairId) -> Field:
    """Return a field of two even chances: the boat with the faults behind `repair`, and the healthy boat."""
    behind, well = cells_behind(table, [repair]), cells_behind(table, [None])
    cells = np.concatenate([np.flatnonzero(behind), np.flatnonzero(well)])
    repairs = well[cells].astype(np.intp)
    weights = np.where(
        well[cells, None], belief.prior[cells], belief.variants[cells] + 1e-12 * belief.prior[cells]
    )
    sides = np.bincount(repairs, weights=weights.sum(axis=1))
    return Field(cells, 0.5 * weights / sides[repairs, None], repairs, 2)


def duel_field(table: FaultTable, belief: Belief, first: RepairId, second: RepairId) -> Field:
    """Return a field of two even chances: the likeliest cell behind one repair, and that behind the other."""
    masses = belief.cells
    cells = np.array(
        [np.argmax(np.where(cells_behind(table, [repair]), masses, -1.0)) for repair in (first, second)],
        dtype=np.intp,
    )
    weights = np.full((2, table.cells.draws), 0.5 / table.cells.draws)
    return Field(cells, weights, np.array([0, 1], dtype=np.intp), 2)


def repair_numbers(table: FaultTable) -> Rows:
    """Return a number for the first repair of each hypothesis; equal repairs share it."""
    return table.repair_of


def gains_bits(field: Field, outcomes: Array) -> Array:
    """Return the mutual information (bits) between the outcome of each candidate and the repair.

    Parameters
    ----------
    outcomes : probability of each outcome on each variant, shape (candidates, outcomes, cells · draws).
    """
    starts = np.flatnonzero(np.diff(field.repairs, prepend=-1)) * field.weights.shape[1]
    joint = np.add.reduceat(outcomes * field.weights.reshape(-1), starts, axis=2)
    return (
        entropy_bits(joint.sum(axis=2))
        + entropy_bits(joint.sum(axis=1))
        - entropy_bits(joint.reshape(len(joint), -1))
    )


def entropy_bits(masses: Array) -> Array:
    """Return the entropy in bits along the last axis."""
    safe = np.maximum(masses, 1e-300)
    return np.asarray(-(masses * np.log2(safe)).sum(axis=-1))


def sign_outcomes(table: FaultTable, field: Field, query: SignQuery) -> Array:
    """Return the probability of each level of a sign on each variant of the field, slips included."""
    chances = table.levels_at(query, field.cells, field.there).reshape(-1, field.weights.size)
    return (1.0 - MISSEEN) * chances + MISSEEN / len(chances)


def sign_gains(field: Field, levels: Sequence[Array]) -> Array:
    """Return the information (bits) looking at each of some signs is expected to bring about the repair.

    `levels` are the chances of the levels of each on the cells of the field, slips left out: (levels, cells, draws).
    """
    gains = np.zeros(len(levels))
    counts = np.array([len(chances) for chances in levels])
    for count in np.unique(counts):
        alike = np.flatnonzero(counts == count)
        chances = np.stack([levels[n] for n in alike.tolist()]).reshape(len(alike), count, -1)
        gains[alike] = gains_bits(field, (1.0 - MISSEEN) * chances + MISSEEN / count)
    return gains


@dataclass(frozen=True, slots=True)
class Forecast:
    """What readings would show on each variant of a field: mean and standard deviation, shape (readings, variants).

    Ohms and AC millivolts are in log units.  `away` is what they would show on the variants numbered `fickle` while the
    fault of these is away; it is there for the share of the time `there`.  `cuts` are those of what is told by level.
    """

    mean: Array
    sigma: Array
    fickle: Rows
    there: Array
    away: tuple[Array, Array]
    cuts: tuple[float, ...] = ()

    def take(self, readings: Rows) -> Forecast:
        """Return the forecast of some of the readings."""
        away = self.away[0][readings], self.away[1][readings]
        return replace(self, mean=self.mean[readings], sigma=self.sigma[readings], away=away)

    def most_bits(self, field: Field) -> Array:
        """Return what each reading can tell at most, about anything; no more than if all readings were normal together.

        With a given variance nothing is less certain than the normal distribution, and nothing tells more than to know
        the variant, and whether its fault is there (Cover and Thomas, from memory).
        """
        now = field.weights.reshape(-1).copy()
        gone = now[self.fickle] * (1.0 - self.there)
        now[self.fickle] *= self.there
        weights = np.concatenate([now, gone])
        mean = np.concatenate([self.mean, self.away[0]], axis=1)
        variance = np.concatenate([self.sigma, self.away[1]], axis=1) ** 2
        whole = variance @ weights + ((mean - (mean @ weights)[:, None]) ** 2) @ weights
        return np.asarray(0.5 * (np.log2(whole) - np.log2(variance) @ weights))

    def edges(self, field: Field) -> Array:
        """Return where each reading's outcomes are cut, ascending, shape (readings, edges); equal edges do not count.

        Cuts lie in the clearest gaps between predictions and, where these run together, at quantiles.
        """
        if self.cuts:
            return np.tile(np.array(self.cuts), (len(self.mean), 1))
        order = np.argsort(self.mean, axis=1, kind="stable")
        mean = np.take_along_axis(self.mean, order, axis=1)
        sigma = np.take_along_axis(self.sigma, order, axis=1)
        weights = field.weights.reshape(-1)
        running = np.cumsum(weights[order], axis=1)
        top = mean[:, -1:] + 50.0 * sigma[:, -1:]
        if mean.shape[1] < 2:
            return top
        gaps = np.diff(mean, axis=1)
        both = sigma[:, :-1] + sigma[:, 1:]
        clear = gaps / both
        worth = clear * np.minimum(running[:, :-1], 1.0 - running[:, :-1])
        worth = np.where(clear > _CLEAR_GAP, worth, 0.0)
        widest = np.argsort(-worth, axis=1, kind="stable")[:, :_GAPS]
        at = np.take_along_axis(mean[:, :-1] + gaps * sigma[:, :-1] / both, widest, axis=1)
        cuts = np.where(np.take_along_axis(worth, widest, axis=1) > 0.0, at, top)
        spots = np.stack([(running < q).sum(axis=1) for q in _QUANTILES], axis=1)
        spots = np.minimum(spots, mean.shape[1] - 1)
        middle = np.take_along_axis(mean, spots, axis=1)
        wide = mean[:, -1:] - mean[:, :1] > 2.0 * np.take_along_axis(sigma, spots, axis=1)
        return np.sort(np.concatenate([cuts, np.where(wide, middle, top)], axis=1), axis=1)

    def outcomes(self, field: Field) -> Array:
        """Return the chance of each outcome on each variant, slips included: (readings, outcomes, variants)."""
        edges = self.edges(field)
        chances = _between_edges(edges, self.mean, self.sigma)
        if len(self.fickle):
            gone = _between_edges(edges, *self.away)
            chances[:, :, self.fickle] = at_any_moment(self.there, chances[:, :, self.fickle], gone)
        mean = (chances * field.weights.reshape(-1)).sum(axis=2, keepdims=True)
        usual = np.where(mean > 1e-9, 1.0, 0.0)
        return np.asarray((1.0 - MISREAD) * chances + MISREAD * usual / usual.sum(axis=1, keepdims=True))


def _between_edges(edges: Array, mean: Array, sigma: Array) -> Array:
    """Return the chance of each outcome on each variant: (readings, outcomes, variants)."""
    below = normal_cdf((edges[:, :, None] - mean[:, None]) / sigma[:, None])
    none, all_ = np.zeros_like(below[:, :1]), np.ones_like(below[:, :1])
    return np.diff(np.concatenate([none, below, all_], axis=1), axis=1)


def forecast(table: FaultTable, field: Field, readings: Sequence[Measurement]) -> Forecast:
    """Return what readings (of one function, in one boat state) would show on the cells of a field."""
    mean, sigma = _foreseen(table, field.cells, field.place, readings)
    there = np.ones(len(field.cells)) if field.there is None else field.there[field.cells]
    at_times = np.flatnonzero(there < 1.0)
    none = np.zeros((len(readings), 0))
    place, draws = field.place, table.cells.draws
    if place is not None:
        place = Place(middle=place.middle[at_times], spread=place.spread[at_times])
    return Forecast(
        mean=mean,
        sigma=sigma,
        fickle=(at_times[:, None] * draws + np.arange(draws)).reshape(-1),
        there=np.repeat(there[at_times], draws),
        away=_foreseen(table, np.full(len(at_times), table.cells.well), place, readings)
        if len(at_times)
        else (none, none),
        cuts=tuple(cut for cut, _ in lamp_edges()) if readings[0].function is MeterFunction.LAMP else (),
    )


def _foreseen(
    table: FaultTable, cells: Rows, place: Place | None, readings: Sequence[Measurement]
) -> tuple[Array, Array]:
    """Return mean and standard deviation of readings on some cells, shape (readings, cells · draws)."""
    shown = table.state(readings[0].state).shown(readings, cells)
    flat = (len(readings), len(cells) * table.cells.draws)
    function = readings[0].function
    if function is MeterFunction.DIODE_TEST:
        shown = on_scale(table, shown)
    elif function is MeterFunction.AC_MILLIVOLTS:
        spread = np.where(np.isnan(shown.values), table.highest_v, RIPPLE_SPREAD)
        return ripple_log(np.nan_to_num(shown.values)).reshape(flat), spread.reshape(flat)
    elif function is MeterFunction.LAMP:
        least, blur = lamp_edges()[0]
        spread = np.hypot(blur / least * np.maximum(shown.values, least), shown.unrest)
        spread = np.where(np.isnan(shown.values), 1.0, spread)
        return np.nan_to_num(shown.values).reshape(flat), spread.reshape(flat)
    elif function.is_dead:
        ohms = np.minimum(shown.values, table.meter.largest_ohm)
        return np.log(ohms + OHM_FLOOR).reshape(flat), ohm_spread(table, ohms).reshape(flat)
    below, above = shown.reach()
    unsolved = np.isnan(shown.values)
    anything = span_of(table, function) if function.is_inserted or function.is_pulsed else table.highest_v
    usable = np.nan_to_num(shown.values)
    shift, kernel = _tolerance(place if function is MeterFunction.DC_VOLTS else None, ways_of(usable))
    mean = usable + 0.5 * (above - below) + shift
    sigma = np.sqrt(reading_sigma(table, shown, function) ** 2 + (below + above) ** 2 / 12.0 + kernel)
    return mean.reshape(flat), np.where(unsolved, anything, sigma).reshape(flat)


def _tolerance(place: Place | None, ways: Array) -> tuple[Array, Array]:
    """Return how far the tolerances shift readings, and the variance they leave: (readings, cells, draws or 1).

    `ways` tells how far they move each reading, shape (readings, cells, directions).
    """
    if place is None:
        return np.zeros((*ways.shape[:2], 1)), (ways**2).sum(axis=2)[:, :, None]
    by_cell = ways.transpose(1, 0, 2)
    shift = by_cell @ place.middle.transpose(0, 2, 1)
    left = ((by_cell @ place.spread) * by_cell).sum(axis=2)
    return shift.transpose(1, 0, 2), left.T[:, :, None]


def reading_gains(
    table: FaultTable, field: Field, readings: Sequence[Measurement], *, least_bits: float = 0.0
) -> Array:
    """Return the information (bits) each reading is expected to bring about the repair, shape (readings,).

    Those that cannot bring `least_bits` are given none: on a large boat that is nearly all of them.
    """
    gains = np.zeros(len(readings))
    for first in range(0, len(readings), TOGETHER):
        expected = forecast(table, field, readings[first : first + TOGETHER])
        worth = np.flatnonzero(expected.most_bits(field) >= least_bits)
        if len(worth):
            gains[first + worth] = gains_bits(field, expected.take(worth).outcomes(field))
    return gains


def wiggle_gains(
    table: FaultTable, field: Field, places: Sequence[str], watched: Measurement | SignQuery
) -> Array:
    """Return the information (bits) that moving each of some places is expected to bring, shape (places,)."""
    return gains_bits(field, wiggle_outcomes(table, field, places, watched))


def wiggle_outcomes(
    table: FaultTable, field: Field, places: Sequence[str], watched: Measurement | SignQuery
) -> Array:
    """Return the chance that it changes and that it stays on each variant, slips included: (places, 2, variants)."""
    chances = changes_each(table, places, watched)[:, field.cells].reshape(len(places), -1)
    changed = (1.0 - MISSEEN) * chances + 0.5 * MISSEEN
    return np.stack([changed, 1.0 - changed], axis=1)


def sign_gain(table: FaultTable, field: Field, query: SignQuery) -> float:
    """Return the information (bits) looking at a sign is expected to bring about the repair."""
    return float(gains_bits(field, sign_outcomes(table, field, query)[None])[0])
