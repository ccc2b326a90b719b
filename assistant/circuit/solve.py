"""Steady states of many variants of a boat in one boat state.

Node analysis: every source stands behind a resistance, so node voltages are the only unknowns.  Smooth nonlinear
elements are met by Newton's method, discrete conditions by going round until nothing changes.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.batch import Batch, Values, Variant, healthy_values, make_batch
from assistant.circuit.beside import Beside
from assistant.circuit.changing import Changing
from assistant.circuit.crew import Crew
from assistant.circuit.departures import Departures
from assistant.circuit.feeds import Division, divided
from assistant.circuit.frame import Frame, make_frame
from assistant.circuit.hold import Hold
from assistant.circuit.network import Network
from assistant.circuit.newton import moving_at
from assistant.circuit.pace import turns_s
from assistant.circuit.plant import Plant
from assistant.circuit.rounds import Rounds
from assistant.circuit.solution import Phase, Rest, Solution
from assistant.circuit.state import BoatState
from assistant.circuit.survey import Survey
from assistant.circuit.surveyor import Surveyor, factors_at
from assistant.circuit.twins import marks_of, passive_parts
from assistant.wiring import Point

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

_CHUNK_NUMBERS = 500_000
"""Matrix entries that are solved together, so that they stay near the processor."""

_FEWEST = 400
"""Variants that are solved together however large the boat is: with fewer, going through its nodes takes longer."""

_SURVEYED = 2
"""How many times as many are surveyed together."""

_LATE = 4
"""How many times as many of those that were put off are solved together: hardly any of them at most steps."""

_FINISHED = 1000
"""Rows whose currents are worked out at once."""

_NAMED = 3
_MOVES_V = 1e-3


@dataclass(frozen=True, slots=True)
class Solver:
    """A network made ready for solving: its frame for any boat, and a lean one that has room for most faults."""

    network: Network
    frame: Frame
    lean: Frame
    healthy: dict[int, Mapping[str, Values]] = field(default_factory=dict, kw_only=True, repr=False)
    """The healthy values of all parts, by how many tolerance draws there are, worked out when first needed."""
    divisions: list[Division] = field(default_factory=list, kw_only=True, repr=False)
    """The division of the boat into feeds, worked out when first needed."""

    def solve(self, state: BoatState, variants: Sequence[Variant], *, draws: int = 0) -> Solution:
        """Return the steady states of `variants` in `state`, each switched on cold.

        `draws` is how many tolerance draws exist besides the nominal one (variants name theirs by number).  No
        variants give a solution without columns.
        """
        return self._solve([state], variants, draws)

    def solve_each(
        self, states: Sequence[BoatState], variants: Sequence[Variant], *, draws: int = 0
    ) -> tuple[Solution, ...]:
        """Return the steady states of `variants` in each of some boat states, all switched on cold.

        They are solved together, which is quicker than state by state.
        """
        together, count = self._solve(states, variants, draws), len(variants)
        return tuple(
            replace(together.take(slice(number * count, (number + 1) * count)), state=state)
            for number, state in enumerate(states)
        )

    def _solve(self, states: Sequence[BoatState], variants: Sequence[Variant], draws: int) -> Solution:
        """Return the steady states of all variants in the first state, then in the next, and so on."""
        if not variants:
            return self._solve(states, [Variant()], draws).take(np.zeros(0, dtype=np.intp))
        work = _Work(self, states, variants, draws)
        first, others = self._groups(variants)
        pieces = [work.rows_of(piece) for piece in self._pieces(first)]
        late = [work.take(rows, patient=len(pieces) == 1)[1] for rows in pieces]
        for piece in self._pieces(np.concatenate([*late, work.rows_of(others)]), _LATE):
            work.take(piece, patient=True)
        return work.solution

    def batch(self, variants: Sequence[Variant], draws: int, network: Network | None = None) -> Batch:
        """Return the numbers of some variants, in the whole network or in a part of it."""
        return make_batch(network or self.network, variants, draws=draws, healthy=self.healthy_values(draws))

    def healthy_values(self, draws: int) -> Mapping[str, Values]:
        """Return the healthy values of every part, each of shape (1 + draws,)."""
        if draws not in self.healthy:
            self.healthy[draws] = healthy_values(self.network, draws)
        return self.healthy[draws]

    def frame_of(self, variants: Sequence[Variant]) -> Frame:
        """Return the leanest frame on which all of some variants can be solved."""
        return self.lean if all(map(self.lean.bears, variants)) else self.frame

    def _groups(self, variants: Sequence[Variant]) -> tuple[Rows, Rows]:
        """Return the numbers of the variants that are solved first, on the lean frame, and of the others.

        The others go on with those that are put off: a piece of their own would cost more than the lean frame saves.
        So it would where all variants fit in one piece.
        """
        if len(variants) <= self._chunk():
            return np.arange(len(variants)), np.arange(0)
        lean = np.array([self.lean.bears(variant) for variant in variants], dtype=np.bool_)
        return np.flatnonzero(lean), np.flatnonzero(~lean)

    def _pieces(self, rows: Rows, times: int = 1) -> Iterator[Rows]:
        """Yield rows piece by piece; `times` is how often a piece is as long as what is solved together."""
        step = times * self._chunk()
        for first in range(0, len(rows), step):
            yield rows[first : first + step]

    def _chunk(self) -> int:
        """Return how many variants are solved together, so that their matrices stay within some megabytes."""
        return max(_FEWEST, _CHUNK_NUMBERS // max(1, self.network.pattern.entries))

    def survey(self, state: BoatState, variants: Sequence[Variant], *, draws: int = 0) -> Survey:
        """Return the steady states of `variants` in `state`, each switched on cold, as they are kept.

        They are kept by the sound boat of each tolerance draw.
        """
        draw, pattern = np.unique([variant.draw for variant in variants], return_inverse=True)
        sound = [Variant(draw=int(number)) for number in draw]
        likes = _Work(self, [state], sound, draws)
        rounds, _ = likes.take(np.arange(len(sound)), patient=True)
        surveyor = Surveyor(self.frame, self.division(), rounds.plant, likes.solution)
        faulty = np.array([bool(variant.faults) for variant in variants], dtype=np.bool_)
        well = np.flatnonzero(~faulty)
        surveyor.put(well, pattern[well], rounds.plant, pattern[well], likes.solution.take(pattern[well]))
        faulty[self._put_feeds(surveyor, state, variants, pattern, draws)] = False
        left = np.flatnonzero(faulty)

        def put(rows: Rows, *, patient: bool) -> Rows:
            work = _Work(self, [state], [variants[i] for i in rows], draws)
            put_off = [rows[:0]]
            for piece in self._pieces(np.arange(len(rows)), _LATE if patient else 1):
                rounds, late = work.take(piece, patient=patient)
                done = np.setdiff1d(piece, late)
                if len(done):
                    solved, found = done - piece[0], work.solution.take(done)
                    surveyor.put(rows[done], pattern[rows[done]], rounds.plant, solved, found)
                put_off.append(rows[late])
            return np.concatenate(put_off)

        first, others = (left[rows] for rows in self._groups([variants[i] for i in left.tolist()]))
        late = [put(rows, patient=False) for rows in self._pieces(first, _SURVEYED)]
        put(np.concatenate([*late, others]), patient=True)
        return surveyor.survey()

    def survey_each(
        self, states: Sequence[BoatState], variants: Sequence[Variant], *, draws: int = 0
    ) -> Iterator[Solution | Survey]:
        """Yield the steady states of `variants` in each state: kept, where that is quicker, else whole and together."""
        if self.division().feeds:
            return (self.survey(state, variants, draws=draws) for state in states)
        return iter(self.solve_each(states, variants, draws=draws))

    def _put_feeds(
        self, surveyor: Surveyor, state: BoatState, variants: Sequence[Variant], pattern: Rows, draws: int
    ) -> Rows:
        """Survey the variants that can be solved feed by feed, and return which these are."""
        rows_of, done = _rows_by_feed(self.division(), variants), [np.zeros(0, dtype=np.intp)]
        if not rows_of:
            return done[0]
        sound = [Variant(draw=int(d)) for d in np.unique([v.draw for v in variants])]
        beside = Beside(self.frame, self.division(), self.batch(sound, draws), state)
        for number, rows in rows_of.items():
            network = self.division().feeds[number].frame.network
            alone = beside.solved(
                number,
                self.batch(sound, draws, network),
                self.batch([variants[i] for i in rows.tolist()], draws, network),
                pattern[rows],
            )
            solved = rows[alone.rows]
            surveyor.put_alone(number, solved, pattern[solved], alone)
            done.append(solved)
        return np.concatenate(done)

    def division(self) -> Division:
        """Return the division of the boat into feeds."""
        if not self.divisions:
            self.divisions.append(divided(self.frame))
        return self.divisions[0]

    def hold(self, solution: Solution, variants: Sequence[Variant], columns: Rows, *, draws: int = 0) -> Hold:
        """Return how firmly the nodes are held at some columns of a solution, few at a time.

        `variants` are those of the columns, `draws` that of the solution.
        """
        batch = self.batch(variants, draws)
        plant = Plant.of(self.frame, Crew.of(batch, solution.state))
        factors = factors_at(plant, np.arange(batch.size), solution.phase.take(columns))
        return Hold(self.network.pattern, Departures.none(factors))

    def turns_s(
        self, solution: Solution | Survey, variants: Sequence[Variant], columns: Rows, *, draws: int = 0
    ) -> Array:
        """Return how long one turn of what alternates takes (s) at some columns of a solution, nan where none does.

        `variants` are those of the columns, `draws` that of the solution.
        """
        return turns_s(self.frame, solution, variants, columns, draws=draws)

    def unsettled(self, state: BoatState, variant: Variant) -> tuple[Point, ...]:
        """Return the points where a variant without a steady state still moves, the farthest first; few at most.

        None for a variant that settles, and for one whose contacts never came to an end.
        """
        rows = np.zeros(1, dtype=np.intp)
        rounds = Rounds(self.frame, Crew.of(make_batch(self.network, [variant], draws=0), state))
        rounds.run(rows)
        rest = rounds.rest
        if not rest.failed[0]:
            return ()
        moved = moving_at(Changing(rounds.plant, rows, rest.conditions), rest.volts)[:-1, 0]
        farthest = np.argsort(-moved, kind="stable")[:_NAMED]
        nodes = self.frame.late_nodes
        return tuple(self.network.nodes[nodes[n]] for n in farthest if moved[n] > _MOVES_V)


class _Work:
    """Variants on their way to their steady states, piece by piece: what was found, and what it shows to others."""

    def __init__(
        self, solver: Solver, states: Sequence[BoatState], variants: Sequence[Variant], draws: int
    ) -> None:
        self._solver = solver
        frame = solver.frame
        self._states = states
        self._variants = variants
        self._draws = draws
        self._passive = passive_parts(frame)
        self._found: dict[Hashable, int] = {}
        size = len(states) * len(variants)
        self._rest = Rest.empty(frame.core.size, len(frame.network.conditions), size)
        self.solution = Solution.empty(frame.network, states[0], size)

    def rows_of(self, variants: Rows) -> Rows:
        """Return the rows of some variants in all states."""
        return np.asarray(
            (np.arange(len(self._states))[:, None] * len(self._variants) + variants).reshape(-1)
        )

    def take(self, rows: Rows, *, patient: bool) -> tuple[Rounds, Rows]:
        """Solve some rows; return how, and those that were put off."""
        at, of = np.divmod(rows, len(self._variants))
        used, columns = np.unique(of, return_inverse=True)
        variants = [self._variants[i] for i in used]
        batch = self._solver.batch(variants, self._draws)
        rounds = Rounds(
            self._solver.frame_of(variants),
            Crew(batch, self._states, columns.reshape(-1), at),
            patient=patient,
        )
        marks = marks_of(rounds.plant, self._passive, variants)
        first: dict[Hashable, int] = {}
        for number, mark in enumerate(marks):
            if mark not in self._found:
                first.setdefault(mark, number)
        leading = np.array(list(first.values()), dtype=np.intp)
        rounds.run(leading)
        self._rest.write(rows[leading], rounds.rest, leading)
        self._found |= {marks[n]: int(rows[n]) for n in leading if not rounds.put_off[n]}
        others = np.setdiff1d(np.arange(len(rows)), leading)
        left = [leading[rounds.put_off[leading]], self._follow(rounds, marks, others)]
        for first_row in range(0, len(rows), _FINISHED):
            some = np.arange(first_row, min(first_row + _FINISHED, len(rows)))
            for into, phase in zip(
                (self.solution.phase, self.solution.other), rounds.phases(some), strict=True
            ):
                self._write(into, rows[some], phase)
        self.solution.restless[:, rows], self.solution.failed[rows] = rounds.rest.restless, rounds.rest.failed
        return rounds, np.asarray(rows[np.concatenate(left)])

    def _write(self, into: Phase, rows: Rows, phase: Phase) -> None:
        """Copy a phase into some rows of another that is empty as yet; where nothing turns it is not even touched."""
        turning = self._solver.frame.motors.members
        into.volts[:, rows], into.amps[:, rows] = phase.volts, phase.amps
        into.conditions[:, rows], into.travel[:, rows] = phase.conditions, phase.travel
        into.speed[turning[:, None], rows] = phase.speed[turning]

    def _follow(self, rounds: Rounds, marks: Sequence[Hashable], others: Rows) -> Rows:
        """Take rows to where those like them are, and return those that were put off."""
        known = np.array([marks[n] in self._found for n in others], dtype=np.bool_)
        following = others[known]
        alike = np.array([self._found[marks[n]] for n in following], dtype=np.intp)
        strayed = rounds.follow(following, self._rest.take(alike))
        if not rounds.patient:
            return np.concatenate([others[~known], strayed])
        rounds.run(strayed)
        return others[:0]


def _rows_by_feed(division: Division, variants: Sequence[Variant]) -> dict[int, Rows]:
    """Return the variants all of whose faults are in one feed, by feed."""
    feed_of = division.feed_of_part
    found: dict[int, list[int]] = {}
    for row, variant in enumerate(variants):
        feeds = {feed_of.get(fault.part) for fault in variant.faults}
        if len(feeds) == 1 and (feed := feeds.pop()) is not None:
            found.setdefault(feed, []).append(row)
    return {feed: np.array(rows, dtype=np.intp) for feed, rows in found.items()}


def make_solver(network: Network) -> Solver:
    """Return a solver for the network."""
    return Solver(network, make_frame(network, network.pattern), make_frame(network, network.sound))
