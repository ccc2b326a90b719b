"""What solving gives: the values of many variants side by side, in one or two phases."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.network import Network
from assistant.circuit.state import BoatState

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """Steady values of many variants, one column each.

    Attributes
    ----------
    volts : node voltages over the reference, shape (nodes, rows).
    conditions : shape (conditions, rows).
    amps : element currents from first to second node (regulators: out of the output), shape (elements, rows).
    speed : motor speed over rated speed, signed, 0 for other elements, shape (elements, rows).
    travel : commanded travel at each input, shape (inputs, rows).
    """

    volts: Array
    conditions: Flags
    amps: Array
    speed: Array
    travel: Array

    def volts_of(self, node: int) -> Array:
        """Return the volts of a node on every variant."""
        return np.asarray(self.volts[node])

    def amps_of(self, element: int) -> Array:
        """Return the current of an element."""
        return np.asarray(self.amps[element])

    def speed_of(self, element: int) -> Array:
        """Return the speed of a motor."""
        return np.asarray(self.speed[element])

    def holds(self, condition: int) -> Flags:
        """Return on which variants a condition holds."""
        return np.asarray(self.conditions[condition])

    def travel_of(self, number: int) -> Array:
        """Return the travel that an input is commanded."""
        return np.asarray(self.travel[number])

    def take(self, columns: Rows | slice) -> Self:
        """Return some columns of the phase."""
        return type(self)(**{f.name: getattr(self, f.name)[:, columns] for f in fields(self)})

    def write(self, rows: Rows, other: Self, columns: Flags | Rows | slice) -> None:
        """Copy columns of another phase into `rows` of this one."""
        for f in fields(self):
            getattr(self, f.name)[:, rows] = getattr(other, f.name)[:, columns]


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """Steady states of variants in one boat state.

    `phase` and `other` are equal for variants that settle; for the rest they are the two most different phases of
    what alternates, and `restless` (conditions, rows) tells what does.  `failed` rows have no steady state that
    could be found.
    """

    network: Network
    state: BoatState
    phase: Phase
    other: Phase
    restless: Flags
    failed: Flags

    @classmethod
    def empty(cls, network: Network, state: BoatState, size: int) -> Self:
        """Return a solution with room for `size` variants."""
        return cls(
            network=network,
            state=state,
            phase=_empty_phase(network, size),
            other=_empty_phase(network, size),
            restless=np.zeros((len(network.conditions), size), dtype=np.bool_),
            failed=np.zeros(size, dtype=np.bool_),
        )

    def take(self, columns: Rows | slice) -> Self:
        """Return the solution of some variants, in this order."""
        return type(self)(
            network=self.network,
            state=self.state,
            phase=self.phase.take(columns),
            other=self.other.take(columns),
            restless=self.restless[:, columns],
            failed=self.failed[columns],
        )


def _empty_phase(network: Network, size: int) -> Phase:
    elements = len(network.elements)
    return Phase(
        volts=np.zeros((len(network.nodes), size)),
        conditions=np.zeros((len(network.conditions), size), dtype=np.bool_),
        amps=np.zeros((elements, size)),
        speed=np.zeros((elements, size)),
        travel=np.zeros((len(network.inputs), size)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """Where variants came to rest, as little as tells everything: volts of the core, reference last, and conditions.

    `other_volts` and `other_conditions` are those of the other phase of what alternates; the rest as in `Solution`.
    All have a column for each variant.
    """

    volts: Array
    conditions: Flags
    other_volts: Array
    other_conditions: Flags
    restless: Flags
    failed: Flags

    @classmethod
    def empty(cls, core: int, conditions: int, size: int) -> Self:
        """Return room for `size` variants of a network with so many nodes in its core, and so many conditions."""
        return cls(
            volts=np.zeros((core + 1, size)),
            conditions=np.zeros((conditions, size), dtype=np.bool_),
            other_volts=np.zeros((core + 1, size)),
            other_conditions=np.zeros((conditions, size), dtype=np.bool_),
            restless=np.zeros((conditions, size), dtype=np.bool_),
            failed=np.zeros(size, dtype=np.bool_),
        )

    def take(self, columns: Rows) -> Self:
        """Return where some variants came to rest, in this order."""
        return type(self)(**{f.name: getattr(self, f.name)[..., columns] for f in fields(self)})

    def write(self, rows: Rows, other: Self, columns: Rows | slice = slice(None)) -> None:
        """Copy columns of another into `rows` of this one."""
        for f in fields(self):
            getattr(self, f.name)[..., rows] = getattr(other, f.name)[..., columns]
