"""A feed solved alone, beside the rest of the boat as that is when nothing is wrong in the feed.

As long as the conditions of the rest stay what they are, straight elements act on a feed like a few conductances and
sources where the two meet: Norton's equivalent.  So do bent ones, as long as their curves keep to the tangent at the
sound boat's steady state.  A boat is switched on turn by turn, so there is one equivalent for every turn that the sound
boat takes.  Where they meet, volts then differ from the sound boat's, and all else in the rest follows in proportion.
Where that changes what a condition becomes, or leaves a tangent, the feed cannot be solved alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Sense
from assistant.circuit.batch import Batch
from assistant.circuit.changing import Changing
from assistant.circuit.crew import Crew
from assistant.circuit.elimination import eliminate, substitute
from assistant.circuit.feeds import Division, Feed
from assistant.circuit.finish import finished, speeds, whole_volts
from assistant.circuit.frame import Frame
from assistant.circuit.newton import settle, tangent_at
from assistant.circuit.plant import Plant
from assistant.circuit.rounds import Rounds
from assistant.circuit.senses import Senses, following_of
from assistant.circuit.solution import Phase
from assistant.circuit.state import BoatState

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_MORE = 12
"""Turns beyond those of the sound boat that a feed may take; what takes longer goes in circles, or nearly."""

_TRIED_V = 1e-4
_TRIED_SHARE = 1e-3

_STRAY_A = 1e-6
"""By how much a current may leave its tangent: that moves volts by no more than the last step of the solver."""

_STILL = (Sense.SETTING, Sense.TRAVEL, Sense.NEUTRAL)


@dataclass(frozen=True, slots=True)
class _Meeting:
    """How feeds that meet the rest at the same nodes find it, a column for each turn of each sound boat.

    `values` and `sources` are the equations with all but the nodes where they meet eliminated, of all nodes; `follow`
    is by how much the volts of the core, the reference last, follow each volt at one of these, shape (core, nodes,
    columns), and `reaction` the same of what each condition watches, without its sign.
    """

    values: Array
    sources: Array
    follow: Array
    reaction: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Alone:
    """Boats of which a feed was solved alone.

    `plant` has the equations with which they rest, `rows` are their numbers there, `phase` is all that is theirs within
    the feed.  Outside, `amps` are the currents of all elements with bent characteristics, and `speed` that of motors.
    """

    plant: Plant
    rows: Rows
    phase: Phase
    amps: Array
    speed: Array


class Beside:
    """The sound boats of one boat state, turn by turn, as what stands beside each feed.

    Its columns are the sound boats at their first turn, then at their second, and so on.
    """

    def __init__(self, frame: Frame, division: Division, sound: Batch, state: BoatState) -> None:
        """Take sound boats: the rows of a batch."""
        self._frame = frame
        self._division = division
        self._state = state
        self._size = sound.size
        crew = Crew.of(sound, state)
        rounds = Rounds(frame, crew)
        rounds.run(np.arange(sound.size))
        conditions, volts, turns = rounds.paths()
        self._last = turns - 1
        self._highest_v = rounds.plant.highest_v
        self._conditions, self._core = (np.concatenate(list(of), axis=1) for of in (conditions, volts))
        self._rows = np.tile(np.arange(sound.size), len(volts))
        self._volts = whole_volts(rounds.plant, self._rows, self._core)
        self._values, self._sources = self._standing(frame, crew, self._conditions, self._core)
        eliminate(division.outer, self._values, self._sources)
        self._changing = Changing(rounds.plant, self._rows, self._conditions)
        self._room = _room(self._changing, self._volts)
        self._meetings: dict[tuple[int, ...], _Meeting] = {}

    def solved(self, number: int, sound: Batch, batch: Batch, like: Rows) -> Alone:
        """Switch boats with faults in a feed on, and return those that come to rest with all else as it is.

        Parameters
        ----------
        number : that of the feed.
        sound, batch : of the feed's network, the sound boats and those with faults.
        like : which sound boat each of the latter is like.
        """
        feed = self._division.feeds[number]
        meeting = self._met(feed)
        crew = Crew.of(batch, self._state)
        alone = replace(Plant.of(feed.frame, crew), highest_v=self._highest_v)
        norton = self._norton(feed, meeting, sound)
        room = self._room.copy()
        room[feed.conditions] = np.inf
        rows = np.flatnonzero(self._last[like] >= 0)
        conditions = crew.first_conditions(rows, crew.way[rows])
        volts = np.zeros((feed.frame.core.size + 1, len(rows)))
        rested: list[tuple[Rows, Flags, Array]] = []
        for turn in range(int(self._last.max()) + _MORE):
            columns = self._columns(turn)
            changing = Changing(_joined(feed, alone, norton, columns[like]), rows, conditions)
            volts, failed = settle(changing, volts, patient=False)
            following = following_of(changing, np.arange(len(rows)), volts)
            moved = self._moved(feed, volts, columns[like[rows]])
            bears = ~failed & _bears(meeting.reaction, room, columns[like[rows]], moved)
            stands = bears & (following == conditions).all(axis=0) & (turn >= self._last[like[rows]])
            rested.append((rows[stands], conditions[:, stands], volts[:, stands]))
            goes = bears & ~stands
            rows, conditions, volts = rows[goes], following[:, goes], volts[:, goes]
            if not len(rows):
                break
        rows, conditions, volts = (np.concatenate(parts, axis=-1) for parts in zip(*rested, strict=True))
        columns = self._columns(int(self._last.max()))[like]
        plant = _joined(feed, alone, norton, columns)
        moves = _following_volts(meeting.follow, columns[rows], self._moved(feed, volts, columns[rows]))
        keeps = np.flatnonzero(self._keeps(feed, columns[rows], moves))
        rows, conditions, volts = rows[keeps], conditions[:, keeps], volts[:, keeps]
        beyond, core = self._changing.take(columns[rows]), self._core[:, columns[rows]] + moves[:, keeps]
        return Alone(
            plant=plant,
            rows=rows,
            phase=finished(Changing(plant, rows, conditions), volts),
            amps=_bent_amps(beyond, core),
            speed=speeds(beyond, core),
        )

    def _moved(self, feed: Feed, volts: Array, columns: Rows) -> Array:
        """Return by how much volts where a feed meets the rest are others than those of the sound boats."""
        return np.asarray(volts[feed.meeting_core] - self._volts[feed.meeting_nodes][:, columns])

    def _keeps(self, feed: Feed, columns: Rows, moves: Array) -> Flags:
        """Tell which rows leave all bent elements of the rest on their tangents, by how the volts of the core move."""
        changing, core = self._changing.take(columns), self._core[:, columns]
        own = np.isin(self._frame.bent_members, feed.elements)
        after, still, up, down = (
            _bent_currents(changing, core + share * moves)
            for share in (1.0, 0.0, _TRIED_SHARE, -_TRIED_SHARE)
        )
        stray = np.abs(after - still - (up - down) / (2.0 * _TRIED_SHARE))
        return np.asarray((stray[:, ~own] < _STRAY_A).all(axis=(0, 1)))

    def _columns(self, turn: int) -> Rows:
        """Return the column of each sound boat at a turn, or at its last."""
        return np.asarray(np.clip(turn, 0, self._last) * self._size + np.arange(self._size))

    def _norton(self, feed: Feed, meeting: _Meeting, sound: Batch) -> tuple[Array, Array]:
        """Return what the rest adds where it meets a feed: to the entries between, and to the sources."""
        conditions, core = self._conditions[feed.conditions], self._volts[feed.core_nodes]
        values, sources = self._standing(feed.frame, Crew.of(sound, self._state), conditions, core)
        eliminate(feed.own, values, sources)
        shared = meeting.values[feed.way.entries[feed.between]]
        return shared - values[feed.between], meeting.sources[feed.meeting_nodes] - sources[feed.meeting]

    def _standing(self, frame: Frame, crew: Crew, conditions: Flags, volts: Array) -> tuple[Array, Array]:
        """Return all equations, none eliminated, of the sound boats in all columns; volts are those of the core."""
        plant = Plant.of(frame, crew, whole=True)
        values, sources = (of[:, plant.columns[self._rows]] for of in (plant.values, plant.sources))
        changing = Changing(plant, self._rows, conditions)
        values[frame.late], sources[frame.late_nodes] = tangent_at(changing, volts)
        return values, sources

    def _met(self, feed: Feed) -> _Meeting:
        """Return how a feed finds the rest."""
        nodes = tuple(feed.meeting_nodes.tolist())
        if nodes not in self._meetings:
            values, sources = self._values.copy(), self._sources.copy()
            eliminate([step for step in self._division.inner if step.pivot not in nodes], values, sources)
            follow = self._follow(nodes, values)
            core = follow[self._frame.core_nodes]
            self._meetings[nodes] = _Meeting(values, sources, core, self._reaction(follow))
        return self._meetings[nodes]

    def _follow(self, nodes: Sequence[int], values: Array) -> Array:
        """Return how the volts of all nodes follow those of some, shape (all, these, columns)."""
        pattern, count = self._frame.network.pattern, values.shape[1]
        columns = np.tile(np.arange(count), len(nodes))
        volts = np.zeros((pattern.size + 1, len(columns)))
        volts[np.repeat(nodes, count), np.arange(len(columns))] = 1.0
        steps = [step for step in pattern.steps if step.pivot not in nodes]
        substitute(steps, values, np.zeros((pattern.size, count)), volts, columns)
        return volts.reshape(-1, len(nodes), count)

    def _reaction(self, follow: Array) -> Array:
        """Return how what conditions watch follows the same volts, without its sign."""
        every, nodes, count = follow.shape
        columns = np.tile(np.arange(count), nodes)
        before = _watched(self._changing, self._volts)
        tried = self._volts[:, columns] + _TRIED_V * follow.reshape(every, nodes * count)
        after = _watched(self._changing.take(columns), tried).reshape(-1, nodes, count)
        return np.abs(after - before[:, None]) / _TRIED_V


def _joined(feed: Feed, alone: Plant, norton: tuple[Array, Array], columns: Rows) -> Plant:
    """Return a feed together with the rest, which has a column for each of the plant's."""
    values, sources = alone.values.copy(), alone.sources.copy()
    values[feed.between] += norton[0][:, columns]
    sources[feed.meeting] += norton[1][:, columns]
    return replace(alone, values=values, sources=sources)


def _following_volts(follow: Array, columns: Rows, moved: Array) -> Array:
    """Return by how much volts follow those where rows meet the rest, shape (volts, rows)."""
    moves = np.empty((len(follow), len(columns)))
    for column in np.unique(columns):
        rows = np.flatnonzero(columns == column)
        moves[:, rows] = follow[:, :, column] @ moved[:, rows]
    return moves


def _bears(reaction: Array, room: Array, columns: Rows, moved: Array) -> Flags:
    """Tell which rows change no condition of the rest by how far they move the volts where they meet it."""
    changes = _following_volts(reaction, columns, np.abs(moved))
    return np.asarray((changes < room[:, columns]).all(axis=0))


def _room(changing: Changing, volts: Array) -> Array:
    """Return how far what each condition watches may move and leave it what it becomes, shape (conditions, rows)."""
    batch, variants = changing.plant.crew.batch, changing.plant.crew.columns[changing.rows]
    limit = np.where(changing.conditions, batch.off[:, variants], batch.on[:, variants])
    room = np.abs(limit - _watched(changing, volts))
    still = [condition.sense in _STILL for condition in changing.frame.network.conditions]
    room[still] = np.inf
    return room


def _watched(changing: Changing, volts: Array) -> Array:
    """Return what each condition watches, shape (conditions, rows), 0 for what a hand sets; volts are of all nodes."""
    core = volts[changing.frame.core_nodes]
    senses = Senses(changing, np.arange(len(changing.rows)), core, volts)
    watched = np.zeros(changing.conditions.shape)
    for c, condition in enumerate(changing.frame.network.conditions):
        if condition.sense not in _STILL:
            watched[c] = senses.of(c)
    return watched


def _bent_amps(changing: Changing, volts: Array) -> Array:
    """Return the currents of all bent elements, in the order of the frame's."""
    rows = np.arange(len(changing.rows))
    bent = [changing.amps(group, volts, rows) for group in changing.frame.bent if len(group)]
    return np.concatenate([np.zeros((0, len(rows))), *bent])


def _bent_currents(changing: Changing, volts: Array) -> Array:
    """Return the currents into and out of all bent elements, shape (2, elements, rows)."""
    out = _bent_amps(changing, volts)
    into = out.copy()
    regulators = changing.frame.regulators
    if len(regulators):
        into[-len(regulators) :] = changing.drawn(regulators, volts)
    return np.stack([into, out])
