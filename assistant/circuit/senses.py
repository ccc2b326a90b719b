"""What conditions watch in steady states: volts, currents, heat, travel and what comes in as a signal."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Sense
from assistant.circuit.changing import Changing
from assistant.circuit.elimination import substitute
from assistant.circuit.network import HEARD_MOST

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]


class Senses:
    """What is watched in some rows.

    Only the nodes and elements are worked out that some condition watches.
    """

    def __init__(self, changing: Changing, columns: Rows, volts: Array, whole: Array | None = None) -> None:
        """Take these columns; volts are those of the core and the reference, a column for each.

        `whole` are the volts of all nodes, where these do not follow from the core's.
        """
        plant, frame = changing.plant, changing.frame
        self._crew, self._network = plant.crew, frame.network
        self._rows = changing.rows[columns]
        self._conditions = changing.conditions[:, columns]
        self._travel = changing.travel[:, columns]
        self._expected = plant.crew.expected_v[:, self._rows]
        there = plant.columns[self._rows]
        self._volts = np.zeros((len(frame.network.nodes), len(there))) if whole is None else whole
        if whole is None:
            self._volts[frame.core_nodes] = volts
            substitute(frame.sensed, plant.values, plant.sources, self._volts, there)
        self._amps: dict[int, Array] = {}
        for group in frame.changing:
            if not frame.watched.isdisjoint(group.members.tolist()):
                amps = changing.amps(group, volts, columns)
                self._amps |= dict(zip(group.members.tolist(), amps, strict=True))
        for place, member in enumerate(frame.fixed.members.tolist()):
            if member in frame.watched:
                first, second = frame.fixed.nodes[place]
                across = self._volts[first] - self._volts[second]
                self._amps[member] = plant.siemens[place, there] * across + plant.amps[place, there]

    def wanted(self) -> tuple[Flags, Flags]:
        """Return the conditions that what is watched brings about, and which stay on whatever gates them.

        Gates are left aside; what a hand sets stays.  Both have shape (conditions, columns).
        """
        batch, variants = self._crew.batch, self._crew.columns[self._rows]
        wanted, forced = self._conditions.copy(), np.zeros_like(self._conditions)
        for c, condition in enumerate(self._network.conditions):
            if condition.sense is Sense.SETTING:
                continue
            watched, force = self.of(c), batch.forced[c, variants]
            held = (watched >= batch.on[c, variants]) | (wanted[c] & (watched > batch.off[c, variants]))
            forced[c] = force > 0
            wanted[c] = np.where(force == 0, held, forced[c])
        return wanted, forced

    def of(self, number: int) -> Array:
        """Return what a condition goes by, shape (columns,)."""
        condition, volts = self._network.conditions[number], self._volts
        match condition.sense:
            case Sense.VOLTS:
                return np.asarray(volts[condition.of[0]] - volts[condition.of[1]])
            case Sense.AMPS:
                return np.asarray(np.abs(self._amps[condition.of[0]]))
            case Sense.WATTS:
                nodes = self._network.elements[condition.of[0]].nodes
                return np.asarray(np.abs((volts[nodes[0]] - volts[nodes[-1]]) * self._amps[condition.of[0]]))
            case Sense.TRAVEL:
                return np.asarray(np.abs(self._travel[condition.of[0]]))
            case Sense.NEUTRAL:
                return np.asarray(self._crew.neutral[condition.of[0], self._rows])
            case _:
                given = self._network.inputs[condition.of[0]]
                brought = volts[given.signal] - volts[given.negative]
                share = np.nan_to_num(brought / self._expected[condition.of[0]], nan=0.0)
                return np.where(share > HEARD_MOST, 0.0, share)


def following_of(changing: Changing, columns: Rows, volts: Array) -> Flags:
    """Return the conditions that settled volts (of the core) bring about in some of the rows."""
    conditions = changing.conditions[:, columns]
    following, forced = Senses(changing, columns, volts).wanted()
    for c, condition in enumerate(changing.frame.network.conditions):
        for gate in condition.when:
            there = following if gate < c else conditions
            following[c] &= there[gate] | forced[c]
    return following
