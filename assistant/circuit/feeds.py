"""Feeds: small pieces of a boat that hang on the rest at a few nodes, each made a network of its own.

A feed is a branch of the tree in which nodes are eliminated, with the nodes that its own way to the last pivot leads
over.  There it meets the rest; whatever else the boat has acts on it through those nodes alone.  Its numbering follows
the order of elimination, so its eliminated equations are those of the whole boat.
"""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Sense
from assistant.circuit.elimination import Pattern, Step
from assistant.circuit.frame import Frame, make_frame
from assistant.circuit.network import Condition, Element, Network, is_changing
from assistant.circuit.ways import Way, Ways

Index = NDArray[np.intp]

_MOST = 40
"""Nodes that a feed may have of its own; a boat that is hardly larger is better solved whole."""

_INNER = -1


@dataclass(frozen=True, slots=True)
class Feed:
    """A feed of a boat.

    `parts` are its own, each with all it stands on.  `way` tells where its nodes and matrix entries lie in the whole
    boat, `elements` and `conditions` the same of these.  Where it meets the rest are `meeting`, in its own numbering,
    and `between` the entries among these; `own` are the steps that eliminate all other nodes.
    """

    frame: Frame
    parts: frozenset[str]
    way: Way
    elements: Index
    conditions: Index
    meeting: Index
    between: Index
    own: tuple[Step, ...]

    @property
    def meeting_nodes(self) -> Index:
        """Return the numbers in the whole boat of the nodes where it meets the rest."""
        return self.way.nodes[self.meeting]

    @property
    def meeting_core(self) -> Index:
        """Return where these are in the feed's core."""
        return self.meeting - self.frame.network.pattern.early


@dataclass(frozen=True, slots=True)
class Division:
    """A boat divided into feeds; `outer` are the steps of all nodes but those where feeds meet, which `inner` are.

    `inner_nodes` are the latter, `of_node` the feed of each node, -1 for those of none.
    """

    feeds: tuple[Feed, ...]
    outer: tuple[Step, ...]
    inner: tuple[Step, ...]
    inner_nodes: Index
    of_node: Index


def divided(frame: Frame) -> Division:
    """Return the division of a boat into feeds.

    A boat that is small has none, nor one that has anything but straight elements, or a radio: beside straight
    elements a feed can be solved exactly, as long as their conditions stay as they are.
    """
    network = frame.network
    straight = len(frame.fixed) + len(frame.gated) == len(network.elements)
    if not straight or network.inputs or network.pattern.size <= _MOST:
        return _division(network, [], [_INNER] * network.pattern.size)
    roots = _roots(network.pattern)
    branches: dict[int, list[int]] = {}
    for number, root in enumerate(roots):
        branches.setdefault(root, []).append(number)
    branches.pop(_INNER, None)
    ways, owned, steps = Ways(network.pattern), _owned(network), network.pattern.steps
    found = (
        _feed(network, ways, owned, frozenset(steps[n].pivot for n in branch)) for branch in branches.values()
    )
    return _division(network, [feed for feed in found if feed is not None], roots)


def _division(network: Network, feeds: Sequence[Feed], roots: Sequence[int]) -> Division:
    sides: dict[bool, list[Step]] = {True: [], False: []}
    for step, root in zip(network.pattern.steps, roots, strict=True):
        sides[root == _INNER].append(step)
    inner_nodes = np.array([step.pivot for step in sides[True]], dtype=np.intp)
    of_node = np.full(network.pattern.size, -1)
    for number, feed in enumerate(feeds):
        of_node[feed.way.nodes] = number
    of_node[inner_nodes] = -1
    return Division(tuple(feeds), tuple(sides[False]), tuple(sides[True]), inner_nodes, of_node)


def _roots(pattern: Pattern) -> list[int]:
    """Return for each step the topmost one of the branch of the tree of elimination it is on, if that is small."""
    number = {step.pivot: n for n, step in enumerate(pattern.steps)}
    above = [min((number[other] for other in step.others.tolist()), default=-1) for step in pattern.steps]
    sizes = [1] * len(above)
    for n, over in enumerate(above):
        if over >= 0:
            sizes[over] += sizes[n]
    roots = [_INNER] * len(above)
    for n in reversed(range(len(above))):
        if sizes[n] <= _MOST:
            roots[n] = n if above[n] < 0 else roots[above[n]] if roots[above[n]] != _INNER else n
    return roots


def _owned(network: Network) -> dict[str, tuple[Sequence[int], frozenset[int]]]:
    """Return the elements of each part, and the nodes that it stands on."""
    elements: dict[str, list[int]] = {}
    for number, element in enumerate(network.elements):
        elements.setdefault(element.part, []).append(number)
    reference = len(network.nodes) - 1
    return {
        part: (numbers, frozenset(n for e in numbers for n in network.elements[e].nodes if n != reference))
        for part, numbers in elements.items()
    }


def _feed(
    network: Network,
    ways: Ways,
    owned: Mapping[str, tuple[Sequence[int], frozenset[int]]],
    own: frozenset[int],
) -> Feed | None:
    """Return the feed with these nodes of its own; None where something on them reaches further."""
    way = ways.whole(own)
    parts = {part for part, (_, nodes) in owned.items() if nodes & own}
    if any(not owned[part][1] <= set(way.nodes.tolist()) for part in parts):
        return None
    elements = [e for part in network.parts if part in parts for e in owned[part][0]]
    conditions = [c for c, condition in enumerate(network.conditions) if condition.part in parts]
    meeting = np.array([n for n, node in enumerate(way.nodes.tolist()) if node not in own], dtype=np.intp)
    met = frozenset(meeting.tolist())
    small = _cut_out(network, way, parts, elements, conditions, met)
    slots = [slot for (a, b), slot in small.pattern.slots.items() if a in met and b in met]
    return Feed(
        frame=make_frame(small, small.pattern),
        parts=frozenset(parts),
        way=way,
        elements=np.array(elements, dtype=np.intp),
        conditions=np.array(conditions, dtype=np.intp),
        meeting=meeting,
        between=np.array(slots, dtype=np.intp),
        own=tuple(step for step in small.pattern.steps if step.pivot not in met),
    )


def _cut_out(
    network: Network,
    way: Way,
    parts: Container[str],
    elements: Sequence[int],
    conditions: Sequence[int],
    met: Container[int],
) -> Network:
    """Return some parts of a boat as a network that has the nodes of a way, and its order of elimination."""
    place = {c: n for n, c in enumerate(conditions)}
    element_place = {e: n for n, e in enumerate(elements)}
    points = (*(network.nodes[n] for n in way.nodes.tolist()), network.nodes[-1])

    def gates(numbers: Sequence[int]) -> tuple[int, ...]:
        return tuple(place[c] for c in numbers)

    def watched(condition: Condition) -> tuple[int, ...]:
        if condition.sense is Sense.VOLTS:
            return tuple(way.number[list(condition.of)].tolist())
        return tuple(element_place[e] for e in condition.of)

    own_elements = tuple(
        replace(
            element,
            nodes=tuple(way.number[list(element.nodes)].tolist()),
            when=gates(element.when),
            unless=gates(element.unless),
        )
        for element in (network.elements[e] for e in elements)
    )
    own_conditions = tuple(
        replace(condition, of=watched(condition), when=gates(condition.when))
        for condition in (network.conditions[c] for c in conditions)
    )
    pattern = replace(way.pattern, early=_early(way, own_elements, own_conditions, met))
    return Network(
        boat=network.boat,
        nodes=points,
        number=MappingProxyType({point: n for n, point in enumerate(points)}),
        elements=own_elements,
        conditions=own_conditions,
        inputs=(),
        parts={part: found for part, found in network.parts.items() if part in parts},
        pattern=pattern,
        sound=pattern,
    )


def _early(
    way: Way, elements: Sequence[Element], conditions: tuple[Condition, ...], met: Container[int]
) -> int:
    """Return how many first steps of a way touch nothing that changes, nor anything shared with the rest."""
    late = {n for element in elements if is_changing(element, conditions) for n in element.nodes}
    steps = way.pattern.steps
    return next((n for n, step in enumerate(steps) if step.pivot in late or step.pivot in met), len(steps))
