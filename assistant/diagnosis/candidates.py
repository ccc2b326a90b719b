"""What could be asked next: readings at points a probe reaches, and signs worth a look, in the states on offer.

Readings are taken over each element between two reachable points next to each other (the drop over a joint, a wire, a
switch) and from each point to the negative of its pack or of its own part.  Ohms only with all packs unplugged.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Reach, Side
from assistant.circuit import BoatState, Measurement, MeterFunction, MeterProfile, Network, is_unplugged
from assistant.diagnosis.costs import RANGE_S, probe_seconds
from assistant.diagnosis.model import Barred, SignQuery
from assistant.wiring import Boat, Point, points_of, reach_of, side_at

Array = NDArray[np.float64]
Rows = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Readings:
    """All readings between points in one boat state, of one function.

    `far_s` is what each costs with the probes elsewhere and the meter on another function; `number` and `at` find
    them by themselves and by their points.
    """

    every: tuple[Measurement, ...]
    far_s: Array
    number: Mapping[Measurement, int]
    at: Mapping[Point, Sequence[int]]

    def allowed(self, barred: Collection[Barred]) -> Rows:
        """Return the numbers of the readings that are not barred, nor at any point that is."""
        allowed = np.ones(len(self.every), dtype=np.bool_)
        for one in barred:
            if isinstance(one, Measurement):
                allowed[[self.number[one]] if one in self.number else []] = False
            elif isinstance(one, Point):
                allowed[list(self.at.get(one, ()))] = False
        return np.flatnonzero(allowed)

    def seconds(self, reach: Mapping[Point, Reach], last: Measurement | None) -> Array:
        """Return what each costs once the boat is set, after the reading `last`; see `probe_seconds`."""
        if last is None or not self.every:
            return self.far_s
        seconds = self.far_s - (RANGE_S if last.function is self.every[0].function else 0.0)
        for number in {*self.at.get(last.red, ()), *self.at.get(last.black, ())}:
            seconds[number] = probe_seconds(reach, self.every[number], last)
        return seconds


def readings_in(every: Sequence[Measurement], reach: Mapping[Point, Reach]) -> Readings:
    """Return readings of one function in one boat state so that they are found quickly."""
    at: dict[Point, list[int]] = defaultdict(list)
    for number, one in enumerate(every):
        at[one.red].append(number)
        at[one.black].append(number)
    return Readings(
        every=tuple(every),
        far_s=np.array([probe_seconds(reach, one, None) for one in every]),
        number={one: number for number, one in enumerate(every)},
        at=dict(at),
    )


def probe_pairs(network: Network) -> tuple[tuple[Point, Point], ...]:
    """Return the pairs of reachable points worth a reading, red first, each once."""
    boat = network.boat
    reachable = {p for p in points_of(boat) if reach_of(boat, p) is not Reach.SEALED}
    pairs = dict.fromkeys((*_over_elements(network, reachable), *_to_negatives(network, reachable)))
    seen: dict[frozenset[Point], tuple[Point, Point]] = {}
    for pair in pairs:
        if pair[0] != pair[1]:
            seen.setdefault(frozenset(pair), pair)
    return tuple(seen.values())


def _over_elements(network: Network, reachable: set[Point]) -> Iterator[tuple[Point, Point]]:
    """Yield the ends of every lead, of every joint and of every two-terminal part."""
    boat = network.boat
    for lead in boat.leads.values():
        wire = (Point(part=lead.id, terminal="1"), Point(part=lead.id, terminal="2"))
        chain = [p for p in (lead.ends[0], *wire, lead.ends[1]) if p in reachable]
        if len(chain) > 1:
            yield from pairwise(chain)
            yield chain[0], chain[-1]
    for part in boat.parts.values():
        terminals = [Point(part=part.id, terminal=t) for t in part.kind.through]
        if len(terminals) == 2 and set(terminals) <= reachable:
            yield terminals[0], terminals[1]


def _to_negatives(network: Network, reachable: set[Point]) -> Iterator[tuple[Point, Point]]:
    """Yield each point against the pack negative, and each live terminal against its own part's negatives."""
    reference = network.nodes[-1]
    of_part: dict[str, list[Point]] = {}
    for point in sorted(reachable):
        of_part.setdefault(point.part, []).append(point)
        if reference in reachable:
            yield point, reference
    for part in network.boat.parts:
        own = of_part.get(part, [])
        negatives = [p for p in own if side_at(network.boat, p) is Side.NEGATIVE]
        for point in own:
            if side_at(network.boat, point) is not Side.NEGATIVE:
                yield from ((point, negative) for negative in _nearest(point, negatives))


def _nearest(point: Point, negatives: Sequence[Point]) -> Sequence[Point]:
    """Return the negative of the same socket where there is one, else all negatives of the part."""
    if point.terminal[:1].isdigit():
        return [n for n in negatives if n.terminal[:-1] == point.terminal[:-1]]
    return [n for n in negatives if not n.terminal[:1].isdigit()]


def readings(
    pairs: Sequence[tuple[Point, Point]], boat: Boat, state: BoatState, meter: MeterProfile
) -> Iterator[Measurement]:
    """Yield the readings on offer: volts in a live state, ohms in a state with every pack unplugged."""
    function = MeterFunction.OHMS if is_unplugged(boat, state) else MeterFunction.DC_VOLTS
    if function in meter.functions:
        for red, black in pairs:
            yield Measurement(function=function, red=red, black=black, state=state)


def looks(boat: Boat, state: BoatState) -> Iterator[SignQuery]:
    """Yield the signs on offer: with every pack unplugged those that need it, else the others."""
    dead = is_unplugged(boat, state)
    for part in boat.parts.values():
        for sign, spec in part.kind.signs.items():
            if spec.unplugged is dead:
                yield SignQuery(part=part.id, sign=sign, state=state)
