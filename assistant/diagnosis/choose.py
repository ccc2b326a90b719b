"""The next step: most expected information about the repair for its cost.

A reading's outcomes are cut where the predictions of the cells still in question leave gaps, and at quantiles where
they run together.  The information is that between outcome and *repair*, not between outcome and fault: telling apart
two faults that are mended alike is worth nothing.  Cells of hardly any weight are left out of the reckoning (not out
of the belief).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import Measurement, MeterFunction
from assistant.diagnosis.belief import MISREAD, MISSEEN, OHM_FLOOR, OHM_SPREAD, Belief, spread_v
from assistant.diagnosis.model import RepairId, SignQuery
from assistant.diagnosis.normal import normal_cdf
from assistant.diagnosis.table import FaultTable

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

_LEFT_OUT = 0.01
_MOST_CELLS = 400
_GAPS = 6
_QUANTILES = (0.15, 0.35, 0.5, 0.65, 0.85)
_GAP_SIGMAS = 3.0


@dataclass(frozen=True, slots=True)
class Field:
    """The cells still in question: their numbers, their weights (sum 1) and the number of each one's repair."""

    cells: Rows
    weights: Array
    repairs: Rows
    count: int

    def repair_bits(self) -> float:
        """Return the entropy of the repair in bits."""
        return _entropy(np.bincount(self.repairs, weights=self.weights, minlength=self.count))


def field_of(table: FaultTable, belief: Belief) -> Field:
    """Return the weightiest cells that together make up nearly all of the belief."""
    order = np.argsort(-belief.cells, kind="stable")[:_MOST_CELLS]
    running = np.cumsum(belief.cells[order])
    kept = order[: int(np.searchsorted(running, (1.0 - _LEFT_OUT) * belief.cells.sum())) + 1]
    weights = belief.cells[kept]
    numbers = repair_numbers(table)[table.cells.owner[kept]]
    present, repairs = np.unique(numbers, return_inverse=True)
    return Field(kept, weights / weights.sum(), repairs.astype(np.intp), len(present))


def contrast_field(table: FaultTable, belief: Belief, repair: RepairId) -> Field:
    """Return a field of two even chances: the boat with the faults behind `repair`, and the healthy boat."""
    behind = np.array([h.repairs[:1] == (repair,) for h in table.hypotheses])[table.cells.owner]
    well = np.array([not h.modes for h in table.hypotheses])[table.cells.owner]
    cells = np.flatnonzero(behind | well)
    weights = np.where(well, belief.prior, belief.cells + 1e-12 * belief.prior)[cells]
    repairs = well[cells].astype(np.intp)
    weights = 0.5 * weights / np.bincount(repairs, weights=weights)[repairs]
    return Field(cells, weights, repairs, 2)


def repair_numbers(table: FaultTable) -> Rows:
    """Return a number for the first repair of each hypothesis; equal repairs share it."""
    seen: dict[object, int] = {}
    keys = [h.repairs[0] if h.repairs else None for h in table.hypotheses]
    return np.array([seen.setdefault(key, len(seen)) for key in keys], dtype=np.intp)


def _entropy(masses: Array) -> float:
    kept = masses[masses > 0.0]
    return float(-(kept * np.log2(kept)).sum())


def gain_bits(field: Field, outcomes: Array) -> float:
    """Return the mutual information (bits) between outcome and repair.

    Parameters
    ----------
    outcomes : probability of each outcome on each cell of the field, shape (outcomes, cells).
    """
    joint = np.zeros((field.count, len(outcomes)))
    np.add.at(joint, field.repairs, (outcomes * field.weights).T)
    by_outcome = joint.sum(axis=0)
    by_repair = joint.sum(axis=1)
    return _entropy(by_outcome) + _entropy(by_repair) - _entropy(joint.reshape(-1))


def sign_outcomes(table: FaultTable, field: Field, query: SignQuery) -> Array:
    """Return the probability of each level of a sign on each cell of the field, slips included."""
    chances = table.state(query.state).levels(query)[:, field.cells]
    return (1.0 - MISSEEN) * chances + MISSEEN / len(chances)


@dataclass(frozen=True, slots=True)
class Forecast:
    """What a reading would show on each cell of a field: mean and standard deviation (ohms: in log units)."""

    mean: Array
    sigma: Array

    def outcomes(self, field: Field) -> Array:
        """Return the probability of each outcome on each cell, slips included; outcomes are ranges of the reading."""
        edges = self._edges(field)
        if not len(edges):
            return np.ones((1, len(self.mean)))
        below = normal_cdf((edges[:, None] - self.mean) / self.sigma)
        full = np.concatenate([np.zeros((1, len(self.mean))), below, np.ones((1, len(self.mean)))])
        return (1.0 - MISREAD) * np.diff(full, axis=0) + MISREAD / (len(edges) + 1)

    def _edges(self, field: Field) -> Array:
        order = np.argsort(self.mean, kind="stable")
        mean, sigma, weights = self.mean[order], self.sigma[order], field.weights[order]
        gaps = np.diff(mean)
        clear = gaps / (sigma[:-1] + sigma[1:])
        running = np.cumsum(weights)
        worth = np.where(clear > 0.5 * _GAP_SIGMAS, clear * np.minimum(running[:-1], 1.0 - running[:-1]), 0.0)
        widest = np.argsort(-worth, kind="stable")[:_GAPS]
        widest = widest[worth[widest] > 0.0]
        share = sigma[widest] / (sigma[widest] + sigma[widest + 1])
        cut_at = mean[widest] + gaps[widest] * share
        spots = np.searchsorted(running, _QUANTILES)
        inside = [mean[s] for s in spots if s < len(mean) and mean[-1] - mean[0] > 2.0 * sigma[s]]
        return np.unique(np.concatenate([cut_at, np.array(inside)]))


def forecast(table: FaultTable, field: Field, measurement: Measurement) -> Forecast:
    """Return what a reading would show on the cells of a field."""
    state = table.state(measurement.state)
    values = state.values(measurement)
    if measurement.function is MeterFunction.DC_VOLTS:
        spread = spread_v(table, values)
        shown = np.nan_to_num(values)
        wide = np.where(np.isnan(values), table.highest_v, spread)
    else:
        shown = np.log(np.minimum(values, table.meter.largest_ohm) + OHM_FLOOR)
        wide = np.full_like(values, OHM_SPREAD)
    mean = state.mean_of_cells(shown)
    variance = state.mean_of_cells(wide**2 + shown**2) - mean**2
    return Forecast(mean[field.cells], np.sqrt(np.maximum(variance[field.cells], 1e-8)))


def reading_gain(table: FaultTable, field: Field, measurement: Measurement) -> float:
    """Return the information (bits) a reading is expected to bring about the repair."""
    return gain_bits(field, forecast(table, field, measurement).outcomes(field))


def sign_gain(table: FaultTable, field: Field, query: SignQuery) -> float:
    """Return the information (bits) looking at a sign is expected to bring about the repair."""
    return gain_bits(field, sign_outcomes(table, field, query))


OVERHEAD_S = 25.0
"""Seconds that any step takes besides its own cost: reading the screen, finding the place, typing (no source)."""
