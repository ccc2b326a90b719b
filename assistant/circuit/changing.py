"""What changes while a solution is sought: contacts, drives, motors, loads, diodes and regulators of some rows.

Each row has conditions and travel of its own; when these change, the numbers of the elements follow.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import devices
from assistant.circuit.plant import (
    SMALLEST_OHM,
    Plant,
    numbers_of,
    numbers_of_one,
    present_of,
    present_of_one,
    source_branch,
)
from assistant.circuit.stamps import Group

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

BLEED_S = 1e-6
"""What a load leaks while it takes no current: 1 MΩ (common practice, no source)."""

_STEADY_S = 1e-9


@dataclass(frozen=True, slots=True)
class Numbers:
    """What elements of one group are in some rows: parameters by name, and 1 where an element exists, else 0."""

    of: dict[str, Array]
    present: Array

    def take(self, columns: Rows) -> Numbers:
        """Return the numbers of some rows."""
        return Numbers({name: found[:, columns] for name, found in self.of.items()}, self.present[:, columns])


class Changing:
    """The elements on the core of a network in some rows of a plant."""

    def __init__(self, plant: Plant, rows: Rows, conditions: Flags) -> None:
        """Take some rows of a plant; `conditions` have a column for each of these."""
        self.plant = plant
        self.frame = plant.frame
        self.rows = rows
        self.conditions = conditions.copy()
        self.travel = travel = plant.crew.travel(rows, conditions)
        self.numbers = {id(g): self._numbers(g, conditions, travel) for g in plant.frame.changing}

    def __getitem__(self, group: Group) -> Numbers:
        """Return the numbers of a group."""
        return self.numbers[id(group)]

    def _numbers(self, group: Group, conditions: Flags, travel: Array) -> Numbers:
        frame, crew, rows = self.frame, self.plant.crew, self.rows
        columns = crew.columns[rows]
        shares = {number: share[rows] for number, share in crew.shares.items()}
        of = dict(numbers_of(frame, crew.batch, group, columns, travel, shares))
        present = present_of(crew.batch, group, columns, conditions)
        return Numbers(of, present.astype(np.float64))

    def take(self, columns: Rows) -> Changing:
        """Return the same elements in some of the rows."""
        part = copy(self)
        part.rows = self.rows[columns]
        part.conditions, part.travel = self.conditions[:, columns], self.travel[:, columns]
        part.numbers = {group: numbers.take(columns) for group, numbers in self.numbers.items()}
        return part

    def turn(self, columns: Rows, conditions: Flags) -> None:
        """Give some of the rows other conditions."""
        frame, crew, rows = self.frame, self.plant.crew, self.rows[columns]
        travel = crew.travel(rows, conditions)
        variants, steered = crew.columns[rows], (travel != self.travel[:, columns]).any()
        self.conditions[:, columns], self.travel[:, columns] = conditions, travel
        for group, gates, moved in zip(frame.changing, frame.gates, frame.moved, strict=True):
            numbers = self[group]
            for place, member in gates:
                numbers.present[place, columns] = present_of_one(crew.batch, member, variants, conditions)
            for place, member in moved if steered else ():
                for name, column in numbers_of_one(crew.batch, member, variants, travel, {}).items():
                    numbers.of[name][place, columns] = column

    def stamp(self, values: Array, sources: Array, columns: Rows) -> None:
        """Add what does not hang on volts, in some of the rows, to the core's entries and sources."""
        gated, legs = self.frame.gated, self.frame.legs
        siemens, amps = source(gated, self[gated].take(columns))
        gated.stamp_branch(values, sources, siemens, amps)
        if len(legs):
            siemens, weights = leg(self[legs].take(columns))
            slopes = weights[:, None] * weights[None, :] * siemens
            legs.stamp_general(values, sources, slopes, np.zeros_like(weights))

    def amps(self, group: Group, volts: Array, columns: Rows) -> Array:
        """Return the currents of a group from first to second node (regulators: out), shape (elements, columns).

        Parameters
        ----------
        volts : on the core, the reference last, a column for each of `columns`.
        """
        frame, n = self.frame, self[group].take(columns)
        if group is frame.gated:
            siemens, amps = source(group, n)
            return np.asarray(siemens * group.across(volts, 0, 1) + amps)
        if group is frame.legs:
            siemens, weights = leg(n)
            return np.asarray(siemens * (weights * volts[group.nodes.T]).sum(axis=0))
        if group is frame.regulators:
            wish, *_ = regulator_wish(n, group.across(volts, 0, 1), group.across(volts, 2, 1))
            return np.asarray(n.present * devices.regulator_output(wish, n.of["limit_a"])[0])
        across = group.across(volts, 0, 1)
        return {id(frame.motors): motor, id(frame.draws): draw, id(frame.diodes): diode}[id(group)](
            n, across
        )[0]

    def drawn(self, regulators: Group, volts: Array) -> Array:
        """Return the currents into regulators, shape (elements, rows); volts are those of the core."""
        n = self[regulators]
        into, out = regulators.across(volts, 0, 1), regulators.across(volts, 2, 1)
        wish, target, _ = regulator_wish(n, into, out)
        held, _ = devices.regulator_output(wish, n.of["limit_a"])
        inner = target + n.of["ohm"] * (held - wish)
        return np.asarray(n.present * held * devices.regulator_ratio(into, inner, n.of["efficiency"])[0])


def source(group: Group, n: Numbers) -> tuple[Array, Array]:
    """Return conductance and source current of contacts and pulses."""
    return source_branch(group, n.of, n.present > 0.0)


def leg(n: Numbers) -> tuple[Array, Array]:
    """Return the conductance of half bridges and how their current hangs on the three volts."""
    duty = n.of["duty"]
    siemens = n.present / np.maximum(n.of["ohm"], SMALLEST_OHM)
    return np.asarray(siemens), np.stack([duty, 1.0 - duty, -np.ones_like(duty)])


def motor(n: Numbers, across: Array) -> tuple[Array, Array]:
    """Return current and slope of motors."""
    amps, siemens, _ = devices.motor_current(across, **n.of)
    return n.present * amps, n.present * siemens + _STEADY_S


def draw(n: Numbers, across: Array) -> tuple[Array, Array]:
    """Return current and slope of loads."""
    amps, siemens = devices.draw_current(across, n.of["amps"], n.of["min_v"])
    return n.present * amps + BLEED_S * across, n.present * siemens + BLEED_S


def diode(n: Numbers, across: Array) -> tuple[Array, Array]:
    """Return current and slope of diodes."""
    amps, siemens = devices.diode_current(across, n.of["volts"], n.of["amps"], n.of["slope_v"])
    return n.present * amps, n.present * siemens


def regulator_wish(n: Numbers, into: Array, out: Array) -> tuple[Array, Array, Array]:
    """Return the current that regulators would deliver without limit, their inner volts and the slope of these."""
    target, by_vin = devices.regulator_target(into, n.of["set_v"], n.of["dropout_v"])
    return (target - out) / n.of["ohm"], target, by_vin
