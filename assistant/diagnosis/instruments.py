"""What further functions of a meter, and a test lamp, show on the cells of a solved boat state."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import (
    Hold,
    MeterFunction,
    MeterProfile,
    Solution,
    Solver,
    Variant,
    diode_volts,
    lamp_share,
    pulses_shown,
    ripple_shown,
)
from assistant.circuit.batch import make_batch
from assistant.circuit.lamp import LAMP_V

Array = NDArray[np.float64]
Rows = NDArray[np.intp]


PULLED = 0.3
"""How unsure the light of a test lamp is, as a share of what it pulls the volts down: other loads may give way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Instruments:
    """Instruments on some variants of a boat.

    Attributes
    ----------
    solution, variants : the boat state, and its columns' variants.
    tolerances : how many tolerance draws there are besides the nominal one.
    hold, stride : how firmly nodes are held, known for every so many-th column.
    """

    solver: Solver
    solution: Solution
    variants: tuple[Variant, ...]
    tolerances: int
    hold: Hold
    stride: int
    meter: MeterProfile

    def diodes(self, red: Rows, black: Rows, columns: Rows) -> Array:
        """Return volts on diode test, shape (readings, columns); infinite for OL.  Each column needs its own hold."""
        variants = [self.variants[i] for i in columns]
        network, draws = self.solver.network, self.tolerances
        return np.stack(
            [
                diode_volts(network, self.hold, columns, variants, pair, self.meter, draws=draws)
                for pair in zip(red.tolist(), black.tolist(), strict=True)
            ]
        )

    def pulses(self, function: MeterFunction, red: Rows, black: Rows, columns: Rows) -> tuple[Array, Array]:
        """Return duty or frequency, and its unrest, shape (readings, columns)."""
        batch = make_batch(self.solver.network, [self.variants[i] for i in columns], draws=self.tolerances)
        both = []
        for phase in (self.solution.phase, self.solution.other):
            conditions, held = phase.conditions[:, columns], columns // self.stride
            state, probes = self.solution.state, (red, black)
            seen = pulses_shown(batch, state, conditions, self.hold, held, probes, self.meter)
            both.append(seen.duty if function is MeterFunction.DUTY else seen.rate_hz)
        return 0.5 * (both[0] + both[1]), 0.5 * np.abs(both[0] - both[1])

    def ripple(self, red: Rows, black: Rows, columns: Rows) -> Array:
        """Return AC millivolts (V), shape (readings, columns)."""
        phases = (self.solution.phase.take(columns), self.solution.other.take(columns))
        held = columns // self.stride
        return ripple_shown(self.solver.network, phases, self.hold, held, (red, black), self.meter)

    def lamp(self, red: Rows, black: Rows, columns: Rows) -> tuple[Array, Array]:
        """Return the share of its rated volts over a test lamp, and its unrest, shape (readings, columns)."""
        held, back = np.unique(columns // self.stride, return_inverse=True)
        ohm = self.hold.between(red, black, held, exact=True)[:, back]
        phases = (self.solution.phase.volts[:, columns], self.solution.other.volts[:, columns])
        whole = [np.abs(volts[red] - volts[black]) / LAMP_V for volts in phases]
        first, second = (lamp_share(share * LAMP_V, ohm) for share in whole)
        shown, pulled = 0.5 * (first + second), 0.5 * (whole[0] + whole[1])
        return shown, 0.5 * np.abs(first - second) + PULLED * np.maximum(pulled - shown, 0.0)
