"""Steady states by Newton's method over the smooth elements of all rows together.

Equations of nodes that carry nothing changeable are eliminated once for the boat state; each step then touches only
the core: the few nodes with contacts, drives, motors, regulators and diodes.  Volts in here are those of the core,
the reference last.
"""

from __future__ import annotations

from copy import copy

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import devices
from assistant.circuit.changing import Changing, diode, draw, motor, regulator_wish
from assistant.circuit.elimination import eliminate, solve_densely, substitute

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

DIVIDER_S = 1e-4
"""What a regulator's own divider draws at its output: 10 kΩ (common practice, no source)."""

QUICK = 6
"""Whole steps after which a row starts over from where it is."""

ENOUGH = 14
"""Whole steps after which a row settles hard."""

_OUTPUT = np.array([[1.0, -1.0], [-1.0, 1.0]])[:, :, None, None]
_FEWER = 0.6
_HANDFUL = 16
"""Rows up to which dense solving is quicker than elimination (by trial)."""

_MEMORY = ("junction", "drawn", "vin", "wish")
_SHARES = np.repeat([1.0, 0.5, 0.2, 1.0], [28, 28, 28, 8])
"""The share of each step that is taken, one after the other (by trial): less and less, and whole again at the end."""

_CLIMB = len(_SHARES)
_CLIMB_V = 0.8
_CLOSE_V = 1e-7
_CHARGING_S = np.concatenate([np.geomspace(30.0, 1e-6, 120), np.geomspace(1e-6, 1e-9, 6)])
"""Capacitances over time steps, one after the other, of what charges every node from dead (by trial)."""


def settle(changing: Changing, guess: Array, *, patient: bool = True) -> tuple[Array, Flags]:
    """Return the steady volts of rows under their conditions, and which found none.

    Rows that whole Newton steps from the guess do not settle are hard, see `settle_hard`.

    Parameters
    ----------
    guess : volts to start from, shape (core and reference, rows).
    patient : whether hard rows are gone on with; else they have failed.
    """
    going = Settling(changing, guess)
    failed = going.run(QUICK)
    hard = np.flatnonzero(failed)
    if len(hard):
        again = going.take(hard)
        again.start_over(np.arange(len(hard)))
        failed[hard] = again.run(ENOUGH - QUICK)
        going.volts[:, hard] = again.volts
    hard = np.flatnonzero(failed)
    if patient and len(hard):
        going.volts[:, hard], failed[hard] = settle_hard(changing.take(hard))
    return np.nan_to_num(going.volts, posinf=0.0, neginf=0.0), failed


def settle_hard(changing: Changing) -> tuple[Array, Flags]:
    """Return the steady volts of rows that settle hard, and which found none.

    They climb up from dead in short steps.  That is how a converter behind a bad joint starts, and it ends at the
    first state that holds itself, where the pack would rather sag than deliver.
    """
    volts, failed = _climb(changing)
    hard = np.flatnonzero(failed)
    if len(hard):
        volts[:, hard], failed[hard] = _charge(changing.take(hard))
    return np.nan_to_num(volts, posinf=0.0, neginf=0.0), failed


def tangent_at(changing: Changing, volts: Array) -> tuple[Array, Array]:
    """Return the core's entries and sources of rows as they are close to their steady state `volts`."""
    going = Settling(changing, volts)
    going.stand()
    values, sources, _ = going.linear()
    return values, sources


def core_at(changing: Changing, volts: Array) -> Array:
    """Return the eliminated entries of the core of rows at their steady state `volts`."""
    going = Settling(changing, volts)
    going.run(QUICK)
    values, sources, _ = going.linear()
    eliminate(changing.frame.core.steps, values, sources)
    return values


def moving_at(changing: Changing, volts: Array) -> Array:
    """Return how far a further step leads away from `volts` (V, >= 0), shape as these."""
    going = Settling(changing, volts)
    going.step(_CLIMB_V)
    return np.abs(going.volts - volts)


def _climb(changing: Changing) -> tuple[Array, Flags]:
    """Return what rows end at that come up from dead; first with an eased load, then exactly from there."""
    eased = Settling(changing, _dead(changing), eased=True)
    eased.run(_CLIMB, _CLIMB_V)
    exact = Settling(changing, np.nan_to_num(eased.volts, posinf=0.0, neginf=0.0))
    failed = exact.run(_CLIMB, _CLIMB_V)
    return exact.volts, failed


def _charge(changing: Changing) -> tuple[Array, Flags]:
    """Return what rows end at whose every node has a capacitor, charged from dead in longer and longer time steps.

    Where the supply barely carries the load, short steps walk to and fro between the sides of a converter's dropout;
    time goes one way only (pseudo-transient continuation: Kelley and Keyes, 1998, from memory).
    """
    charging = Settling(changing, _dead(changing))
    for siemens in _CHARGING_S:
        charging.step(_CLIMB_V, held_s=float(siemens))
    failed = charging.run(_CLIMB, _CLIMB_V)
    return charging.volts, failed


def _dead(changing: Changing) -> Array:
    return np.zeros((changing.frame.core.size + 1, len(changing.rows)))


class Settling:
    """Rows on their way to steady states, each for conditions of its own.

    `eased` counts what a regulator's divider draws to its input as well; that is not quite right, and settles where
    the exact equations walk to and fro.  It serves to get near.
    """

    def __init__(self, changing: Changing, guess: Array, *, eased: bool = False) -> None:
        plant, rows = changing.plant, changing.rows
        self.eased = eased
        self.plant = plant
        self.frame = plant.frame
        self.changing = changing
        self.volts = guess.copy()
        self.base = np.empty((plant.frame.core.entries, len(rows)))
        self.base_sources = np.empty((plant.frame.core.size, len(rows)))
        self.junction = np.empty((len(plant.frame.diodes), len(rows)))
        self.drawn = np.empty((len(plant.frame.draws), len(rows)))
        self.vin, self.wish = np.empty((2, len(plant.frame.regulators), len(rows)))
        every = np.arange(len(rows))
        self._stamp_base(every)
        self.start_over(every)

    def turn(self, columns: Rows, conditions: Flags) -> None:
        """Go on with other conditions in some of the rows."""
        self.changing.turn(columns, conditions)
        self._stamp_base(columns)
        self.start_over(columns)

    def start_over(self, columns: Rows) -> None:
        """Start anew from the present volts in some of the rows."""
        frame = self.frame
        self.volts[:, columns] = volts = np.nan_to_num(self.volts[:, columns], posinf=0.0, neginf=0.0)
        if len(frame.diodes):
            forward = self.changing[frame.diodes].of["volts"][:, columns]
            self.junction[:, columns] = np.minimum(frame.diodes.across(volts, 0, 1), forward)
        self.drawn[:, columns] = frame.draws.across(volts, 0, 1)
        self.vin[:, columns] = frame.regulators.across(volts, 0, 1)
        self.wish[:, columns] = 0.0

    def stand(self) -> None:
        """Take the present volts for those of the steady state."""
        frame, volts = self.frame, self.volts
        self.junction = frame.diodes.across(volts, 0, 1)
        self.drawn = frame.draws.across(volts, 0, 1)
        self.vin = frame.regulators.across(volts, 0, 1)
        out = frame.regulators.across(volts, 2, 1)
        if len(frame.regulators):
            self.wish, *_ = regulator_wish(self.changing[frame.regulators], self.vin, out)

    def _stamp_base(self, columns: Rows) -> None:
        plant, frame = self.plant, self.frame
        there = plant.columns[self.changing.rows[columns]]
        base, sources = plant.values[frame.late][:, there], plant.sources[frame.late_nodes][:, there]
        self.changing.stamp(base, sources, columns)
        self.base[:, columns] = base
        self.base_sources[:, columns] = sources

    def take(self, columns: Rows) -> Settling:
        """Return the same try with some of its rows alone, where they stand now."""
        part = copy(self)
        part.changing = self.changing.take(columns)
        for name in ("volts", "base", "base_sources", *_MEMORY):
            setattr(part, name, getattr(self, name)[:, columns])
        return part

    def run(self, steps: int, most: float = np.inf, taken: int = 0) -> Flags:
        """Take Newton steps, none longer than `most` volts at any node, until all rows stand still.

        Return those that never do.  Rows that stand still are left alone while the others go on.  After many steps
        (`taken` are those of before) only a share of each is taken, which ends a walk to and fro across a corner.
        """
        pending = np.ones(self.volts.shape[1], dtype=np.bool_)
        for number in range(taken, steps):
            pending = self.step(most, share=float(_SHARES[number]))
            moving = np.flatnonzero(pending)
            if not len(moving):
                break
            if len(moving) < _FEWER * len(pending) and number + 1 < steps:
                rest = self.take(moving)
                pending[moving] = rest.run(steps, most, number + 1)
                self.volts[:, moving] = rest.volts
                break
        return pending

    def step(self, most: float = np.inf, *, share: float = 1.0, held_s: float = 0.0) -> Flags:
        """Take one step, or a share of it, and return which rows were still moving.

        `held_s` holds every node at where it stands, as a capacitor does for a while.
        """
        values, sources, bent = self.linear(held_s)
        before = self.volts[:-1].copy()
        if held_s:
            sources += held_s * before
        self._solve(values, sources)
        change = self.volts[:-1] - before
        pending = ~(np.abs(change).max(axis=0, initial=0.0) < _CLOSE_V) | bent
        limit = self.plant.highest_v
        most = min(most, 2.0 * limit)
        if pending.any():
            wanted = before + share * np.minimum(np.maximum(change, -most), most)
            self.volts[:-1] = np.minimum(np.maximum(wanted, -limit), limit)
        return np.asarray(pending)

    def linear(self, held_s: float = 0.0) -> tuple[Array, Array, Flags]:
        """Return the core's entries and sources near the present volts, and which rows were held back."""
        values, sources = self.base.copy(), self.base_sources.copy()
        bent = self._stamp_curves(values, sources)
        if held_s:
            values[self.frame.diagonals] += held_s
        return values, sources, bent

    def _solve(self, values: Array, sources: Array) -> None:
        core = self.frame.core
        if self.volts.shape[1] <= _HANDFUL:
            try:
                self.volts[:-1] = solve_densely(self.frame.places, values, sources)
            except np.linalg.LinAlgError:
                pass
            else:
                return
        # A row that runs away may lose its pivots; it comes out as not a number, which counts as failed.
        with np.errstate(divide="ignore", invalid="ignore"):
            eliminate(core.steps, values, sources)
            substitute(core.steps, values, sources, self.volts)

    def _stamp_curves(self, values: Array, sources: Array) -> Flags:
        """Add the nonlinear elements as they are near the present volts; return which rows were held back."""
        frame = self.frame
        bent = np.zeros(self.volts.shape[1], dtype=np.bool_)
        if len(frame.motors):
            across = frame.motors.across(self.volts, 0, 1)
            amps, siemens = motor(self.changing[frame.motors], across)
            frame.motors.stamp_branch(values, sources, siemens, amps - siemens * across)
        if len(frame.draws):
            bent |= self._stamp_draws(values, sources)
        if len(frame.diodes):
            bent |= self._stamp_diodes(values, sources)
        if len(frame.regulators):
            bent |= self._stamp_regulators(values, sources)
        return bent

    def _stamp_draws(self, values: Array, sources: Array) -> Flags:
        group = self.frame.draws
        n = self.changing[group]
        across = group.across(self.volts, 0, 1)
        at = devices.tame(across, self.drawn, 0.5 * n.of["min_v"], n.of["min_v"])
        bent = (np.abs(at - across) > _CLOSE_V) & (n.present > 0.0)
        self.drawn = at
        amps, siemens = draw(n, at)
        group.stamp_branch(values, sources, siemens, amps - siemens * at)
        return np.asarray(bent.any(axis=0))

    def _stamp_diodes(self, values: Array, sources: Array) -> Flags:
        group = self.frame.diodes
        n = self.changing[group]
        across = group.across(self.volts, 0, 1)
        at = devices.tame_diode(across, self.junction, n.of["volts"], n.of["amps"], n.of["slope_v"])
        bent = (np.abs(at - across) > _CLOSE_V) & (n.present > 0.0)
        self.junction = at
        amps, siemens = diode(n, at)
        group.stamp_branch(values, sources, siemens, amps - siemens * at)
        return np.asarray(bent.any(axis=0))

    def _stamp_regulators(self, values: Array, sources: Array) -> Flags:
        """Add regulators: the output current and the input current, each linear in the three node voltages."""
        group = self.frame.regulators
        n = self.changing[group]
        into, vout = group.across(self.volts, 0, 1), group.across(self.volts, 2, 1)
        full = n.of["set_v"] + n.of["dropout_v"]
        vin = devices.tame(into, self.vin, np.minimum(vout + n.of["dropout_v"], full), full)
        wish, target, by_vin = regulator_wish(n, vin, vout)
        at = devices.tame(wish, self.wish, 0.0, n.of["limit_a"])
        bent = ((np.abs(at - wish) > devices.ROUND_A) | (vin != into)) & (n.present > 0.0)
        self.vin, self.wish = vin, at
        held_at, bend = devices.regulator_output(at, n.of["limit_a"])
        held, by_wish = n.present * held_at, n.present * bend
        by_in = by_wish * by_vin / n.of["ohm"]
        divider = n.present * DIVIDER_S
        by_out = -by_wish / n.of["ohm"] - (divider if self.eased else 0.0)
        rest = held + by_wish * ((target - by_vin * vin) / n.of["ohm"] - at)
        # What is behind its own resistance: the target, or less where the limit lets the output sink.
        inner = target + n.of["ohm"] * (held_at - at)
        ratio, by_inner, ratio_by_vin = devices.regulator_ratio(vin, inner, n.of["efficiency"])
        more = np.stack([held * (ratio_by_vin + by_inner * by_vin * bend), held * by_inner * (1.0 - bend)])
        stood = np.stack([vin, target - n.of["ohm"] * at])
        slopes, constants = _regulator_lines(by_in, by_out, rest, ratio, more, stood)
        if not self.eased:
            slopes[1:, 1:] += divider * _OUTPUT
        group.stamp_general(values, sources, slopes, constants)
        return np.asarray(bent.any(axis=0))


def _regulator_lines(
    by_in: Array, by_out: Array, rest: Array, ratio: Array, more: Array, stood: Array
) -> tuple[Array, Array]:
    """Return the slopes and constants of the currents that leave the three nodes.

    `more` are the slopes of the input current by input and output volts as `ratio` changes, taken where these `stood`.
    """
    out_slopes = np.stack([by_in, -by_in - by_out, by_out])
    in_slopes = ratio * out_slopes + np.stack([more[0], -more[0] - more[1], more[1]])
    in_rest = ratio * rest - (more * stood).sum(axis=0)
    slopes = np.stack([in_slopes, out_slopes - in_slopes, -out_slopes])
    return slopes, np.stack([in_rest, rest - in_rest, -rest])
