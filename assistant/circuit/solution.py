"""What solving gives: the values of many variants side by side, in one or two phases."""

from __future__ import annotations

from collections.abc import Sequence
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

    @classmethod
    def join(cls, phases: Sequence[Self]) -> Self:
        """Return the phases side by side."""
        return cls(
            **{f.name: np.concatenate([getattr(p, f.name) for p in phases], axis=1) for f in fields(cls)}
        )

    def take(self, columns: Rows) -> Self:
        """Return some columns of the phase."""
        return type(self)(**{f.name: getattr(self, f.name)[:, columns] for f in fields(self)})

    def write(self, rows: Rows, other: Self, columns: Flags | slice) -> None:
        """Copy columns of another phase into `rows` of this one."""
        for f in fields(self):
            getattr(self, f.name)[:, rows] = getattr(other, f.name)[:, columns]


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """Steady states of variants in one boat state.

    `phase` and `other` are equal for variants that settle; for the rest they are the two most different moments of
    what alternates, and `restless` (conditions, rows) tells what does.  `failed` rows have no steady state that
    could be found.
    """

    network: Network
    state: BoatState
    phase: Phase
    other: Phase
    restless: Flags
    failed: Flags

    def take(self, columns: Rows) -> Solution:
        """Return the solution of some variants, in this order."""
        return Solution(
            network=self.network,
            state=self.state,
            phase=self.phase.take(columns),
            other=self.other.take(columns),
            restless=self.restless[:, columns],
            failed=self.failed[columns],
        )


def join_solutions(parts: Sequence[Solution]) -> Solution:
    """Return solutions of one boat state side by side."""
    if len(parts) == 1:
        return parts[0]
    return Solution(
        network=parts[0].network,
        state=parts[0].state,
        phase=Phase.join([p.phase for p in parts]),
        other=Phase.join([p.other for p in parts]),
        restless=np.concatenate([p.restless for p in parts], axis=1),
        failed=np.concatenate([p.failed for p in parts]),
    )
