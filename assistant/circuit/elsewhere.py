"""Variants seen from where their fault is not: there they differ from the boat they are kept by in a few volts alone.

Of a variant that was solved feed by feed, nothing departs outside its own feed but where feeds meet.  Everywhere else
volts follow from those there as in the boat it is kept by, in proportion; so a node is worked out for all of them at
once, and only those with a fault near it are substituted one by one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.departures import Departures
from assistant.circuit.elimination import substitute
from assistant.circuit.feeds import Division
from assistant.circuit.ways import Way

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]


class Elsewhere:
    """The variants of a survey by the feed that each departs in.

    `home` is the number of that feed, -1 for variants that may depart anywhere.
    """

    def __init__(self, division: Division, home: Rows) -> None:
        self._division = division
        self._home = home

    def near(self, way: Way, columns: Rows) -> Flags:
        """Tell which of some variants may depart on a way, other than where feeds meet."""
        near = np.zeros(len(self._division.feeds) + 1, dtype=np.bool_)
        near[self._division.of_node[way.nodes]] = near[-1] = True
        return np.asarray(near[self._home[columns]])

    def volts(self, way: Way, factors: Departures, sources: Departures, columns: Rows, inner: Array) -> Array:
        """Return the volts on a way, and of the reference, of variants that do not depart there.

        Parameters
        ----------
        factors, sources : the eliminated equations of all variants.
        inner : volts of the nodes where feeds meet, shape (such nodes, columns).
        """
        number = way.number[self._division.inner_nodes]
        there = np.flatnonzero(number >= 0)
        alike = factors.base.shape[1]
        copies = 1 + len(there)
        volts = np.zeros((len(way.nodes) + 1, alike * copies))
        for copy, n in enumerate(there.tolist(), 1):
            volts[number[n], copy * alike : (copy + 1) * alike] = 1.0
        sides = np.zeros((len(way.nodes), alike * copies))
        sides[:, :alike] = sources.base[way.nodes]
        met = set(number[there].tolist())
        steps = [step for step in way.pattern.steps if step.pivot not in met]
        substitute(steps, np.tile(factors.base[way.entries], copies), sides, volts)
        pattern = factors.pattern[columns]
        found = volts[:, pattern]
        for copy, n in enumerate(there.tolist(), 1):
            found += volts[:, copy * alike + pattern] * inner[n]
        return found
