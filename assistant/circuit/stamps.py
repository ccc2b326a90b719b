"""Where the contributions of groups of equal elements land in the matrix and in the right-hand side.

Elements are gone through one by one, each with all rows of the batch at once; what concerns the reference node falls
away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.elimination import Pattern

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Group:
    """Elements that are stamped together.

    `members` are element numbers, `nodes` their node numbers, shape (elements, nodes).  `lines` are, by element, its
    nodes as (number among its nodes, node), and `entries` its pairs of nodes as (number, number, matrix entry), both
    without the reference.
    """

    members: Index
    nodes: Index
    lines: tuple[tuple[tuple[int, int], ...], ...]
    entries: tuple[tuple[tuple[int, int, int], ...], ...]

    def __len__(self) -> int:
        return len(self.members)

    def across(self, volts: Array, first: int, second: int) -> Array:
        """Return the voltages between two of the nodes, shape (elements, rows)."""
        return np.asarray(volts[self.nodes[:, first]] - volts[self.nodes[:, second]])

    def stamp_branch(self, values: Array, sources: Array, siemens: Array, amps: Array) -> None:
        """Add elements that lead ``siemens · volts across + amps`` from their first node to their second.

        Parameters
        ----------
        siemens, amps : shape (elements, rows).
        """
        for element, (lines, entries) in enumerate(zip(self.lines, self.entries, strict=True)):
            for end, node in lines:
                (np.add if end else np.subtract)(sources[node], amps[element], out=sources[node])
            for end, other, entry in entries:
                (np.add if end == other else np.subtract)(values[entry], siemens[element], out=values[entry])

    def stamp_general(self, values: Array, sources: Array, slopes: Array, constants: Array) -> None:
        """Add elements by the current that leaves each node.

        Parameters
        ----------
        slopes : derivative of that current by each node voltage, shape (nodes, nodes, elements, rows).
        constants : its value at zero volts, shape (nodes, elements, rows).
        """
        for element, (lines, entries) in enumerate(zip(self.lines, self.entries, strict=True)):
            for end, node in lines:
                sources[node] -= constants[end, element]
            for end, other, entry in entries:
                values[entry] += slopes[end, other, element]


def make_group(
    pattern: Pattern, members: Sequence[int], nodes: Index, absent: frozenset[int] = frozenset()
) -> Group:
    """Return the group of some elements on a pattern.

    Parameters
    ----------
    nodes : their nodes, shape (elements, nodes), counting the reference last.
    absent : elements that no row has; they are not stamped at all.
    """
    ends = [
        tuple((end, node) for end, node in enumerate(line) if node != pattern.size and member not in absent)
        for member, line in zip(members, nodes.tolist(), strict=True)
    ]
    return Group(
        members=np.array(members, dtype=np.intp),
        nodes=nodes,
        lines=tuple(ends),
        entries=tuple(
            tuple((end, other, pattern.slots[a, b]) for end, a in line for other, b in line) for line in ends
        ),
    )
