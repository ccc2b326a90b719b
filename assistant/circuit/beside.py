"""A feed solved alone, beside the rest of the boat as that is when nothing is wrong in the feed.

As long as the conditions of the rest stay what they are, straight elements act on a feed like a few conductances and
sources where the two meet: Norton's equivalent, which is exact.  A boat is switched on turn by turn, so there is one
for every turn that the sound boat takes.  Volts where they meet then differ from the sound boat's, and what every
condition of the rest watches differs in proportion; where that would change a condition, the feed cannot be solved
alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Sense
from assistant.circuit.batch import Batch
from assistant.circuit.changing import Changing, source
from assistant.circuit.crew import Crew
from assistant.circuit.elimination import eliminate, substitute
from assistant.circuit.feeds import Division, Feed
from assistant.circuit.finish import finished, whole_volts
from assistant.circuit.frame import Frame
from assistant.circuit.newton import settle
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


@dataclass(frozen=True, slots=True)
class _Meeting:
    """How feeds that meet the rest at the same nodes find it, a column for each turn of each sound boat.

    `values` and `sources` are the equations with all but the nodes where they meet eliminated, of all nodes;
    `reaction` is by how much what each condition watches changes for each volt at each of these nodes, shape
    (conditions, nodes, columns).
    """

    values: Array
    sources: Array
    reaction: Array


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
        rows = np.arange(sound.size)
        rounds = Rounds(frame, crew)
        rounds.run(rows)
        self._conditions, volts, turns = rounds.paths()
        self._last = turns - 1
        self._highest_v = rounds.plant.highest_v
        self._volts = np.concatenate([whole_volts(rounds.plant, rows, at) for at in volts], axis=1)
        self._values, self._sources = _standing(frame, crew, self._conditions)
        eliminate(division.outer, self._values, self._sources)
        at_turn = [Changing(rounds.plant, rows, there) for there in self._conditions]
        self._room = np.concatenate([_room(c, at) for c, at in zip(at_turn, volts, strict=True)], axis=1)
        self._watched = np.concatenate([_watched_siemens(changing) for changing in at_turn], axis=1)
        self._meetings: dict[tuple[int, ...], _Meeting] = {}

    def solved(self, number: int, sound: Batch, batch: Batch, like: Rows) -> tuple[Plant, Rows, Phase]:
        """Switch boats with faults in a feed on, and return those that come to rest with all else as it is.

        Parameters
        ----------
        number : that of the feed.
        sound, batch : of the feed's network, the sound boats and those with faults.
        like : which sound boat each of the latter is like.

        Returns
        -------
        Plant, rows and phase : the equations with which they rest, which they are, and all values within the feed.
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
            moved = volts[feed.meeting_core] - self._volts[feed.meeting_nodes][:, columns[like[rows]]]
            bears = ~failed & _bears(meeting.reaction, room, columns[like[rows]], moved)
            stands = bears & (following == conditions).all(axis=0) & (turn >= self._last[like[rows]])
            rested.append((rows[stands], conditions[:, stands], volts[:, stands]))
            goes = bears & ~stands
            rows, conditions, volts = rows[goes], following[:, goes], volts[:, goes]
            if not len(rows):
                break
        rows, conditions, volts = (np.concatenate(parts, axis=-1) for parts in zip(*rested, strict=True))
        plant = _joined(feed, alone, norton, self._columns(self._last.max())[like])
        return plant, rows, finished(Changing(plant, rows, conditions), volts)

    def _columns(self, turn: int) -> Rows:
        """Return the column of each sound boat at a turn, or at its last."""
        return np.asarray(np.clip(turn, 0, self._last) * self._size + np.arange(self._size))

    def _norton(self, feed: Feed, meeting: _Meeting, sound: Batch) -> tuple[Array, Array]:
        """Return what the rest adds where it meets a feed: to the entries between, and to the sources."""
        conditions = self._conditions[:, feed.conditions]
        values, sources = _standing(feed.frame, Crew.of(sound, self._state), conditions)
        eliminate(feed.own, values, sources)
        shared = meeting.values[feed.way.entries[feed.between]]
        return shared - values[feed.between], meeting.sources[feed.meeting_nodes] - sources[feed.meeting]

    def _met(self, feed: Feed) -> _Meeting:
        """Return how a feed finds the rest."""
        nodes = tuple(feed.meeting_nodes.tolist())
        if nodes not in self._meetings:
            values, sources = self._values.copy(), self._sources.copy()
            eliminate([step for step in self._division.inner if step.pivot not in nodes], values, sources)
            self._meetings[nodes] = _Meeting(values, sources, self._reaction(nodes, values))
        return self._meetings[nodes]

    def _reaction(self, nodes: Sequence[int], values: Array) -> Array:
        """Return how what conditions watch follows the volts of some nodes."""
        pattern, count = self._frame.network.pattern, values.shape[1]
        columns = np.tile(np.arange(count), len(nodes))
        volts = np.zeros((pattern.size + 1, len(columns)))
        volts[np.repeat(nodes, count), np.arange(len(columns))] = 1.0
        steps = [step for step in pattern.steps if step.pivot not in nodes]
        substitute(steps, values, np.zeros((pattern.size, count)), volts, columns)
        ends = _watched_ends(self._frame)
        across = (volts[ends[:, 0]] - volts[ends[:, 1]]).reshape(len(ends), len(nodes), count)
        return np.asarray(across * self._watched[:, None])


def _standing(frame: Frame, crew: Crew, conditions: Flags) -> tuple[Array, Array]:
    """Return all equations, none eliminated, of a crew under conditions of shape (turns, conditions, rows)."""
    plant, rows = Plant.of(frame, crew, whole=True), np.arange(len(crew))
    turns = len(conditions)
    values, sources = (np.tile(of[:, plant.columns], turns) for of in (plant.values, plant.sources))
    for turn, there in enumerate(conditions):
        columns = turn * len(rows) + rows
        core, core_sources = values[frame.late][:, columns], sources[frame.late_nodes][:, columns]
        Changing(plant, rows, there).stamp(core, core_sources, rows)
        values[np.ix_(frame.late, columns)], sources[np.ix_(frame.late_nodes, columns)] = core, core_sources
    return values, sources


def _joined(feed: Feed, alone: Plant, norton: tuple[Array, Array], columns: Rows) -> Plant:
    """Return a feed together with the rest, which has a column for each of the plant's."""
    values, sources = alone.values.copy(), alone.sources.copy()
    values[feed.between] += norton[0][:, columns]
    sources[feed.meeting] += norton[1][:, columns]
    return replace(alone, values=values, sources=sources)


def _bears(reaction: Array, room: Array, columns: Rows, moved: Array) -> Flags:
    """Tell which rows change no condition of the rest by how far they move the volts where they meet it."""
    bears = np.ones(len(columns), dtype=np.bool_)
    for column in np.unique(columns):
        rows = np.flatnonzero(columns == column)
        changes = reaction[:, :, column] @ moved[:, rows]
        bears[rows] = (np.abs(changes) < room[:, [column]]).all(axis=0)
    return bears


def _room(changing: Changing, volts: Array) -> Array:
    """Return how far what each condition watches may move and leave it what it becomes, shape (conditions, rows)."""
    crew, conditions = changing.plant.crew, changing.frame.network.conditions
    senses = Senses(changing, np.arange(len(changing.rows)), volts)
    room = np.full(changing.conditions.shape, np.inf)
    for c, condition in enumerate(conditions):
        if condition.sense is not Sense.SETTING:
            limit = np.where(changing.conditions[c], crew.batch.off[c], crew.batch.on[c])
            room[c] = np.abs(limit - senses.of(c))
    return room


def _watched_ends(frame: Frame) -> Rows:
    """Return the two nodes across which each condition watches something, shape (conditions, 2)."""
    network = frame.network
    ends = np.full((len(network.conditions), 2), len(network.nodes) - 1)
    for c, condition in enumerate(network.conditions):
        if condition.sense is Sense.VOLTS:
            ends[c] = condition.of
        elif condition.sense is Sense.AMPS:
            ends[c] = network.elements[condition.of[0]].nodes
    return ends


def _watched_siemens(changing: Changing) -> Array:
    """Return by how much what each condition watches follows the volts across it, shape (conditions, rows)."""
    frame, plant = changing.frame, changing.plant
    gated, _ = source(frame.gated, changing[frame.gated])
    siemens = np.concatenate([plant.siemens[:, plant.columns[changing.rows]], gated])
    place = {m: n for n, m in enumerate([*frame.fixed.members.tolist(), *frame.gated.members.tolist()])}
    follows = np.ones(changing.conditions.shape)
    for c, condition in enumerate(frame.network.conditions):
        if condition.sense is Sense.AMPS:
            follows[c] = siemens[place[condition.of[0]]]
    return follows
