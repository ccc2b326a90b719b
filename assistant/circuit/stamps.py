"""Where the contributions of groups of equal elements land in the matrix and in the right-hand side.

For a group of elements with the same number of nodes, contributions come as arrays of shape
(elements · nodes · nodes, rows).  They are summed by destination with one call, and those that concern the
reference node fall away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.network import Network

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _Landing:
    order: Index
    starts: Index
    targets: Index

    def add(self, target: Array, contributions: Array) -> None:
        if len(self.targets):
            target[self.targets] += np.add.reduceat(contributions[self.order], self.starts, axis=0)


@dataclass(frozen=True, slots=True)
class Group:
    """Elements that are stamped together.

    `members` are element numbers, `nodes` their node numbers, shape (elements, nodes).
    """

    members: Index
    nodes: Index
    matrix: _Landing
    sources: _Landing

    def __len__(self) -> int:
        return len(self.members)

    def across(self, volts: Array, first: int, second: int) -> Array:
        """Return the voltages between two of the nodes, shape (elements, rows)."""
        return np.asarray(volts[self.nodes[:, first]] - volts[self.nodes[:, second]])

    def stamp_branch(
        self, values: Array, sources: Array, weights: Array, siemens: Array, amps: Array
    ) -> None:
        """Add elements whose current is ``siemens · (weights · volts) + amps``.

        Parameters
        ----------
        weights : shape (nodes, elements, rows) or (nodes, 1, 1); the current leaves each node by its weight.
        siemens, amps : shape (elements, rows).
        """
        count, width = self.nodes.shape
        rows = siemens.shape[1]
        shape = (width, width, count, rows)
        square = np.broadcast_to(weights[:, None] * weights[None, :] * siemens, shape)
        self.matrix.add(values, square.transpose(2, 0, 1, 3).reshape(-1, rows))
        side = np.broadcast_to(-weights * amps, (width, count, rows))
        self.sources.add(sources, side.transpose(1, 0, 2).reshape(-1, rows))

    def stamp_general(self, values: Array, sources: Array, slopes: Array, constants: Array) -> None:
        """Add elements by the current that leaves each node.

        Parameters
        ----------
        slopes : derivative of that current by each node voltage, shape (nodes, nodes, elements, rows).
        constants : its value at zero volts, shape (nodes, elements, rows).
        """
        rows = constants.shape[-1]
        self.matrix.add(values, slopes.transpose(2, 0, 1, 3).reshape(-1, rows))
        self.sources.add(sources, -constants.transpose(1, 0, 2).reshape(-1, rows))


PAIR = np.array([1.0, -1.0])[:, None, None]


def make_group(network: Network, members: Sequence[int], width: int) -> Group:
    """Return the group of these elements, all with `width` nodes."""
    nodes = np.array([network.elements[m].nodes for m in members], dtype=np.intp).reshape(len(members), width)
    reference = len(network.nodes) - 1
    squares: list[int] = []
    lines: list[int] = []
    for row in nodes.tolist():
        for a in row:
            lines.append(-1 if a == reference else a)
            squares.extend(-1 if reference in (a, b) else network.pattern.slots[a, b] for b in row)
    return Group(np.array(members, dtype=np.intp), nodes, _landing(squares), _landing(lines))


def _landing(destinations: Sequence[int]) -> _Landing:
    to = np.array(destinations, dtype=np.intp)
    kept = np.flatnonzero(to >= 0)
    order = kept[np.argsort(to[kept], kind="stable")]
    targets, starts = np.unique(to[order], return_index=True)
    return _Landing(order, starts.astype(np.intp), targets.astype(np.intp))
