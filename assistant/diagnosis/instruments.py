"""What further functions of a meter, and a test lamp, show on the cells of a solved boat state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import (
    Gap,
    MeterFunction,
    MeterProfile,
    Solver,
    Survey,
    Variant,
    amps_shown,
    around_ohm,
    diode_volts,
    lamp_share,
    own_ohm,
    pulses_shown,
    ripple_shown,
    through,
)
from assistant.circuit.batch import make_batch
from assistant.circuit.lamp import LAMP_V
from assistant.wiring import Point

Array = NDArray[np.float64]
Rows = NDArray[np.intp]


_TAKEN = 2000
"""Variants whose voltages are found all at once, at most."""

PULLED = 0.3
"""How unsure the light of a test lamp is, as a share of what it pulls the volts down: other loads may give way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Instruments:
    """Instruments on some variants of a boat.

    Attributes
    ----------
    survey, variants : the boat state, and its columns' variants.
    tolerances : how many tolerance draws there are besides the nominal one.
    stride : how firmly nodes are held is asked of the first of so many columns.
    """

    solver: Solver
    survey: Survey
    variants: tuple[Variant, ...]
    tolerances: int
    stride: int
    meter: MeterProfile

    def diodes(self, red: Rows, black: Rows, columns: Rows) -> Array:
        """Return volts on diode test, shape (readings, columns); infinite for OL.  Each column needs its own hold."""
        variants = [self.variants[i] for i in columns]
        network, draws = self.solver.network, self.tolerances
        return np.stack(
            [
                diode_volts(network, self.survey.hold, columns, variants, pair, self.meter, draws=draws)
                for pair in zip(red.tolist(), black.tolist(), strict=True)
            ]
        )

    def pulses(self, function: MeterFunction, red: Rows, black: Rows, columns: Rows) -> tuple[Array, Array]:
        """Return duty or frequency, and its unrest, shape (readings, columns)."""
        batch = make_batch(self.solver.network, [self.variants[i] for i in columns], draws=self.tolerances)
        both = []
        survey, held, probes = self.survey, self._held(columns), (red, black)
        for phase in (survey.phase, survey.other):
            conditions = phase.conditions[:, columns]
            seen = pulses_shown(batch, survey.state, conditions, survey.hold, held, probes, self.meter)
            both.append(seen.duty if function is MeterFunction.DUTY else seen.rate_hz)
        return 0.5 * (both[0] + both[1]), 0.5 * np.abs(both[0] - both[1])

    def amps(self, opened: Sequence[tuple[Gap, Point]], columns: Rows) -> Array:
        """Return the current through a meter in each of some gaps, in both phases, shape (2, gaps, columns).

        It is that of the boat as it is there: what is opened has to be sound.

        Parameters
        ----------
        opened : gaps, each with the point where the red probe goes.
        """
        network, survey = self.solver.network, self.survey
        ends = [(network.node(gap.red), network.node(gap.black)) for gap, _ in opened]
        red, black = np.array(ends, dtype=np.intp).reshape(-1, 2).T
        # What holds the ends is known for the first of so many columns, and so for its sizes.
        held, back = np.unique(self._held(columns), return_inverse=True)
        ohm = survey.hold.between(red, black, held, exact=True)
        healthy = self.solver.healthy_values(self.tolerances)
        own_ohms = np.array([own_ohm(network, gap, healthy[gap.place], self.tolerances) for gap, _ in opened])
        draw = np.array([variant.draw for variant in self.variants])
        own = own_ohms.reshape(len(opened), -1)[:, draw[columns]]
        around = around_ohm(ohm, own_ohms.reshape(len(opened), -1)[:, draw[held]])[:, back]
        carrying = [through(network, gap, point) for gap, point in opened]
        elements = np.array([element for element, _ in carrying], dtype=np.intp)
        along = np.array([sign for _, sign in carrying])[:, None]
        both = (phase.amps_at(elements, columns) for phase in (survey.phase, survey.other))
        return np.stack([amps_shown(along * amps, around, own, self.meter) for amps in both])

    def ripple(self, red: Rows, black: Rows, columns: Rows) -> Array:
        """Return AC millivolts (V), shape (readings, columns)."""
        survey, values = self.survey, np.zeros((len(red), len(columns)))
        for first in range(0, len(columns), _TAKEN):
            piece = columns[first : first + _TAKEN]
            phases = (survey.phase.take(piece), survey.other.take(piece))
            held, probes = self._held(piece), (red, black)
            shown = ripple_shown(self.solver.network, phases, survey.hold, held, probes, self.meter)
            values[:, first : first + _TAKEN] = shown
        return values

    def _held(self, columns: Rows) -> Rows:
        """Return the column that tells for each how firmly nodes are held."""
        return columns - columns % self.stride

    def lamp(self, red: Rows, black: Rows, columns: Rows) -> tuple[Array, Array, Array]:
        """Return the share of its rated volts over a test lamp, its unrest, and what it pulls down.

        All are of shape (readings, columns); the unrest holds how unsure the light is because of what is pulled down.
        """
        held, back = np.unique(self._held(columns), return_inverse=True)
        ohm = self.survey.hold.between(red, black, held, exact=True)[:, back]
        nodes = np.concatenate([red, black])
        both = [phase.volts_at(nodes, columns) for phase in (self.survey.phase, self.survey.other)]
        whole = [np.abs(volts[: len(red)] - volts[len(red) :]) / LAMP_V for volts in both]
        first, second = (lamp_share(share * LAMP_V, ohm) for share in whole)
        shown, pulled = 0.5 * (first + second), 0.5 * (whole[0] + whole[1])
        down = np.maximum(pulled - shown, 0.0)
        return shown, np.hypot(0.5 * (first - second), PULLED * down), down
