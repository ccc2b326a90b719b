"""The next step: most expected information about the repair for its cost.

A reading's outcomes are cut where the predictions of the cells still in question leave gaps, and at quantiles where
they run together.  The information is that between outcome and *repair*, not between outcome and fault: telling apart
two faults that are mended alike is worth nothing.  Cells of hardly any weight are left out of the reckoning (not out
of the belief).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import Measurement, MeterFunction
from assistant.diagnosis.belief import MISREAD, MISSEEN, OHM_FLOOR, OHM_SPREAD, Belief, reading_sigma
from assistant.diagnosis.model import RepairId, SignQuery
from assistant.diagnosis.normal import normal_cdf
from assistant.diagnosis.table import FaultTable

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

_LEFT_OUT = 0.01
_MOST_CELLS = 250
_GAPS = 6
_QUANTILES = (0.15, 0.35, 0.5, 0.65, 0.85)
_CLEAR_GAP = 1.5
_TOGETHER = 128


@dataclass(frozen=True, slots=True)
class Field:
    """The cells still in question: their numbers, their weights (sum 1) and the number of each one's repair.

    Cells are sorted by repair.
    """

    cells: Rows
    weights: Array
    repairs: Rows
    count: int

    def repair_bits(self) -> float:
        """Return the entropy of the repair in bits."""
        return float(_entropies(np.bincount(self.repairs, weights=self.weights, minlength=self.count)))


def field_of(table: FaultTable, belief: Belief) -> Field:
    """Return the weightiest cells that together make up nearly all of the belief."""
    order = np.argsort(-belief.cells, kind="stable")[:_MOST_CELLS]
    running = np.cumsum(belief.cells[order])
    kept = order[: int(np.searchsorted(running, (1.0 - _LEFT_OUT) * belief.cells.sum())) + 1]
    kept = _with_neighbours(table, kept)
    weights = belief.cells[kept]
    numbers = repair_numbers(table)[table.cells.owner[kept]]
    return make_field(kept, weights, numbers)


def _with_neighbours(table: FaultTable, cells: Rows) -> Rows:
    """Return the cells in order with the neighbouring severities of each."""
    owner = table.cells.owner
    near = np.concatenate([cells - 1, cells, cells + 1])
    near = np.clip(near, 0, len(owner) - 1)
    same = owner[near] == owner[np.tile(cells, 3)]
    return np.unique(near[same])


def make_field(cells: Rows, weights: Array, repairs: Rows) -> Field:
    """Return a field of cells with their weights (any scale) and the numbers of their repairs (any numbers)."""
    order = np.argsort(repairs, kind="stable")
    present, numbers = np.unique(repairs[order], return_inverse=True)
    return Field(cells[order], weights[order] / weights.sum(), numbers.astype(np.intp), len(present))


def contrast_field(table: FaultTable, belief: Belief, repair: RepairId) -> Field:
    """Return a field of two even chances: the boat with the faults behind `repair`, and the healthy boat."""
    behind = np.array([h.repairs[:1] == (repair,) for h in table.hypotheses])[table.cells.owner]
    well = np.array([not h.modes for h in table.hypotheses])[table.cells.owner]
    cells = np.flatnonzero(behind | well)
    weights = np.where(well, belief.prior, belief.cells + 1e-12 * belief.prior)[cells]
    repairs = well[cells].astype(np.intp)
    weights = 0.5 * weights / np.bincount(repairs, weights=weights)[repairs]
    return make_field(cells, weights, repairs)


def repair_numbers(table: FaultTable) -> Rows:
    """Return a number for the first repair of each hypothesis; equal repairs share it."""
    seen: dict[object, int] = {}
    keys = [h.repairs[0] if h.repairs else None for h in table.hypotheses]
    return np.array([seen.setdefault(key, len(seen)) for key in keys], dtype=np.intp)


def gains_bits(field: Field, outcomes: Array) -> Array:
    """Return the mutual information (bits) between the outcome of each candidate and the repair.

    Parameters
    ----------
    outcomes : probability of each outcome on each cell of the field, shape (candidates, outcomes, cells).
    """
    starts = np.flatnonzero(np.diff(field.repairs, prepend=-1))
    joint = np.add.reduceat(outcomes * field.weights, starts, axis=2)
    return _entropies(joint.sum(axis=2)) + _entropies(joint.sum(axis=1)) - _entropies(joint.reshape(len(joint), -1))


def _entropies(masses: Array) -> Array:
    """Return the entropy in bits along the last axis."""
    safe = np.maximum(masses, 1e-300)
    return np.asarray(-(masses * np.log2(safe)).sum(axis=-1))


def sign_outcomes(table: FaultTable, field: Field, query: SignQuery) -> Array:
    """Return the probability of each level of a sign on each cell of the field, slips included."""
    chances = table.state(query.state).levels(query)[:, field.cells]
    return (1.0 - MISSEEN) * chances + MISSEEN / len(chances)


@dataclass(frozen=True, slots=True)
class Forecast:
    """What readings would show on each cell of a field: mean and standard deviation, shape (readings, cells).

    Ohms are in log units.
    """

    mean: Array
    sigma: Array

    def edges(self, field: Field) -> Array:
        """Return where each reading's outcomes are cut, ascending, shape (readings, edges); equal edges do not count.

        Cuts lie in the clearest gaps between predictions and, where these run together, at quantiles.
        """
        order = np.argsort(self.mean, axis=1, kind="stable")
        mean = np.take_along_axis(self.mean, order, axis=1)
        sigma = np.take_along_axis(self.sigma, order, axis=1)
        running = np.cumsum(field.weights[order], axis=1)
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
        """Return the probability of each outcome on each cell, slips included, shape (readings, outcomes, cells)."""
        edges = self.edges(field)
        below = normal_cdf((edges[:, :, None] - self.mean[:, None]) / self.sigma[:, None])
        none, all_ = np.zeros_like(below[:, :1]), np.ones_like(below[:, :1])
        chances = np.diff(np.concatenate([none, below, all_], axis=1), axis=1)
        mean = (chances * field.weights).sum(axis=2, keepdims=True)
        usual = np.where(mean > 1e-9, 1.0, 0.0)
        return (1.0 - MISREAD) * chances + MISREAD * usual / usual.sum(axis=1, keepdims=True)


def forecast(table: FaultTable, field: Field, readings: Sequence[Measurement]) -> Forecast:
    """Return what readings (of one function, in one boat state) would show on the cells of a field."""
    shown = table.state(readings[0].state).shown(readings, field.cells)
    if readings[0].function is MeterFunction.DC_VOLTS:
        sigma = np.where(np.isnan(shown.values), table.highest_v, reading_sigma(table, shown))
        values = np.nan_to_num(shown.values)
    else:
        values = np.log(np.minimum(shown.values, table.meter.largest_ohm) + OHM_FLOOR)
        sigma = np.full_like(values, OHM_SPREAD)
    mean = shown.by_cell(values)
    variance = shown.by_cell(sigma**2 + values**2) - mean**2
    if readings[0].function is MeterFunction.DC_VOLTS:
        below, above = shown.reach()
        mean = mean + 0.5 * (above - below)
        variance = variance + (below + above) ** 2 / 12.0
    return Forecast(mean, np.sqrt(np.maximum(variance, 1e-8)))


def reading_gains(table: FaultTable, field: Field, readings: Sequence[Measurement]) -> Array:
    """Return the information (bits) each reading is expected to bring about the repair, shape (readings,)."""
    gains = [
        gains_bits(field, forecast(table, field, readings[i : i + _TOGETHER]).outcomes(field))
        for i in range(0, len(readings), _TOGETHER)
    ]
    return np.concatenate(gains) if gains else np.zeros(0)


def sign_gain(table: FaultTable, field: Field, query: SignQuery) -> float:
    """Return the information (bits) looking at a sign is expected to bring about the repair."""
    return float(gains_bits(field, sign_outcomes(table, field, query)[None])[0])


OVERHEAD_S = 25.0
"""Seconds that any step takes besides its own cost: reading the screen, finding the place, typing (no source)."""
