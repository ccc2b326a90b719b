"""Many variants of a boat from switching on to their steady states.

Discrete conditions (contacts, brown-outs, valid pulses) are found by going round until nothing changes, starting cold,
as when a boat is switched on.  A variant that comes back to an earlier set of conditions is taken on with one
condition coming on at a time; if it still goes in circles, that is the answer: something alternates for ever, and two
moments of the circle are kept, those with the most and with the least volts over all.

A few variants take far longer than the rest.  They may be put off, so that those of several batches go on together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Sense
from assistant.circuit.batch import Batch
from assistant.circuit.frame import Frame
from assistant.circuit.newton import settle
from assistant.circuit.plant import Plant
from assistant.circuit.signals import expected_signal_volts, neutral_of, pulses_of, shares_of, travels_of
from assistant.circuit.solution import Phase, Settled, Solution
from assistant.circuit.state import BoatState

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Codes = NDArray[np.uint64]
Rows = NDArray[np.intp]

_ROUNDS = 64
_EVEN_V = 1e-6
"""By less than this two moments differ by rounding alone: kept are the first with the most, the last with the least."""

_FEW = 0.04
"""Share of the rows that are so few that they are better put off."""


@dataclass(frozen=True, slots=True)
class _Circle:
    """Rows that go in circles: two moments of the circle, and what changes in it."""

    rows: Rows
    first: Flags
    other: Flags
    restless: Flags


class Rounds:
    """The rows of one batch on their way to a steady state.

    `solution` fills up as rows get there; `put_off` are those that were left behind: without patience, rows that
    settle hard, and the last few.
    """

    def __init__(
        self, frame: Frame, batch: Batch, states: Sequence[BoatState], at: Rows, *, patient: bool = True
    ) -> None:
        """Take the rows, each in the boat state of `states` that `at` numbers."""
        self.patient = patient
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
        self.first = first
        self.put_off = np.zeros(size, dtype=np.bool_)
        self.solution = Solution.empty(self.network, self.states[0], size)
        self._start(np.zeros(0, dtype=np.intp))

    def _start(self, rows: Rows) -> None:
        self.rows = rows
        self.conditions = self.first[:, rows]
        self.volts = np.zeros((len(self.network.nodes), len(rows)))
        self.singly = np.zeros(len(rows), dtype=np.bool_)
        self.since = np.zeros(len(rows), dtype=np.intp)
        self.history: list[tuple[Codes, Flags, Array]] = []
        self.circles: list[_Circle] = []

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

    def run(self, rows: Rows) -> None:
        """Switch some rows on and go round until every one has settled, goes in circles, or is put off."""
        self._start(rows)
        few = 0 if self.patient else int(_FEW * len(rows))
        for number in range(_ROUNDS):
            if len(self.rows) <= few:
                break
            self._round(number)
        self._give_up(self.rows)
        found = self.solution
        found.other.write(rows, found.phase.take(rows), slice(None))
        for circle in self.circles:
            first = self._settle_into(found.phase, circle.rows, circle.first)
            last = self._settle_into(found.other, circle.rows, circle.other)
            # With one condition coming on at a time a circle may close before all had their turn.
            found.restless[:, circle.rows] = circle.restless | first | last

    def follow(self, rows: Rows, alike: Solution) -> Rows:
        """Take some rows to where rows `alike` came to rest; return those that do not rest there, or find nothing.

        What alternates is taken to the same two moments; where no steady state was found, none is looked for.
        """
        found = self.solution
        found.write(rows, alike, slice(None))
        circling = np.flatnonzero(alike.restless.any(axis=0) & ~alike.failed)
        resting = np.flatnonzero(~alike.restless.any(axis=0) & ~alike.failed)
        solved, stays = self._follow_into(found.phase, rows[resting], alike.phase.take(resting))
        found.other.write(rows[resting], found.phase.take(rows[resting]), slice(None))
        first, _ = self._follow_into(found.phase, rows[circling], alike.phase.take(circling))
        last, _ = self._follow_into(found.other, rows[circling], alike.other.take(circling))
        return np.asarray(rows[np.concatenate([resting[~(solved & stays)], circling[~(first & last)]])])

    def _follow_into(self, phase: Phase, rows: Rows, alike: Phase) -> tuple[Flags, Flags]:
        """Fill in the phase of rows like those of another, and tell which were solved, and which stay in it."""
        if not len(rows):
            none = np.zeros(0, dtype=np.bool_)
            return none, none
        settled, travel = self.settled_at(rows, alike.conditions, alike.volts)
        phase.write(rows, _phase_of(settled, alike.conditions, travel), slice(None))
        following = self._following(rows, alike.conditions, settled, travel)
        return ~settled.failed, np.asarray((following == alike.conditions).all(axis=0))

    def settled_at(self, rows: Rows, conditions: Flags, guess: Array) -> tuple[Settled, Array]:
        """Return the steady state of some rows while `conditions` hold, and the travel each input is told."""
        travel = travels_of(self.batch, self.pulses, conditions, rows)
        return settle(self.plant, rows, conditions, travel, guess, patient=self.patient), travel

    def _settle_into(self, phase: Phase, rows: Rows, conditions: Flags) -> Flags:
        """Settle a moment of a circle into `phase`, and return which conditions want to change there."""
        guess = np.zeros((len(self.network.nodes), len(rows)))
        settled, travel = self.settled_at(rows, conditions, guess)
        self._give_up(rows[settled.failed])
        phase.write(rows, _phase_of(settled, conditions, travel), slice(None))
        return np.asarray(self._following(rows, conditions, settled, travel) != conditions)

    def _give_up(self, rows: Rows) -> None:
        (self.solution.failed if self.patient else self.put_off)[rows] = True

    def _round(self, number: int) -> None:
        settled, travel = self.settled_at(self.rows, self.conditions, self.volts)
        following = self._following(self.rows, self.conditions, settled, travel)
        changing = following != self.conditions
        singly = self._gated(_one_change(self.conditions, changing))
        following = np.where(self.singly, singly, following)
        codes = self.weights @ self.conditions.astype(np.uint64)
        self.history.append((codes, self.conditions, np.abs(settled.volts).sum(axis=0)))
        again = self._been_there(self.weights @ following.astype(np.uint64))
        resting = ~changing.any(axis=0) | settled.failed
        circling = again & self.singly & ~resting
        self.solution.phase.write(self.rows[resting], _phase_of(settled, self.conditions, travel), resting)
        self._give_up(self.rows[settled.failed])
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
            higher, lower = inside & (volts > most + _EVEN_V), inside & (volts <= least + _EVEN_V)
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

    def _following(self, rows: Rows, conditions: Flags, settled: Settled, travel: Array) -> Flags:
        """Return the conditions that settled voltages bring about."""
        batch = self.batch
        expected = expected_signal_volts(batch, self.shares, rows)
        following = conditions.copy()
        for c, condition in enumerate(self.network.conditions):
            if condition.sense is Sense.SETTING:
                continue
            sensed = self.sensed(c, rows, settled, travel, expected)
            stays = conditions[c] & (sensed > batch.off[c, rows])
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

    def sensed(self, number: int, rows: Rows, settled: Settled, travel: Array, expected: Array) -> Array:
        """Return what a condition watches on some rows; `expected` are the signal volts of intact leads."""
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
                return np.asarray(self.neutral[condition.of[0], rows])
            case _:
                given = self.network.inputs[condition.of[0]]
                brought = settled.volts[given.signal] - settled.volts[given.negative]
                return np.asarray(np.nan_to_num(brought / expected[condition.of[0]], nan=0.0))


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
