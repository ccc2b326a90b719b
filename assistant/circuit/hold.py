"""How firmly nodes are held, which is what a meter's input works against."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.elimination import Pattern, selected_inverse, solve_again

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

_FLOATING_OHM = 10_000.0


class Hold:
    """Resistance with which nodes are held: what a meter's own input works against.

    Near nodes come from one pass over the kept entries of the inverse.  For any other pair the two nodes' own
    resistances add, unless both float: that is near enough against a voltmeter's input.  An ohmmeter shows the
    resistance itself, so for it every such pair is solved for.
    """

    def __init__(self, pattern: Pattern, factors: Array) -> None:
        self._pattern = pattern
        self._factors = factors
        inverse = selected_inverse(pattern, factors)
        self._inverse = np.concatenate([inverse, np.zeros((1, inverse.shape[1]))])
        nothing = pattern.entries
        self._diagonal = np.array(
            [pattern.slots[n, n] for n in range(pattern.size)] + [nothing], dtype=np.intp
        )

    def between(self, first: Rows, second: Rows, columns: Rows, *, exact: bool = False) -> Array:
        """Return the small-signal resistance (ohm) between pairs of nodes, shape (pairs, columns).

        Parameters
        ----------
        exact : solve for pairs that are not near; otherwise they come out too high, by up to both nodes' own.
        """
        slots, nothing = self._pattern.slots, self._pattern.entries
        pairs = list(zip(first.tolist(), second.tolist(), strict=True))
        there = np.array([slots.get((a, b), nothing) for a, b in pairs], dtype=np.intp)
        back = np.array([slots.get((b, a), nothing) for a, b in pairs], dtype=np.intp)
        inverse = self._inverse[:, columns]
        of_first, of_second = inverse[self._diagonal[first]], inverse[self._diagonal[second]]
        seen = of_first + of_second - inverse[there] - inverse[back]
        known = np.maximum(first, second) >= self._pattern.size  # the reference holds its other end alone
        apart = (there == nothing) & (first != second) & ~known
        unsure = apart[:, None] & (exact | (np.minimum(of_first, of_second) > _FLOATING_OHM))
        for pair in np.flatnonzero(unsure.any(axis=1)):
            at = np.flatnonzero(unsure[pair])
            seen[pair, at] = self._solved(*pairs[pair], columns[at])
        return np.asarray(np.maximum(seen, 0.0))

    def driven(self, first: int, second: int, at: Rows, columns: Rows) -> Array:
        """Return the volts at some nodes, over the reference, for each ampere sent in at one node and out at another.

        Shape (nodes, columns): the network as it is near its steady state, in which small currents add up.
        """
        sources = np.zeros((self._pattern.size + 1, len(columns)))
        sources[first] += 1.0
        sources[second] -= 1.0
        volts = np.zeros_like(sources)
        volts[:-1] = solve_again(self._pattern, self._factors[:, columns], sources[:-1])
        return np.asarray(volts[at])

    def _solved(self, first: int, second: int, columns: Rows) -> Array:
        sources = np.zeros((self._pattern.size, len(columns)))
        sources[first] += 1.0
        sources[second] -= 1.0
        volts = solve_again(self._pattern, self._factors[:, columns], sources)
        return np.asarray(volts[first] - volts[second])
