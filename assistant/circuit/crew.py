"""The rows that are solved together: each is a variant of a batch in a boat state.

What a variant is does not hang on the state, and what hands set hardly: both are worked out once and shared.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

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

    `pulses` and `shares` are, by channel number, the width (ms) and the share of the time of what comes out of its
    socket, `neutral` how near neutral each input is told to stay.  `ways` are the different ways in which hands have
    set everything, shape (conditions, ways), and `way` which of these each row is in.
    """

    def __init__(self, batch: Batch, states: Sequence[BoatState], columns: Rows, at: Rows) -> None:
        """Take the rows of these columns and states."""
        self.batch = batch
        self.columns = columns
        self.at = at
        each = [pulses_of(batch, state) for state in states]
        pulses = {number: np.stack([found[number] for found in each]) for number in each[0]}
        self.pulses = {number: width[at, columns] for number, width in pulses.items()}
        self.shares = {number: share[at, columns] for number, share in shares_of(batch, pulses).items()}
        self._neutral = neutral_of(batch)
        set_to = np.array([_set_by_hand(batch, state) for state in states], dtype=np.bool_)
        self.ways, way = np.unique(set_to, axis=0, return_inverse=True)
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
        return np.asarray((forced > 0) | (self.ways[way].T & (forced == 0)))

    def travel(self, rows: Rows, conditions: Flags) -> Array:
        """Return the travel that inputs are commanded in some rows under these conditions, shape (inputs, rows)."""
        return travels_of(self.batch, _at(self.pulses, rows), conditions, self.columns[rows])

    def expected_signal_volts(self, rows: Rows) -> Array:
        """Return the mean volts that an intact lead would bring to each input in some rows, shape (inputs, rows)."""
        return expected_signal_volts(self.batch, _at(self.shares, rows), self.columns[rows])

    def neutral(self, number: int, rows: Rows) -> Array:
        """Return how near neutral an input is told to stay in some rows, 1 at neutral."""
        return np.asarray(self._neutral[number, self.columns[rows]])


def _at(found: Mapping[int, Array], rows: Rows) -> Mapping[int, Array]:
    return {number: column[rows] for number, column in found.items()}


def _set_by_hand(batch: Batch, state: BoatState) -> list[bool]:
    return [c.sense is Sense.SETTING and state.get(c.setting) > 0.5 for c in batch.network.conditions]
