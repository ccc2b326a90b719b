"""The few eliminated equations that the voltage of a node hangs on: its own, and all on the way to the last one.

Wiring is nearly a tree, so that way is short.  It is a pattern of its own, smaller and numbered anew, and whatever is
done with a whole pattern can be done with it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.elimination import Pattern, make_step

Index = NDArray[np.intp]

_FEW = 24
_FEW_SHARE = 0.12
"""Nodes up to which it is worth finding their way; on a large boat such a share of all."""


@dataclass(frozen=True, slots=True)
class Way:
    """Part of a pattern: which of its nodes and entries it has, in the order of the numbers they have here.

    `number` is the number here of each node of the whole pattern; the reference comes behind all.
    """

    pattern: Pattern
    nodes: Index
    entries: Index
    number: Index

    @property
    def is_whole(self) -> bool:
        """Tell whether it is the way of all nodes."""
        return len(self.nodes) == len(self.number) - 1


class Ways:
    """The ways of a pattern, each found once."""

    def __init__(self, pattern: Pattern) -> None:
        self._pattern = pattern
        self._step_of = {step.pivot: number for number, step in enumerate(pattern.steps)}
        self._known: dict[frozenset[int], Way] = {}

    @property
    def every(self) -> Way:
        """Return the way of all nodes."""
        return self.of(range(self._pattern.size))

    def of(self, nodes: Iterable[int]) -> Way:
        """Return the way of some nodes, or that of all where they are many; the reference has none."""
        wanted = frozenset(nodes) - {self._pattern.size}
        if len(wanted) > max(_FEW, _FEW_SHARE * self._pattern.size):
            wanted = frozenset(range(self._pattern.size))
        if wanted not in self._known:
            self._known[wanted] = self._found(wanted)
        return self._known[wanted]

    def whole(self, nodes: frozenset[int]) -> Way:
        """Return the way of some nodes, however many they are; it is not remembered."""
        return self._found(nodes)

    def _found(self, nodes: frozenset[int]) -> Way:
        met: set[int] = set()
        ahead = list(nodes)
        while ahead:
            node = ahead.pop()
            if node not in met:
                met.add(node)
                ahead.extend(self._pattern.steps[self._step_of[node]].others.tolist())
        steps = [self._pattern.steps[n] for n in sorted(self._step_of[node] for node in met)]
        own = np.array([step.pivot for step in steps], dtype=np.intp)
        number = np.full(self._pattern.size + 1, -1, dtype=np.intp)
        number[own] = np.arange(len(own))
        number[-1] = len(own)
        slots: dict[tuple[int, int], int] = {}
        new = tuple(
            make_step(
                int(number[step.pivot]),
                number[step.others].tolist(),
                lambda a, b: slots.setdefault((a, b), len(slots)),
            )
            for step in steps
        )
        entries = [self._pattern.slots[int(own[a]), int(own[b])] for a, b in slots]
        return Way(Pattern(len(own), slots, new, len(new)), own, np.array(entries, dtype=np.intp), number)
