"""Steady states of many variants in one boat state, as they are kept: by what each departs from a boat like it.

Kept whole, the voltages of all nodes on all variants would grow with the square of the boat.  A fault changes the
eliminated equations only on its own way to the last of them, though, so these are kept, with their right-hand sides,
as departures from a boat of the same tolerances; a voltage is found again by going that way backwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.columns import Columns
from assistant.circuit.departures import Departures
from assistant.circuit.elimination import substitute
from assistant.circuit.elsewhere import Elsewhere
from assistant.circuit.feeds import Division, Feed
from assistant.circuit.frame import Frame
from assistant.circuit.hold import Hold
from assistant.circuit.network import Network
from assistant.circuit.solution import Phase, Solution
from assistant.circuit.state import BoatState
from assistant.circuit.ways import Way, Ways

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_NUMBERS = 1_000_000
"""Numbers of equations taken at once, so that they stay within some megabytes."""

_AT_ONCE = 2000
"""Columns taken at once, at most: all departures of each are gone through."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A phase of some variants as it is kept, one column each.

    `factors` and `sources` are the eliminated equations; `siemens` and `source_a` those of straight elements, `amps`
    of bent ones, `speed` of motors, in the order of `Places`.  `home` is the feed in which alone, but for where feeds
    meet, a variant departs from the boat it is kept by, -1 where it may do so anywhere.
    """

    factors: Departures
    sources: Departures
    siemens: Departures
    source_a: Departures
    amps: Array
    speed: Array
    conditions: Flags
    travel: Array
    home: Rows

    @classmethod
    def arranged(cls, pieces: Sequence[Kept], order: Rows) -> Kept:
        """Return pieces as one; `order` are the columns as they stand side by side, as they come."""
        return cls(
            factors=Departures.arranged([piece.factors for piece in pieces], order),
            sources=Departures.arranged([piece.sources for piece in pieces], order),
            siemens=Departures.arranged([piece.siemens for piece in pieces], order),
            source_a=Departures.arranged([piece.source_a for piece in pieces], order),
            amps=np.concatenate([piece.amps for piece in pieces], axis=1)[:, order],
            speed=np.concatenate([piece.speed for piece in pieces], axis=1)[:, order],
            conditions=np.concatenate([piece.conditions for piece in pieces], axis=1)[:, order],
            travel=np.concatenate([piece.travel for piece in pieces], axis=1)[:, order],
            home=np.concatenate([piece.home for piece in pieces])[order],
        )


@dataclass(frozen=True, slots=True)
class Places:
    """Elements in the order in which they are kept: with straight characteristics, without, and motors."""

    straight: Rows
    bent: Rows
    motors: Rows

    @classmethod
    def of(cls, frame: Frame) -> Places:
        """Return the places of the elements of a network."""
        straight = np.concatenate([frame.fixed.members, frame.gated.members])
        return cls(straight, frame.bent_members, frame.motors.members)


class KeptPhase:
    """One phase of all variants, whose volts and currents are found again when they are asked for."""

    def __init__(self, network: Network, division: Division, ways: Ways, places: Places, kept: Kept) -> None:
        self._network = network
        self._ways = ways
        self._inner_nodes = division.inner_nodes
        self._elsewhere = Elsewhere(division, kept.home)
        self._kept = kept
        self._straight, self._bent, self._motors = (
            {member: row for row, member in enumerate(members.tolist())}
            for members in (places.straight, places.bent, places.motors)
        )
        self._every = np.arange(len(kept.factors.pattern))
        self._whole, self._last = Columns(), Columns()

    def volts_at(self, nodes: Rows, columns: Rows) -> Array:
        """Return the volts over the reference, shape (nodes, columns)."""
        way = self._ways.of(nodes.tolist())
        known = self._whole if way.is_whole else self._last
        return np.asarray(known.get(way, columns, partial(self._on_way, way))[way.number[nodes]])

    def _on_way(self, way: Way, columns: Rows) -> Array:
        """Return the volts on a way, and of the reference, shape (nodes, columns)."""
        near = self._elsewhere.near(way, columns)
        if near.all():
            return self._substituted(way, columns)
        volts = np.empty((len(way.nodes) + 1, len(columns)))
        volts[:, near] = self._substituted(way, columns[near])
        far, kept = columns[~near], self._kept
        volts[:, ~near] = self._elsewhere.volts(
            way, kept.factors, kept.sources, far, self.inner_volts[:, far]
        )
        return volts

    @cached_property
    def inner_volts(self) -> Array:
        """Return the volts of the nodes where feeds meet on all variants, shape (such nodes, variants)."""
        way = self._ways.whole(frozenset(self._inner_nodes.tolist()))
        return self._substituted(way, self._every)[way.number[self._inner_nodes]]

    def _substituted(self, way: Way, columns: Rows) -> Array:
        volts = np.zeros((len(way.nodes) + 1, len(columns)))
        step = min(_AT_ONCE, max(1, _NUMBERS // max(1, len(way.entries))))
        for first in range(0, len(columns), step):
            piece = columns[first : first + step]
            values = self._kept.factors.take(way.entries, piece)
            sources = self._kept.sources.take(way.nodes, piece)
            substitute(way.pattern.steps, values, sources, volts[:, first : first + step])
        return volts

    def take(self, columns: Rows) -> Phase:
        """Return some variants whole."""
        elements, kept = self._network.elements, self._kept
        way = self._ways.every
        found = self._whole.get(way, columns, partial(self._substituted, way), keep=False)
        volts = found[way.number]
        amps, speed = np.zeros((2, len(elements), len(columns)))
        straight, bent, motors = map(list, (self._straight, self._bent, self._motors))
        ends = np.array([elements[n].nodes for n in straight], dtype=np.intp).reshape(-1, 2)
        rows = np.arange(len(straight))
        across = volts[ends[:, 0]] - volts[ends[:, 1]]
        amps[straight] = kept.siemens.take(rows, columns) * across + kept.source_a.take(rows, columns)
        amps[bent], speed[motors] = kept.amps[:, columns], kept.speed[:, columns]
        return Phase(
            volts=volts,
            conditions=kept.conditions[:, columns],
            amps=amps,
            speed=speed,
            travel=kept.travel[:, columns],
        )

    def in_feed(self, feed: Feed, columns: Rows) -> Phase:
        """Return some variants in a feed alone, numbered as that is."""
        motors = [self.speed_of(element)[columns] for element in feed.elements.tolist()]
        return Phase(
            volts=self._on_way(feed.way, columns),
            conditions=self._kept.conditions[np.ix_(feed.conditions, columns)],
            amps=self.amps_at(feed.elements, columns),
            speed=np.array(motors).reshape(len(motors), len(columns)),
            travel=self._kept.travel[np.ix_(feed.inputs, columns)],
        )

    def volts_of(self, node: int) -> Array:
        """Return the volts of a node over the reference on every variant."""
        return np.asarray(self.volts_at(np.array([node]), self._every)[0])

    def amps_at(self, elements: Rows, columns: Rows) -> Array:
        """Return the currents of elements from their first to their second node, shape (elements, columns)."""
        amps = np.zeros((len(elements), len(columns)))
        straight = [n for n, element in enumerate(elements.tolist()) if element in self._straight]
        bent = [n for n, element in enumerate(elements.tolist()) if element in self._bent]
        kept = np.array([self._bent[int(elements[n])] for n in bent], dtype=np.intp)
        amps[bent] = self._kept.amps[np.ix_(kept, columns)]
        rows = np.array([self._straight[int(elements[n])] for n in straight], dtype=np.intp)
        ends = np.array([self._network.elements[int(elements[n])].nodes for n in straight], dtype=np.intp)
        volts = self.volts_at(ends.reshape(-1), columns).reshape(len(straight), 2, len(columns))
        siemens, source_a = (m.take(rows, columns) for m in (self._kept.siemens, self._kept.source_a))
        amps[straight] = siemens * (volts[:, 0] - volts[:, 1]) + source_a
        return amps

    def amps_of(self, element: int) -> Array:
        """Return the current of an element on every variant."""
        return np.asarray(self.amps_at(np.array([element]), self._every)[0])

    def speed_of(self, element: int) -> Array:
        """Return the speed of a motor over its rated speed, 0 for other elements."""
        row = self._motors.get(element)
        return np.zeros(len(self._every)) if row is None else np.asarray(self._kept.speed[row])

    @property
    def conditions(self) -> Flags:
        """Return what holds, shape (conditions, variants)."""
        return self._kept.conditions

    def holds(self, condition: int) -> Flags:
        """Return on which variants a condition holds."""
        return np.asarray(self._kept.conditions[condition])

    def travel_of(self, number: int) -> Array:
        """Return the travel that an input is commanded."""
        return np.asarray(self._kept.travel[number])


class Other:
    """The other phase of all variants: that of those which alternate, for all others the first."""

    def __init__(self, first: KeptPhase, moving: Rows, second: KeptPhase) -> None:
        self._first = first
        self._moving = moving
        self._second = second

    def volts_at(self, nodes: Rows, columns: Rows) -> Array:
        """Return the volts over the reference, shape (nodes, columns)."""
        volts = self._first.volts_at(nodes, columns)
        there, own = self._own(columns)
        if len(there):
            volts[:, there] = self._second.volts_at(nodes, own)
        return volts

    def _own(self, columns: Rows) -> tuple[Rows, Rows]:
        """Return which of some columns alternate, and their numbers among those that do."""
        own = np.minimum(np.searchsorted(self._moving, columns), len(self._moving) - 1)
        there = np.flatnonzero(self._moving[own] == columns)
        return there, own[there]

    def amps_at(self, elements: Rows, columns: Rows) -> Array:
        """Return the currents of elements from their first to their second node, shape (elements, columns)."""
        amps = self._first.amps_at(elements, columns)
        there, own = self._own(columns)
        if len(there):
            amps[:, there] = self._second.amps_at(elements, own)
        return amps

    def take(self, columns: Rows) -> Phase:
        """Return some variants whole."""
        phase = self._first.take(columns)
        there, own = self._own(columns)
        if len(there):
            phase.write(there, self._second.take(own), slice(None))
        return phase

    def in_feed(self, feed: Feed, columns: Rows) -> Phase:
        """Return some variants in a feed alone, numbered as that is."""
        phase = self._first.in_feed(feed, columns)
        there, own = self._own(columns)
        if len(there):
            phase.write(there, self._second.in_feed(feed, own), slice(None))
        return phase

    @property
    def inner_volts(self) -> Array:
        """Return the volts of the nodes where feeds meet on all variants, shape (such nodes, variants)."""
        volts = self._first.inner_volts.copy()
        volts[:, self._moving] = self._second.inner_volts
        return volts

    @property
    def conditions(self) -> Flags:
        """Return what holds, shape (conditions, variants)."""
        conditions = self._first.conditions.copy()
        conditions[:, self._moving] = self._second.conditions
        return conditions

    def volts_of(self, node: int) -> Array:
        """Return the volts of a node over the reference on every variant."""
        return self._changed(self._first.volts_of(node), self._second.volts_of(node))

    def amps_of(self, element: int) -> Array:
        """Return the current of an element from its first to its second node."""
        return self._changed(self._first.amps_of(element), self._second.amps_of(element))

    def speed_of(self, element: int) -> Array:
        """Return the speed of a motor over its rated speed, 0 for other elements."""
        return self._changed(self._first.speed_of(element), self._second.speed_of(element))

    def holds(self, condition: int) -> Flags:
        """Return on which variants a condition holds."""
        return np.asarray(
            self._changed(self._first.holds(condition), self._second.holds(condition)), dtype=np.bool_
        )

    def travel_of(self, number: int) -> Array:
        """Return the travel that an input is commanded."""
        return self._changed(self._first.travel_of(number), self._second.travel_of(number))

    def _changed(self, first: NDArray[Any], moving: NDArray[Any]) -> NDArray[Any]:
        changed = first.copy()
        changed[self._moving] = moving
        return changed


class Survey:
    """Steady states of variants in one boat state; `phase`, `other`, `restless`, `failed` as those of a solution."""

    def __init__(
        self,
        frame: Frame,
        division: Division,
        state: BoatState,
        kept: tuple[Kept, Kept | None],
        moving: Rows,
        restless: Flags,
        failed: Flags,
    ) -> None:
        """Take what is kept: a first phase of all variants, a second of those (`moving`) that alternate, if any."""
        ways, places = division.ways, Places.of(frame)
        self._network = frame.network
        self.state = state
        self.kept = first, second = kept
        self.moving = moving
        self.restless = restless
        self.failed = failed
        self.phase = KeptPhase(frame.network, division, ways, places, first)
        self.other: KeptPhase | Other = self.phase
        if second is not None:
            self.other = Other(self.phase, moving, KeptPhase(frame.network, division, ways, places, second))
        self.hold = Hold(frame.network.pattern, first.factors, ways)
        """How firmly nodes are held in the first phase."""

    def take(self, columns: Rows) -> Solution:
        """Return the solution of some variants."""
        phase = self.phase.take(columns)
        return Solution(
            network=self._network,
            state=self.state,
            phase=phase,
            other=phase if self._rests(columns) else self.other.take(columns),
            restless=self.restless[:, columns],
            failed=self.failed[columns],
        )

    def in_feed(self, feed: Feed, columns: Rows) -> Solution:
        """Return the solution of some variants in a feed alone, numbered as that is."""
        phase = self.phase.in_feed(feed, columns)
        return Solution(
            network=feed.frame.network,
            state=self.state,
            phase=phase,
            other=phase if self._rests(columns) else self.other.in_feed(feed, columns),
            restless=self.restless[np.ix_(feed.conditions, columns)],
            failed=self.failed[columns],
        )

    def _rests(self, columns: Rows) -> bool:
        """Tell whether none of some variants alternates."""
        return self.other is self.phase or not np.isin(columns, self.moving).any()
