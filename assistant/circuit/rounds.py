"""Many variants of a boat from switching on to their steady states.

Discrete conditions (contacts, brown-outs, valid pulses) are found by going round until nothing changes, starting cold,
as when a boat is switched on.  A variant that comes back to an earlier set of conditions is taken on with one
condition coming on at a time; if it still goes in circles, that is the answer: something alternates for ever, and two
phases of the circle are kept: the one with the most volts over all, and of those with the least the most unlike one.

Newton steps are taken with all variants together, each under the conditions it has come to: none waits for the others
to stand still as well.  A few variants take far longer than the rest.  They may be put off, so that those of several
batches go on together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.changing import Changing
from assistant.circuit.circles import Past
from assistant.circuit.crew import Crew
from assistant.circuit.finish import finished, whole_volts
from assistant.circuit.frame import Frame
from assistant.circuit.newton import ENOUGH, QUICK, Settling, settle, settle_hard
from assistant.circuit.plant import Plant
from assistant.circuit.senses import following_of
from assistant.circuit.solution import Phase, Rest

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_ROUNDS = 64

_WORTH = 0.2
"""Share of the rows that must have come to a stand before conditions are looked at again, which costs (by trial)."""

_FEW = 0.04
"""Share of the rows that are so few that they are better put off."""


@dataclass(frozen=True, slots=True)
class _Going:
    """Some of the rows that are switched on: their places among these, and the conditions and volts to go on from."""

    places: Rows
    conditions: Flags
    volts: Array

    def joined(self, others: _Going) -> _Going:
        """Return these and others in one."""
        return _Going(
            np.concatenate([self.places, others.places]),
            np.concatenate([self.conditions, others.conditions], axis=1),
            np.concatenate([self.volts, others.volts], axis=1),
        )


class Rounds:
    """The rows of a crew on their way to a steady state.

    `rest` fills up as rows get there; `put_off` are those that were left behind: without patience, rows that settle
    hard, and the last few.
    """

    def __init__(self, frame: Frame, crew: Crew, *, patient: bool = True) -> None:
        """Take the rows of a crew."""
        self.patient = patient
        self.crew = crew
        self.network = frame.network
        self.plant = Plant.of(frame, crew)
        self.put_off = np.zeros(len(crew), dtype=np.bool_)
        self.rest = Rest.empty(frame.core.size, len(self.network.conditions), len(crew))

    def run(self, rows: Rows) -> None:
        """Switch some rows on and go on until every one has settled, goes in circles, or is put off."""
        self.rest.failed[rows] = self.rest.restless[:, rows] = False
        self._leading = rows
        core = self.plant.frame.core.size + 1
        self._past = Past(len(self.network.conditions), len(rows))
        self._singly = np.zeros(len(rows), dtype=np.bool_)
        self._since = np.zeros(len(rows), dtype=np.intp)
        self._back: dict[int, Flags] = {}
        first = self.crew.first_conditions(self.crew.columns[rows], self.crew.way[rows])
        going = _Going(np.arange(len(rows)), first, np.zeros((core, len(rows))))
        while len(going.places):
            going, hard = self._walk(going)
            going = going.joined(self._climbed(hard))
        rest = self.rest
        rest.other_volts[:, rows], rest.other_conditions[:, rows] = (
            rest.volts[:, rows],
            rest.conditions[:, rows],
        )
        self._note_circles()

    def _walk(self, start: _Going) -> tuple[_Going, _Going]:
        """Take Newton steps with all rows together, each under its own conditions, as far as they settle easily.

        Return those that still go on, and those that settle hard under their conditions, once these are many of them.
        """
        nothing = _Going(start.places[:0], start.conditions[:, :0], start.volts[:, :0])
        hard = nothing
        places, age = start.places, np.zeros(len(start.places), dtype=np.intp)
        going = Settling(Changing(self.plant, self._leading[places], start.conditions), start.volts)
        few = 0 if self.patient else int(_FEW * len(self._leading))
        while len(places) > few and len(hard.places) <= len(places):
            moving = going.step()
            age += 1
            stuck = moving & (age >= ENOUGH)
            again = np.flatnonzero(moving & (age == QUICK))
            if len(again):
                going.start_over(again)
            still = np.flatnonzero(~moving)
            if len(still) + np.count_nonzero(stuck) < _WORTH * len(places):
                continue
            if not self.patient:
                self.put_off[self._leading[places[stuck]]] = True
            elif stuck.any():
                found = _Going(places[stuck], going.changing.conditions[:, stuck], going.volts[:, stuck])
                hard = hard.joined(found)
            goes, following = self._judged(going.changing, still, places[still], going.volts[:, still])
            turning = still[goes]
            if len(turning):
                going.turn(turning, following)
                age[turning] = 0
            left = stuck
            left[still[~goes]] = True
            if left.any():
                kept = np.flatnonzero(~left)
                going, places, age = going.take(kept), places[kept], age[kept]
        if self.patient:
            return _Going(places, going.changing.conditions, going.volts), hard
        self.put_off[self._leading[places]] = True
        return nothing, nothing

    def _climbed(self, hard: _Going) -> _Going:
        """Take rows that settle hard to where they settle, and return those that go on from there."""
        if not len(hard.places):
            return hard
        rows = self._leading[hard.places]
        changing = Changing(self.plant, rows, hard.conditions)
        volts, failed = settle_hard(changing)
        self.rest.failed[rows[failed]] = True
        self._write(rows[failed], hard.conditions[:, failed], volts[:, failed])
        solved = np.flatnonzero(~failed)
        goes, following = self._judged(changing, solved, hard.places[solved], volts[:, solved])
        return _Going(hard.places[solved[goes]], following, volts[:, solved[goes]])

    def _judged(self, changing: Changing, columns: Rows, places: Rows, volts: Array) -> tuple[Flags, Flags]:
        """Write down which rows are at rest; return which of the others go on, and the conditions of these."""
        conditions = changing.conditions[:, columns]
        following = following_of(changing, columns, volts)
        changes = following != conditions
        singly, rows = self._singly[places], self._leading[places]
        if singly.any():
            following = np.where(singly, self.crew.gated(_one_change(conditions, changes), rows), following)
        past = self._past
        past.note(places, conditions, volts)
        resting = ~changes.any(axis=0)
        again = past.been_there(places, following, self._since[places]) & ~resting
        self._write(rows[resting], conditions[:, resting], volts[:, resting])
        circling = again & singly
        self._back |= dict(zip(places[circling].tolist(), following[:, circling].T, strict=True))
        self._singly[places] |= again
        self._since[places[again]] = past.turns[places[again]]
        lost = ~(resting | circling) & (past.turns[places] >= _ROUNDS)
        self._give_up(rows[lost])
        goes = ~(resting | circling | lost)
        return goes, following[:, goes]

    def follow(self, rows: Rows, alike: Rest) -> Rows:
        """Take some rows to where rows `alike` came to rest; return those that do not rest there, or find nothing.

        What alternates is taken to the same two phases; where no steady state was found, none is looked for.
        """
        rest = self.rest
        rest.write(rows, alike)
        alternates = alike.restless.any(axis=0)
        resting, circling = (
            np.flatnonzero(~alternates & ~alike.failed),
            np.flatnonzero(alternates & ~alike.failed),
        )
        volts, failed, stays = self._settled_at(
            rows[resting], alike.conditions[:, resting], alike.volts[:, resting]
        )
        rest.volts[:, rows[resting]] = rest.other_volts[:, rows[resting]] = volts
        strayed = [resting[failed | ~stays.all(axis=0)]]
        if len(circling):
            one, other = alike.conditions[:, circling], alike.other_conditions[:, circling]
            at = rows[circling]
            rest.volts[:, at], lost, _ = self._settled_at(at, one, alike.volts[:, circling])
            rest.other_volts[:, at], missed, _ = self._settled_at(at, other, alike.other_volts[:, circling])
            strayed.append(circling[lost | missed])
        return np.asarray(rows[np.concatenate(strayed)])

    def paths(self) -> tuple[Flags, Array, Rows]:
        """Return what the rows that were run last have been through: conditions and volts, as `Past.noted`, and turns.

        None are the turns of a row whose conditions had to come on one at a time, or that did not come to rest.
        """
        rows, past = self._leading, self._past
        conditions, volts = past.noted(np.arange(len(rows)))
        astray = self._singly | self.rest.failed[rows] | self.rest.restless[:, rows].any(axis=0)
        return conditions, volts, np.where(astray, 0, past.turns)

    def _note_circles(self) -> None:
        """Write down two phases of what goes in circles, and what changes there."""
        if not self._back:
            return
        places = np.array(list(self._back), dtype=np.intp)
        rest, rows = self.rest, self._leading[places]
        conditions, volts = self._past.noted(places)
        turns, core, count = volts.shape
        whole = whole_volts(
            self.plant, np.tile(rows, turns), volts.transpose(1, 0, 2).reshape(core, turns * count)
        )
        levels = np.abs(whole).sum(axis=0).reshape(turns, count)
        back, each = np.stack(list(self._back.values()), axis=1), np.arange(count)
        first, other, restless = self._past.circle(places, back, conditions, levels)
        rest.volts[:, rows], rest.conditions[:, rows] = volts[first, :, each].T, conditions[first, :, each].T
        rest.other_volts[:, rows], rest.other_conditions[:, rows] = (
            volts[other, :, each].T,
            conditions[other, :, each].T,
        )
        # With one condition coming on at a time a circle may close before all had their turn.
        for there, at in ((rest.conditions, rest.volts), (rest.other_conditions, rest.other_volts)):
            changing = Changing(self.plant, rows, there[:, rows])
            restless |= following_of(changing, each, at[:, rows]) != there[:, rows]
        rest.restless[:, rows] = restless

    def _settled_at(self, rows: Rows, conditions: Flags, guess: Array) -> tuple[Array, Flags, Flags]:
        """Settle rows under given conditions: their volts, which failed, and which conditions stay as they are."""
        changing = Changing(self.plant, rows, conditions)
        volts, failed = settle(changing, guess, patient=self.patient)
        return volts, failed, following_of(changing, np.arange(len(rows)), volts) == conditions

    def _write(self, rows: Rows, conditions: Flags, volts: Array) -> None:
        self.rest.conditions[:, rows], self.rest.volts[:, rows] = conditions, volts

    def _give_up(self, rows: Rows) -> None:
        (self.rest.failed if self.patient else self.put_off)[rows] = True

    def phases(self, rows: Rows) -> tuple[Phase, Phase]:
        """Return all values of some rows in both phases; of rows put off there is nothing sensible."""
        rest = self.rest.take(rows)
        phase = self._phase(rows, rest.conditions, rest.volts)
        other = phase.take(np.arange(len(rows)))
        columns = np.flatnonzero(rest.restless.any(axis=0))
        if len(columns):
            conditions, volts = rest.other_conditions[:, columns], rest.other_volts[:, columns]
            other.write(columns, self._phase(rows[columns], conditions, volts), slice(None))
        return phase, other

    def _phase(self, rows: Rows, conditions: Flags, volts: Array) -> Phase:
        return finished(Changing(self.plant, rows, conditions), volts)


def _one_change(before: Flags, changing: Flags) -> Flags:
    """Return `before` with everything that falls fallen, or else with the first that rises risen.

    What loses its supply goes at once; what comes on comes on one after the other.
    """
    falling = changing & before
    first = changing & (np.cumsum(changing, axis=0) == 1)
    return np.asarray(before ^ np.where(falling.any(axis=0), falling, first))
