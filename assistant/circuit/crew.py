"""The rows that are solved together: each is a variant of a batch in a boat state.

What a variant is does not hang on the state, and what hands set hardly: both are worked out once and shared.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Sense
from assistant.circuit.batch import Batch
from assistant.circuit.signals import expected_signal_volts, neutral_of, pulses_of, shares_of, travels_of
from assistant.circuit.state import BoatState

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]


class Crew:
    """Rows by number: `columns` are their columns in the batch, `at` their boat states in `states`.

    `shares` are, by channel number, the share of the time that a pulse comes out of its socket; `expected_v` the mean
    volts that an intact lead would bring of it to each input (nan without a slot) and `neutral` how near neutral, 1 at
    neutral, the input is told to stay, both of shape (inputs, rows).  `way` is in which of several ways hands have set
    everything.
    """

    def __init__(self, batch: Batch, states: Sequence[BoatState], columns: Rows, at: Rows) -> None:
        """Take the rows of these columns and states."""
        self.batch = batch
        self.columns = columns
        self.at = at
        each = [pulses_of(batch, state) for state in states]
        pulses = {number: np.stack([found[number] for found in each]) for number in each[0]}
        self.shares = {number: share[at, columns] for number, share in shares_of(batch, pulses).items()}
        self.expected_v = expected_signal_volts(batch, self.shares, columns)
        self.neutral = neutral_of(batch)[:, columns]
        self._told, self._lost = travels_of(
            batch, {n: width[at, columns] for n, width in pulses.items()}, columns
        )
        self._heard = [given.heard for given in batch.network.inputs]
        set_to = np.array([_set_by_hand(batch, state) for state in states], dtype=np.bool_)
        self._ways, way = np.unique(set_to, axis=0, return_inverse=True)
        self.way = way.reshape(-1)[at]

    @classmethod
    def of(cls, batch: Batch, state: BoatState) -> Crew:
        """Return all of a batch in one state."""
        rows = np.arange(batch.size)
        return cls(batch, [state], rows, np.zeros_like(rows))

    def __len__(self) -> int:
        return len(self.columns)

    def first_conditions(self, columns: Rows, way: Rows) -> Flags:
        """Return what holds before anything is powered: what hands have set, and what is stuck."""
        forced = self.batch.forced[:, columns]
        return np.asarray((forced > 0) | (self._ways[way].T & (forced == 0)))

    def travel(self, rows: Rows, conditions: Flags) -> Array:
        """Return the travel that inputs are commanded in some rows under these conditions, shape (inputs, rows)."""
        return np.where(conditions[self._heard], self._told[:, rows], self._lost[:, rows])

    def gated(self, conditions: Flags, rows: Rows) -> Flags:
        """Return the conditions of some rows without those whose own preconditions have gone."""
        left = conditions.copy()
        for c, condition in enumerate(self.batch.network.conditions):
            if condition.when:
                forced = self.batch.forced[c, self.columns[rows]] > 0
                left[c] &= left[list(condition.when)].all(axis=0) | forced
        return left


def _set_by_hand(batch: Batch, state: BoatState) -> list[bool]:
    return [c.sense is Sense.SETTING and state.get(c.setting) > 0.5 for c in batch.network.conditions]
