"""Steady states of many variants of a boat in one boat state.

Node analysis: every source stands behind a resistance, so node voltages are the only unknowns.  Smooth nonlinear
elements are met by Newton's method; discrete conditions (contacts, brown-outs, valid pulses) by going round until
nothing changes, starting cold, as when a boat is switched on.  A variant that comes back to an earlier set of
conditions is taken on with one condition changing at a time; if it still goes in circles, that is the answer:
something alternates for ever.  The circle is then walked once, and both of its phases are kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Sense
from assistant.circuit.batch import Batch, Variant, make_batch
from assistant.circuit.elimination import Pattern, selected_inverse, solve_again
from assistant.circuit.frame import Frame, make_frame
from assistant.circuit.network import Network
from assistant.circuit.newton import Plant, Settled, settle
from assistant.circuit.signals import expected_signal_volts, pulses_of, shares_of, travels_of
from assistant.circuit.state import BoatState

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Codes = NDArray[np.uint64]
Rows = NDArray[np.intp]

_ROUNDS = 64
_CHUNK_NUMBERS = 4_000_000
_FLOATING_OHM = 10_000.0


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


class Hold:
    """Resistance with which nodes are held: what a meter's own input works against.

    Near nodes come from one pass over the kept entries of the inverse.  For any other pair the two nodes' own
    resistances add, unless both float: such pairs are solved for where it matters.
    """

    def __init__(self, pattern: Pattern, factors: Array) -> None:
        self._pattern = pattern
        self._factors = factors
        inverse = selected_inverse(pattern, factors)
        self._inverse = np.concatenate([inverse, np.zeros((1, inverse.shape[1]))])
        nothing = pattern.entries
        self._diagonal = np.array(
            [pattern.slots[n, n] for n in range(pattern.size)] + [nothing], dtype=np.intp
        )

    def between(self, first: Rows, second: Rows, columns: Rows) -> Array:
        """Return the small-signal resistance (ohm) between pairs of nodes, shape (pairs, columns)."""
        slots, nothing = self._pattern.slots, self._pattern.entries
        pairs = list(zip(first.tolist(), second.tolist(), strict=True))
        there = np.array([slots.get((a, b), nothing) for a, b in pairs], dtype=np.intp)
        back = np.array([slots.get((b, a), nothing) for a, b in pairs], dtype=np.intp)
        inverse = self._inverse[:, columns]
        of_first, of_second = inverse[self._diagonal[first]], inverse[self._diagonal[second]]
        seen = of_first + of_second - inverse[there] - inverse[back]
        apart = (there == nothing) & (first != second)
        floating = (np.minimum(of_first, of_second) > _FLOATING_OHM) & apart[:, None]
        for pair in np.flatnonzero(floating.any(axis=1)):
            at = np.flatnonzero(floating[pair])
            seen[pair, at] = self._solved(*pairs[pair], columns[at])
        return np.asarray(np.maximum(seen, 0.0))

    def _solved(self, first: int, second: int, columns: Rows) -> Array:
        sources = np.zeros((self._pattern.size, len(columns)))
        sources[first] += 1.0
        sources[second] -= 1.0
        volts = solve_again(self._pattern, self._factors[:, columns], sources)
        return np.asarray(volts[first] - volts[second])


@dataclass(frozen=True, slots=True)
class Solver:
    """A network made ready for solving."""

    network: Network
    frame: Frame

    def solve(self, state: BoatState, variants: Sequence[Variant], *, draws: int = 0) -> Solution:
        """Return the steady states of `variants` in `state`.

        Parameters
        ----------
        draws : how many tolerance draws exist besides the nominal one (variants name theirs by number).
        """
        step = self._chunk()
        parts = [
            _Chunk(
                self.frame, make_batch(self.network, variants[start : start + step], draws=draws), state
            ).run()
            for start in range(0, len(variants), step)
        ]
        if len(parts) == 1:
            return parts[0]
        return Solution(
            network=self.network,
            state=state,
            phase=Phase.join([p.phase for p in parts]),
            other=Phase.join([p.other for p in parts]),
            restless=np.concatenate([p.restless for p in parts], axis=1),
            failed=np.concatenate([p.failed for p in parts]),
        )

    def hold(self, solution: Solution, variants: Sequence[Variant], columns: Rows, *, draws: int = 0) -> Hold:
        """Return how firmly the nodes are held at some columns of a solution.

        `variants` are those of the columns, `draws` that of the solution.
        """
        parts = []
        step = self._chunk()
        for start in range(0, len(variants), step):
            piece = slice(start, start + step)
            parts.append(self._factors(solution, variants[piece], columns[piece], draws))
        return Hold(self.network.pattern, np.concatenate(parts, axis=1))

    def _chunk(self) -> int:
        """Return how many variants are solved together, so that their matrices stay within some megabytes."""
        return max(64, _CHUNK_NUMBERS // max(1, self.network.pattern.entries))

    def _factors(self, solution: Solution, variants: Sequence[Variant], columns: Rows, draws: int) -> Array:
        batch = make_batch(self.network, variants, draws=draws)
        phase = solution.phase
        conditions = phase.conditions[:, columns]
        shares = shares_of(batch, pulses_of(batch, solution.state))
        plant = Plant.of(self.frame, batch, conditions, shares)
        rows = np.arange(batch.size)
        return settle(plant, rows, conditions, phase.travel[:, columns], phase.volts[:, columns]).factors


def make_solver(network: Network) -> Solver:
    """Return a solver for the network."""
    return Solver(network, make_frame(network))


_TOGETHER, _SINGLY, _CIRCLING = 0, 1, 2


class _Chunk:
    """The rows of one batch on their way to a steady state."""

    def __init__(self, frame: Frame, batch: Batch, state: BoatState) -> None:
        self.batch = batch
        self.network = frame.network
        self.state = state
        self.pulses = pulses_of(batch, state)
        self.shares = shares_of(batch, self.pulses)
        first = self._first_conditions()
        self.plant = Plant.of(frame, batch, first, self.shares)
        size = batch.size
        self.weights = _hash_weights(len(self.network.conditions))
        self.rows: Rows = np.arange(size)
        self.conditions = first
        self.volts = np.zeros((len(self.network.nodes), size))
        self.manner = np.zeros(size, dtype=np.intp)
        self.since = np.zeros(size, dtype=np.intp)
        self.history: list[Codes] = []
        self.restless = np.zeros_like(first)
        self.failed = np.zeros(size, dtype=np.bool_)
        self.phase = self._empty(size)
        self.other = self._empty(size)
        self.apart = np.zeros(size, dtype=np.intp)

    def _empty(self, size: int) -> Phase:
        elements = len(self.network.elements)
        return Phase(
            volts=np.zeros((len(self.network.nodes), size)),
            conditions=np.zeros((len(self.network.conditions), size), dtype=np.bool_),
            amps=np.zeros((elements, size)),
            speed=np.zeros((elements, size)),
            travel=np.zeros((len(self.network.inputs), size)),
        )

    def _first_conditions(self) -> Flags:
        """Return what holds before anything is powered: what hands have set, and what is stuck."""
        forced = self.batch.forced
        first = forced > 0
        for c, condition in enumerate(self.network.conditions):
            if condition.sense is Sense.SETTING and self.state.get(condition.setting) > 0.5:
                first[c] |= forced[c] == 0
        return first

    def run(self) -> Solution:
        for number in range(_ROUNDS):
            if not len(self.rows):
                break
            self._round(number)
        self.failed[self.rows] = True
        return Solution(
            network=self.network,
            state=self.state,
            phase=self.phase,
            other=self.other,
            restless=self.restless,
            failed=self.failed,
        )

    def _round(self, number: int) -> None:
        travel = travels_of(self.batch, self.pulses, self.conditions, self.rows)
        settled = settle(self.plant, self.rows, self.conditions, travel, self.volts)
        self._record(settled, travel, number)
        following = self._following(settled)
        changing = following != self.conditions
        singly = self._gated(_one_change(self.conditions, changing))
        following = np.where(self.manner > _TOGETHER, singly, following)
        self.restless[:, self.rows] |= (self.manner == _CIRCLING) & (following != self.conditions)
        self.history.append(self.weights @ self.conditions.astype(np.uint64))
        again = self._been_there(self.weights @ following.astype(np.uint64))
        finished = ~changing.any(axis=0) | settled.failed | (again & (self.manner == _CIRCLING))
        self.failed[self.rows[settled.failed]] = True
        self.manner[again] += 1
        self.since[again] = number + 1
        self._keep(~finished, following, settled.volts)

    def _record(self, settled: Settled, travel: Array, number: int) -> None:
        """Store this round's values: as the phase, or as the other one when further from the circle's start."""
        now = Phase(
            volts=settled.volts,
            conditions=self.conditions,
            amps=settled.amps,
            speed=settled.speed,
            travel=travel,
        )
        start = (self.manner < _CIRCLING) | (self.since == number)
        self.phase.write(self.rows[start], now, start)
        apart = (self.conditions != self.phase.conditions[:, self.rows]).sum(axis=0)
        further = start | (apart > self.apart[self.rows])
        self.other.write(self.rows[further], now, further)
        self.apart[self.rows[further]] = apart[further]

    def _been_there(self, codes: Codes) -> Flags:
        again = np.zeros(len(self.rows), dtype=np.bool_)
        for number, past in enumerate(self.history):
            again |= (past == codes) & (self.since <= number)
        return again

    def _keep(self, kept: Flags, following: Flags, volts: Array) -> None:
        self.rows = self.rows[kept]
        self.conditions = following[:, kept]
        self.volts = volts[:, kept]
        self.manner = self.manner[kept]
        self.since = self.since[kept]
        self.history = [codes[kept] for codes in self.history]

    def _following(self, settled: Settled) -> Flags:
        """Return the conditions that the present voltages bring about."""
        batch, rows = self.batch, self.rows
        expected = expected_signal_volts(batch, self.shares, rows)
        following = self.conditions.copy()
        for c, condition in enumerate(self.network.conditions):
            if condition.sense is Sense.SETTING:
                continue
            sensed = self._sensed(c, settled, expected)
            held = np.where(
                sensed >= batch.on[c, rows], True, self.conditions[c] & (sensed > batch.off[c, rows])
            )
            for gate in condition.when:
                held &= following[gate]
            forced = batch.forced[c, rows]
            following[c] = np.where(forced == 0, held, forced > 0)
        return following

    def _gated(self, conditions: Flags) -> Flags:
        """Return the conditions without those whose own preconditions have gone."""
        for c, condition in enumerate(self.network.conditions):
            for gate in condition.when:
                conditions[c] &= conditions[gate] | (self.batch.forced[c, self.rows] > 0)
        return conditions

    def _sensed(self, number: int, settled: Settled, expected: Array) -> Array:
        condition = self.network.conditions[number]
        match condition.sense:
            case Sense.VOLTS:
                return np.asarray(settled.volts[condition.of[0]] - settled.volts[condition.of[1]])
            case Sense.AMPS:
                return np.asarray(np.abs(settled.amps[condition.of[0]]))
            case Sense.TRAVEL:
                travels = travels_of(self.batch, self.pulses, self.conditions, self.rows)
                return np.asarray(np.abs(travels[condition.of[0]]))
            case _:
                given = self.network.inputs[condition.of[0]]
                brought = settled.volts[given.signal] - settled.volts[given.negative]
                return np.asarray(np.nan_to_num(brought / expected[condition.of[0]], nan=0.0))


def _one_change(before: Flags, changing: Flags) -> Flags:
    """Return `before` with only the first changing condition of each row changed."""
    first = changing & (np.cumsum(changing, axis=0) == 1)
    return np.asarray(before ^ first)


def _hash_weights(count: int) -> Codes:
    numbers = np.arange(1, count + 1, dtype=np.uint64)
    return numbers * np.uint64(0x9E3779B97F4A7C15) ^ (numbers << np.uint64(17))
