"""How firmly nodes are held, which is what a meter's input works against."""

from __future__ import annotations

from functools import partial

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.columns import Columns
from assistant.circuit.departures import Departures
from assistant.circuit.elimination import Pattern, selected_inverse, solve_again
from assistant.circuit.ways import Way, Ways

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

_FLOATING_OHM = 10_000.0


class Hold:
    """Resistance with which nodes are held: what a meter's own input works against.

    Near nodes come from one pass over the kept entries of the inverse.  For any other pair the two nodes' own
    resistances add, unless both float: that is near enough against a voltmeter's input.  An ohmmeter shows the
    resistance itself, so for it every such pair is solved for.
    """

    def __init__(self, pattern: Pattern, factors: Departures, ways: Ways | None = None) -> None:
        self._factors = factors
        self._size = pattern.size
        self._ways = ways or Ways(pattern)
        self._whole, self._last = Columns(), Columns()
        self._apart: dict[tuple[int, int], Columns] = {}

    def between(self, first: Rows, second: Rows, columns: Rows, *, exact: bool = False) -> Array:
        """Return the small-signal resistance (ohm) between pairs of nodes, shape (pairs, columns).

        Parameters
        ----------
        exact : solve for pairs that are not near; otherwise they come out too high, by up to both nodes' own.
        """
        way = self._ways.of([*first.tolist(), *second.tolist()])
        columnwise = self._whole if way.is_whole else self._last
        inverse = columnwise.get(way, columns, partial(self._inverse, way))
        slots, nothing = way.pattern.slots, way.pattern.entries
        one, other = way.number[first].tolist(), way.number[second].tolist()
        pairs = list(zip(one, other, strict=True))
        there = np.array([slots.get((a, b), nothing) for a, b in pairs], dtype=np.intp)
        back = np.array([slots.get((b, a), nothing) for a, b in pairs], dtype=np.intp)
        own = [np.array([slots.get((n, n), nothing) for n in end], dtype=np.intp) for end in (one, other)]
        of_first, of_second = inverse[own[0]], inverse[own[1]]
        seen = of_first + of_second - inverse[there] - inverse[back]
        known = np.maximum(first, second) >= self._size  # the reference holds its other end alone
        apart = (there == nothing) & (first != second) & ~known
        unsure = apart[:, None] & (exact | (np.minimum(of_first, of_second) > _FLOATING_OHM))
        for pair in np.flatnonzero(unsure.any(axis=1)):
            at, ends = np.flatnonzero(unsure[pair]), (int(first[pair]), int(second[pair]))
            found = self._apart.setdefault(ends, Columns())
            seen[pair, at] = found.get(None, columns[at], partial(self._across, *ends))[0]
        return np.asarray(np.maximum(seen, 0.0))

    def _inverse(self, way: Way, columns: Rows) -> Array:
        """Return the kept entries of the inverse on a way, with one of nothing behind."""
        inverse = selected_inverse(way.pattern, self._factors.take(way.entries, columns))
        return np.concatenate([inverse, np.zeros((1, len(columns)))])

    def _across(self, first: int, second: int, columns: Rows) -> Array:
        """Return the resistance (ohm) between two nodes, solved for, shape (1, columns)."""
        volts = self.driven(first, second, np.array([first, second]), columns)
        return volts[:1] - volts[1:]

    def driven(self, first: int, second: int, at: Rows, columns: Rows) -> Array:
        """Return the volts at some nodes, over the reference, for each ampere sent in at one node and out at another.

        Shape (nodes, columns): the network as it is near its steady state, in which small currents add up.
        """
        way = self._ways.of([first, second, *at.tolist()])
        sources = np.zeros((way.pattern.size + 1, len(columns)))
        sources[way.number[first]] += 1.0
        sources[way.number[second]] -= 1.0
        volts = np.zeros_like(sources)
        factors = self._factors.take(way.entries, columns)
        volts[:-1] = solve_again(way.pattern, factors, sources[:-1])
        return np.asarray(volts[way.number[at]])
