"""Many variants of a boat from switching on to their steady states.

Discrete conditions (contacts, brown-outs, valid pulses) are found by going round until nothing changes, starting cold,
as when a boat is switched on.  A variant that comes back to an earlier set of conditions is taken on with one
condition coming on at a time; if it still goes in circles, that is the answer: something alternates for ever, and two
moments of the circle are kept, those with the most and with the least volts over all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Sense
from assistant.circuit.batch import Batch
from assistant.circuit.frame import Frame
from assistant.circuit.network import Network
from assistant.circuit.newton import Settled, settle
from assistant.circuit.plant import Plant
from assistant.circuit.signals import expected_signal_volts, neutral_of, pulses_of, shares_of, travels_of
from assistant.circuit.solution import Phase, Solution
from assistant.circuit.state import BoatState

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Codes = NDArray[np.uint64]
Rows = NDArray[np.intp]

_ROUNDS = 64


@dataclass(frozen=True, slots=True)
class _Circle:
    """Rows that go in circles: two moments of the circle, and what changes in it."""

    rows: Rows
    first: Flags
    other: Flags
    restless: Flags


class Rounds:
    """The rows of one batch on their way to a steady state."""

    def __init__(self, frame: Frame, batch: Batch, states: Sequence[BoatState], at: Rows) -> None:
        """Take the rows, each in the boat state of `states` that `at` numbers."""
        self.batch = batch
        self.network = frame.network
        self.states = tuple(states)
        self.at = at
        self.pulses = self._pulses()
        self.shares = shares_of(batch, self.pulses)
        self.neutral = neutral_of(batch)
        first = self._first_conditions()
        self.plant = Plant.of(frame, batch, first, self.shares)
        size = batch.size
        self.weights = _hash_weights(len(self.network.conditions))
        self.rows: Rows = np.arange(size)
        self.conditions = first
        self.volts = np.zeros((len(self.network.nodes), size))
        self.singly = np.zeros(size, dtype=np.bool_)
        self.since = np.zeros(size, dtype=np.intp)
        self.history: list[tuple[Codes, Flags, Array]] = []
        self.circles: list[_Circle] = []
        self.failed = np.zeros(size, dtype=np.bool_)
        self.phase = _empty_phase(self.network, size)

    def _first_conditions(self) -> Flags:
        """Return what holds before anything is powered: what hands have set, and what is stuck."""
        forced = self.batch.forced
        first = forced > 0
        for c, condition in enumerate(self.network.conditions):
            if condition.sense is Sense.SETTING:
                on = np.array([state.get(condition.setting) > 0.5 for state in self.states])
                first[c] |= on[self.at] & (forced[c] == 0)
        return first

    def _pulses(self) -> Mapping[int, Array]:
        """Return the pulse width (ms) that comes out of each socket, each row in its own boat state."""
        each = [pulses_of(self.batch, state) for state in self.states]
        rows = np.arange(self.batch.size)
        return {number: np.stack([pulses[number] for pulses in each])[self.at, rows] for number in each[0]}

    def run(self) -> Solution:
        """Go round until every row has settled or goes in circles; the solution bears the first of the states."""
        for number in range(_ROUNDS):
            if not len(self.rows):
                break
            self._round(number)
        self.failed[self.rows] = True
        other = Phase.join([self.phase])
        restless = np.zeros_like(self.phase.conditions)
        if self.circles:
            circling = np.concatenate([c.rows for c in self.circles])
            first, last = (
                self._settle_into(phase, circling, np.concatenate(moments, axis=1))
                for phase, moments in (
                    (self.phase, [c.first for c in self.circles]),
                    (other, [c.other for c in self.circles]),
                )
            )
            # With one condition coming on at a time a circle may close before all had their turn.
            restless[:, circling] = np.concatenate([c.restless for c in self.circles], axis=1) | first | last
        return Solution(
            network=self.network,
            state=self.states[0],
            phase=self.phase,
            other=other,
            restless=restless,
            failed=self.failed,
        )

    def _settle_into(self, phase: Phase, rows: Rows, conditions: Flags) -> Flags:
        """Settle a moment of a circle into `phase`, and return which conditions want to change there."""
        travel = travels_of(self.batch, self.pulses, conditions, rows)
        settled = settle(self.plant, rows, conditions, travel, np.zeros((len(self.network.nodes), len(rows))))
        self.failed[rows[settled.failed]] = True
        phase.write(rows, _phase_of(settled, conditions, travel), slice(None))
        self.rows, self.conditions = rows, conditions
        return np.asarray(self._following(settled, travel) != conditions)

    def _round(self, number: int) -> None:
        travel = travels_of(self.batch, self.pulses, self.conditions, self.rows)
        settled = settle(self.plant, self.rows, self.conditions, travel, self.volts)
        following = self._following(settled, travel)
        changing = following != self.conditions
        singly = self._gated(_one_change(self.conditions, changing))
        following = np.where(self.singly, singly, following)
        codes = self.weights @ self.conditions.astype(np.uint64)
        self.history.append((codes, self.conditions, np.abs(settled.volts).sum(axis=0)))
        again = self._been_there(self.weights @ following.astype(np.uint64))
        resting = ~changing.any(axis=0) | settled.failed
        circling = again & self.singly & ~resting
        self.phase.write(self.rows[resting], _phase_of(settled, self.conditions, travel), resting)
        self.failed[self.rows[settled.failed]] = True
        self._note_circles(np.flatnonzero(circling), following)
        self.singly |= again
        self.since[again] = number + 1
        self._keep(~(resting | circling), following, settled.volts)

    def _been_there(self, codes: Codes) -> Flags:
        again = np.zeros(len(self.rows), dtype=np.bool_)
        for number, (past, *_) in enumerate(self.history):
            again |= (past == codes) & (self.since <= number)
        return again

    def _note_circles(self, columns: Rows, following: Flags) -> None:
        """Remember rows that are about to come back to `following`: the circle is all since they were last there."""
        if not len(columns):
            return
        back = following[:, columns]
        codes = self.weights @ back.astype(np.uint64)
        inside = np.zeros(len(columns), dtype=np.bool_)
        first, other, restless = back, back, np.zeros_like(back)
        most, least = np.full(len(columns), -np.inf), np.full(len(columns), np.inf)
        for past, conditions, level in self.history:
            inside |= past[columns] == codes
            there, volts = conditions[:, columns], level[columns]
            restless |= (there != back) & inside
            higher, lower = inside & (volts > most), inside & (volts <= least)
            first, most = np.where(higher, there, first), np.where(higher, volts, most)
            other, least = np.where(lower, there, other), np.where(lower, volts, least)
        self.circles.append(_Circle(self.rows[columns], first, other, restless))

    def _keep(self, kept: Flags, following: Flags, volts: Array) -> None:
        self.rows = self.rows[kept]
        self.conditions = following[:, kept]
        self.volts = volts[:, kept]
        self.singly = self.singly[kept]
        self.since = self.since[kept]
        self.history = [(codes[kept], there[:, kept], level[kept]) for codes, there, level in self.history]

    def _following(self, settled: Settled, travel: Array) -> Flags:
        """Return the conditions that the present voltages bring about."""
        batch, rows = self.batch, self.rows
        expected = expected_signal_volts(batch, self.shares, rows)
        following = self.conditions.copy()
        for c, condition in enumerate(self.network.conditions):
            if condition.sense is Sense.SETTING:
                continue
            sensed = self._sensed(c, settled, travel, expected)
            stays = self.conditions[c] & (sensed > batch.off[c, rows])
            held = (sensed >= batch.on[c, rows]) | stays
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

    def _sensed(self, number: int, settled: Settled, travel: Array, expected: Array) -> Array:
        condition = self.network.conditions[number]
        match condition.sense:
            case Sense.VOLTS:
                return np.asarray(settled.volts[condition.of[0]] - settled.volts[condition.of[1]])
            case Sense.AMPS:
                return np.asarray(np.abs(settled.amps[condition.of[0]]))
            case Sense.WATTS:
                nodes = self.network.elements[condition.of[0]].nodes
                across = settled.volts[nodes[0]] - settled.volts[nodes[-1]]
                return np.asarray(np.abs(across * settled.amps[condition.of[0]]))
            case Sense.TRAVEL:
                return np.asarray(np.abs(travel[condition.of[0]]))
            case Sense.NEUTRAL:
                return np.asarray(self.neutral[condition.of[0], self.rows])
            case _:
                given = self.network.inputs[condition.of[0]]
                brought = settled.volts[given.signal] - settled.volts[given.negative]
                return np.asarray(np.nan_to_num(brought / expected[condition.of[0]], nan=0.0))


def _empty_phase(network: Network, size: int) -> Phase:
    elements = len(network.elements)
    return Phase(
        volts=np.zeros((len(network.nodes), size)),
        conditions=np.zeros((len(network.conditions), size), dtype=np.bool_),
        amps=np.zeros((elements, size)),
        speed=np.zeros((elements, size)),
        travel=np.zeros((len(network.inputs), size)),
    )


def _phase_of(settled: Settled, conditions: Flags, travel: Array) -> Phase:
    return Phase(
        volts=settled.volts, conditions=conditions, amps=settled.amps, speed=settled.speed, travel=travel
    )


def _one_change(before: Flags, changing: Flags) -> Flags:
    """Return `before` with everything that falls fallen, or else with the first that rises risen.

    What loses its supply goes at once; what comes on comes on one after the other.
    """
    falling = changing & before
    first = changing & (np.cumsum(changing, axis=0) == 1)
    return np.asarray(before ^ np.where(falling.any(axis=0), falling, first))


def _hash_weights(count: int) -> Codes:
    numbers = np.arange(1, count + 1, dtype=np.uint64)
    return numbers * np.uint64(0x9E3779B97F4A7C15) ^ (numbers << np.uint64(17))
