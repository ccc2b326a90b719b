"""One steady state for fixed conditions: Newton's method over the smooth elements of all rows together.

Equations of nodes that carry nothing changeable are eliminated once for the boat state; each step then touches only
the few nodes with contacts, drives, motors, regulators and diodes.
"""

from __future__ import annotations

from copy import copy

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import devices
from assistant.circuit.elimination import eliminate, solve_densely, substitute
from assistant.circuit.plant import SMALLEST_OHM, Plant, numbers_of, present_of, source_branch
from assistant.circuit.solution import Settled
from assistant.circuit.stamps import PAIR, Group

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

BLEED_S = 1e-6
"""What a load leaks while it takes no current: 1 MΩ (common practice, no source)."""

DIVIDER_S = 1e-4
"""What a regulator's own divider draws at its output: 10 kΩ (common practice, no source)."""

_OUTPUT = np.array([0.0, -1.0, 1.0])[:, None, None]
_QUICK = 6
_FEWER = 0.6
_HANDFUL = 8
"""Rows up to which dense solving is quicker than elimination (by trial)."""

_BY_ROW = ("volts", "values", "sources", "base", "base_sources", "junction", "drawn", "vin", "wish")
_LONGER = 8
_CLIMB = 64
_WHOLE = 28
_CLIMB_V = 0.8
_CLOSE_V = 1e-7
_STEADY_S = 1e-9
_CHARGING_S = np.concatenate([np.geomspace(30.0, 1e-6, 120), np.geomspace(1e-6, 1e-9, 6)])
"""Capacitances over time steps, one after the other, of what charges every node from dead (by trial)."""


def settle(
    plant: Plant, rows: Rows, conditions: Flags, travel: Array, guess: Array, *, patient: bool = True
) -> Settled:
    """Return the steady state of `rows` while `conditions` hold.

    Rows that whole Newton steps from the guess do not settle climb up from dead in short steps.  That is how a
    converter behind a bad joint starts, and it ends at the first state that holds itself, where the pack would rather
    sag than deliver.

    Parameters
    ----------
    conditions : shape (conditions, len(rows)).
    travel : shape (inputs, len(rows)).
    guess : voltages to start from, shape (nodes, len(rows)).
    patient : whether rows may climb; else those that would have to have failed.
    """
    whole = _Settling(plant, rows, conditions, travel, guess).run(_QUICK)
    hard = np.flatnonzero(whole.failed)
    if len(hard):
        whole.replace(
            hard, _again(plant, rows[hard], conditions[:, hard], travel[:, hard], whole.volts[:, hard])
        )
    for slower in (_climb, _charge) if patient else ():
        hard = np.flatnonzero(whole.failed)
        if len(hard):
            whole.replace(hard, slower(plant, rows[hard], conditions[:, hard], travel[:, hard]))
    return whole


def held_at(plant: Plant, rows: Rows, conditions: Flags, travel: Array, volts: Array) -> Array:
    """Return the eliminated matrix entries of `rows` at their steady state `volts`; parameters as for `settle`."""
    return _Settling(plant, rows, conditions, travel, volts).run(_QUICK).factors


def moving_at(plant: Plant, rows: Rows, conditions: Flags, travel: Array, volts: Array) -> Array:
    """Return how far a further step leads away from `volts` (V, >= 0), shape (nodes, rows); as for `settle`."""
    going = _Settling(plant, rows, conditions, travel, volts)
    going.step(_CLIMB_V)
    moved = np.zeros_like(volts)
    late = plant.frame.late_nodes
    moved[late] = np.abs(going.volts[late] - volts[late])
    return moved


def _again(plant: Plant, rows: Rows, conditions: Flags, travel: Array, start: Array) -> Settled:
    return _Settling(plant, rows, conditions, travel, start).run(_LONGER)


def _climb(plant: Plant, rows: Rows, conditions: Flags, travel: Array) -> Settled:
    """Return what rows end at that come up from dead; first with an eased load, then exactly from there."""
    dead = np.zeros((len(plant.frame.network.nodes), len(rows)))
    eased = _Settling(plant, rows, conditions, travel, dead, eased=True).run(_CLIMB, _CLIMB_V)
    return _Settling(plant, rows, conditions, travel, eased.volts).run(_CLIMB, _CLIMB_V)


def _charge(plant: Plant, rows: Rows, conditions: Flags, travel: Array) -> Settled:
    """Return what rows end at whose every node has a capacitor, charged from dead in longer and longer time steps.

    Where the supply barely carries the load, short steps walk to and fro between the sides of a converter's dropout;
    time goes one way only (pseudo-transient continuation: Kelley and Keyes, 1998, from memory).
    """
    dead = np.zeros((len(plant.frame.network.nodes), len(rows)))
    charging = _Settling(plant, rows, conditions, travel, dead)
    for siemens in _CHARGING_S:
        charging.step(_CLIMB_V, held_s=float(siemens))
    return charging.run(_CLIMB, _CLIMB_V)


class _Settling:
    """The working arrays of one try at a steady state.

    `eased` counts what a regulator's divider draws to its input as well; that is not quite right, and settles where
    the exact equations walk to and fro.  It serves to get near.
    """

    def __init__(
        self,
        plant: Plant,
        rows: Rows,
        conditions: Flags,
        travel: Array,
        guess: Array,
        *,
        eased: bool = False,
    ) -> None:
        self.eased = eased
        self.plant = plant
        self.frame = plant.frame
        self.batch = plant.batch
        self.rows = rows
        self.volts = guess.copy()
        frame = self.frame
        groups = (frame.gated, frame.legs, frame.motors, frame.draws, frame.diodes, frame.regulators)
        self.numbers = {id(g): numbers_of(frame, self.batch, g, rows, travel, plant.shares) for g in groups}
        self.present = {
            id(g): present_of(frame, self.batch, g, rows, conditions).astype(np.float64) for g in groups
        }
        forward = self.numbers[id(frame.diodes)].get("volts", 0.0)
        self.junction = np.minimum(frame.diodes.across(guess, 0, 1), forward)
        self.drawn = frame.draws.across(guess, 0, 1)
        self.vin = frame.regulators.across(guess, 0, 1)
        self.wish = np.zeros((len(frame.regulators), len(rows)))
        self.eliminated = False
        self.values = plant.values[:, rows]
        self.sources = plant.sources[:, rows]
        self._stamp_linear()
        self.base = self.values[frame.late]
        self.base_sources = self.sources[frame.late_nodes]

    def _stamp_linear(self) -> None:
        frame = self.frame
        gated = frame.gated
        present = self.present[id(gated)] > 0.0
        siemens, amps = source_branch(gated, self.numbers[id(gated)], present)
        gated.stamp_branch(self.values, self.sources, PAIR, siemens, amps)
        if len(frame.legs):
            siemens = self._leg_siemens()
            frame.legs.stamp_branch(
                self.values, self.sources, self._leg_weights(), siemens, np.zeros_like(siemens)
            )

    def _leg_siemens(self) -> Array:
        numbers = self.numbers[id(self.frame.legs)]
        return np.asarray(self.present[id(self.frame.legs)] / np.maximum(numbers["ohm"], SMALLEST_OHM))

    def _leg_weights(self) -> Array:
        duty = self.numbers[id(self.frame.legs)]["duty"]
        return np.stack([duty, 1.0 - duty, -np.ones_like(duty)])

    def run(self, steps: int, most: float = np.inf, taken: int = 0) -> Settled:
        """Take Newton steps, none longer than `most` volts at any node, until all rows stand still.

        Rows that stand still are left alone while the others go on.  After many steps (`taken` are those of before)
        only half of each is taken, which ends a walk to and fro across a corner.
        """
        pending = np.ones(len(self.rows), dtype=np.bool_)
        most = min(most, 2.0 * self.plant.highest_v)
        for number in range(taken, steps):
            pending = self.step(most, share=1.0 if number < _WHOLE else 0.5)
            moving = np.flatnonzero(pending)
            if not len(moving):
                break
            if len(moving) < _FEWER * len(pending) and number + 1 < steps:
                rest = self._narrowed(moving).run(steps, most, number + 1)
                whole = self._finished(pending)
                whole.replace(moving, rest)
                return whole
        return self._finished(pending)

    def step(self, most: float, *, share: float = 1.0, held_s: float = 0.0) -> Flags:
        """Take one step, or a share of it, and return which rows were still moving.

        `held_s` holds every changeable node at where it stands, as a capacitor does for a while.
        """
        frame = self.frame
        self.values[frame.late] = self.base
        self.sources[frame.late_nodes] = self.base_sources
        self.eliminated = False
        bent = self._stamp_curves()
        before = self.volts[frame.late_nodes]
        if held_s:
            self.values[frame.late_diagonals] += held_s
            self.sources[frame.late_nodes] += held_s * before
        if len(self.rows) <= _HANDFUL:
            self._solve_few()
        else:
            self._eliminate()
        change = self.volts[frame.late_nodes] - before
        pending = ~(np.abs(change).max(axis=0, initial=0.0) < _CLOSE_V) | bent
        if pending.any():
            limit = self.plant.highest_v
            step = share * np.clip(change, -most, most)
            self.volts[frame.late_nodes] = np.clip(before + step, -limit, limit)
        return np.asarray(pending)

    def _eliminate(self) -> None:
        """Solve for the changeable nodes; their factors stay behind."""
        pattern = self.frame.network.pattern
        # A row that runs away may lose its pivots; it comes out as not a number, which counts as failed.
        with np.errstate(divide="ignore", invalid="ignore"):
            eliminate(pattern, self.values, self.sources, pattern.early, len(pattern.steps))
            substitute(pattern, self.values, self.sources, self.volts, pattern.early)
        self.eliminated = True

    def _solve_few(self) -> None:
        """Solve for the changeable nodes of a handful of rows; no factors are left."""
        frame = self.frame
        entries, sources = self.values[frame.late], self.sources[frame.late_nodes]
        try:
            self.volts[frame.late_nodes] = solve_densely(frame.late_places, entries, sources)
        except np.linalg.LinAlgError:
            self._eliminate()

    def _narrowed(self, columns: Rows) -> _Settling:
        """Return the same try with some of its rows alone, where they stand now."""
        part = copy(self)
        part.rows = self.rows[columns]
        for name in _BY_ROW:
            setattr(part, name, getattr(self, name)[:, columns])
        part.present = {group: there[:, columns] for group, there in self.present.items()}
        part.numbers = {
            group: {name: column[:, columns] for name, column in found.items()}
            for group, found in self.numbers.items()
        }
        return part

    def _finished(self, pending: Flags) -> Settled:
        if not self.eliminated:
            self._eliminate()
        with np.errstate(divide="ignore", invalid="ignore"):
            substitute(self.frame.network.pattern, self.values, self.sources, self.volts, 0)
        failed = pending | ~np.isfinite(self.volts).all(axis=0)
        self.volts = np.nan_to_num(self.volts, posinf=0.0, neginf=0.0)
        amps, speed = self._currents()
        return Settled(self.volts, amps, speed, failed, self.values)

    def _stamp_curves(self) -> Flags:
        """Add the nonlinear elements as they are near the present voltages; return which rows were held back."""
        frame = self.frame
        bent = np.zeros(len(self.rows), dtype=np.bool_)
        if len(frame.motors):
            across = frame.motors.across(self.volts, 0, 1)
            amps, siemens = self._motor(across)
            frame.motors.stamp_branch(self.values, self.sources, PAIR, siemens, amps - siemens * across)
        if len(frame.draws):
            bent |= self._stamp_draws()
        if len(frame.diodes):
            bent |= self._stamp_diodes()
        if len(frame.regulators):
            bent |= self._stamp_regulators()
        return bent

    def _motor(self, across: Array) -> tuple[Array, Array]:
        n = self.numbers[id(self.frame.motors)]
        present = self.present[id(self.frame.motors)]
        amps, siemens, _ = devices.motor_current(
            across, n["ohm"], n["idle_a"], n["rated_v"], n["rated_a"], n["load"]
        )
        return present * amps, present * siemens + _STEADY_S

    def _draw(self, across: Array) -> tuple[Array, Array]:
        n = self.numbers[id(self.frame.draws)]
        present = self.present[id(self.frame.draws)]
        amps, siemens = devices.draw_current(across, n["amps"], n["min_v"])
        return present * amps + BLEED_S * across, present * siemens + BLEED_S

    def _stamp_draws(self) -> Flags:
        group = self.frame.draws
        across = group.across(self.volts, 0, 1)
        min_v = self.numbers[id(group)]["min_v"]
        at = devices.tame(across, self.drawn, 0.5 * min_v, min_v)
        bent = (np.abs(at - across) > _CLOSE_V) & (self.present[id(group)] > 0.0)
        self.drawn = at
        amps, siemens = self._draw(at)
        group.stamp_branch(self.values, self.sources, PAIR, siemens, amps - siemens * at)
        return np.asarray(bent.any(axis=0))

    def _stamp_diodes(self) -> Flags:
        group = self.frame.diodes
        n = self.numbers[id(group)]
        present = self.present[id(group)]
        across = group.across(self.volts, 0, 1)
        at = devices.tame_diode(across, self.junction, n["volts"], n["amps"], n["slope_v"])
        bent = (np.abs(at - across) > _CLOSE_V) & (present > 0.0)
        self.junction = at
        amps, siemens = devices.diode_current(at, n["volts"], n["amps"], n["slope_v"])
        group.stamp_branch(
            self.values, self.sources, PAIR, present * siemens, present * (amps - siemens * at)
        )
        return np.asarray(bent.any(axis=0))

    def _stamp_regulators(self) -> Flags:
        """Add regulators: the output current and the input current, each linear in the three node voltages."""
        group = self.frame.regulators
        n = self.numbers[id(group)]
        present = self.present[id(group)]
        into, vout = group.across(self.volts, 0, 1), group.across(self.volts, 2, 1)
        full = n["set_v"] + n["dropout_v"]
        vin = devices.tame(into, self.vin, np.minimum(vout + n["dropout_v"], full), full)
        target, by_vin = devices.regulator_target(vin, n["set_v"], n["dropout_v"])
        wish = (target - vout) / n["ohm"]
        at = devices.tame(wish, self.wish, 0.0, n["limit_a"])
        bent = ((np.abs(at - wish) > devices.ROUND_A) | (vin != into)) & (present > 0.0)
        self.vin, self.wish = vin, at
        held, by_wish = devices.regulator_output(at, n["limit_a"])
        held, by_wish = present * held, present * by_wish
        by_in = by_wish * by_vin / n["ohm"]
        divider = present * DIVIDER_S
        by_out = -by_wish / n["ohm"] - (divider if self.eased else 0.0)
        rest = held + by_wish * ((target - by_vin * vin) / n["ohm"] - at)
        ratio, ratio_by_vin = devices.regulator_ratio(vin, target, by_vin, n["efficiency"])
        self._stamp_regulator_lines(group, by_in, by_out, rest, ratio, held * ratio_by_vin, vin)
        if not self.eased:
            group.stamp_branch(self.values, self.sources, _OUTPUT, divider, np.zeros_like(divider))
        return np.asarray(bent.any(axis=0))

    def _stamp_regulator_lines(
        self, group: Group, by_in: Array, by_out: Array, rest: Array, ratio: Array, extra: Array, vin: Array
    ) -> None:
        out_slopes = np.stack([by_in, -by_in - by_out, by_out])
        in_slopes = ratio * out_slopes + np.stack([extra, -extra, np.zeros_like(extra)])
        in_rest = ratio * rest - extra * vin
        slopes = np.stack([in_slopes, out_slopes - in_slopes, -out_slopes])
        constants = np.stack([in_rest, rest - in_rest, -rest])
        group.stamp_general(self.values, self.sources, slopes, constants)

    def _currents(self) -> tuple[Array, Array]:
        """Return the current of every element from its first to its second node, and motor speeds."""
        frame = self.frame
        amps = np.zeros((len(frame.network.elements), len(self.rows)))
        speed = np.zeros_like(amps)
        self._linear_currents(amps)
        for group, curve in ((frame.motors, self._motor), (frame.draws, self._draw)):
            if len(group):
                amps[group.members] = curve(group.across(self.volts, 0, 1))[0]
        if len(frame.motors):
            n = self.numbers[id(frame.motors)]
            across = frame.motors.across(self.volts, 0, 1)
            *_, emf = devices.motor_current(
                across, n["ohm"], n["idle_a"], n["rated_v"], n["rated_a"], n["load"]
            )
            turning = devices.motor_speed(emf, n["ohm"], n["rated_v"], n["rated_a"])
            speed[frame.motors.members] = self.present[id(frame.motors)] * turning
        if len(frame.diodes):
            n = self.numbers[id(frame.diodes)]
            current, _ = devices.diode_current(self.junction, n["volts"], n["amps"], n["slope_v"])
            amps[frame.diodes.members] = self.present[id(frame.diodes)] * current
        if len(frame.regulators):
            n = self.numbers[id(frame.regulators)]
            held, _ = devices.regulator_output(self.wish, n["limit_a"])
            amps[frame.regulators.members] = self.present[id(frame.regulators)] * held
        return amps, speed

    def _linear_currents(self, amps: Array) -> None:
        frame = self.frame
        if len(frame.legs):
            weights = self._leg_weights()
            inner = (weights * self.volts[frame.legs.nodes.T]).sum(axis=0)
            amps[frame.legs.members] = self._leg_siemens() * inner
        gated = frame.gated
        siemens, source = source_branch(gated, self.numbers[id(gated)], self.present[id(gated)] > 0.0)
        amps[gated.members] = siemens * gated.across(self.volts, 0, 1) + source
        fixed, plant = frame.fixed, self.plant
        across = fixed.across(self.volts, 0, 1)
        amps[fixed.members] = plant.siemens[:, self.rows] * across + plant.amps[:, self.rows]
