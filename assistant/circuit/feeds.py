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
from assistant.circuit.network import Condition, Element, Input, Network, by_part, is_changing
from assistant.circuit.ways import Way, Ways

Index = NDArray[np.intp]

MOST = 40
"""Nodes that a feed may have of its own (by trial)."""

LEAST = 400
"""Nodes from which on a boat is divided: what all feeds have in common is solved with each of them (by trial)."""

_INNER = -1


@dataclass(frozen=True, slots=True)
class Feed:
    """A feed of a boat.

    `parts` are its own, each with all it stands on.  `way` tells where its nodes and matrix entries lie in the whole
    boat, `elements`, `conditions` and `inputs` the same of these.  Where it meets the rest are `meeting`, in its own
    numbering, and `between` the entries among these; `own` are the steps that eliminate all other nodes.
    """

    frame: Frame
    parts: frozenset[str]
    way: Way
    elements: Index
    conditions: Index
    inputs: Index
    meeting: Index
    between: Index
    own: tuple[Step, ...]

    @property
    def meeting_nodes(self) -> Index:
        """Return the numbers in the whole boat of the nodes where it meets the rest."""
        return self.way.nodes[self.meeting]

    @property
    def core_nodes(self) -> Index:
        """Return the numbers in the whole boat of the nodes of its core, and of the reference."""
        return np.append(self.way.nodes, len(self.way.number) - 1)[self.frame.core_nodes]

    @property
    def meeting_core(self) -> Index:
        """Return where these are in the feed's core."""
        return self.meeting - self.frame.network.pattern.early


@dataclass(frozen=True, slots=True)
class Division:
    """A boat divided into feeds; `outer` are the steps of all nodes but those where feeds meet, which `inner` are.

    `inner_nodes` are the latter, `of_node` the feed of each node, -1 for those of none.  `ways` are those of the boat,
    found once for all that is solved of it.
    """

    feeds: tuple[Feed, ...]
    outer: tuple[Step, ...]
    inner: tuple[Step, ...]
    inner_nodes: Index
    of_node: Index
    ways: Ways

    @property
    def feed_of_part(self) -> Mapping[str, int]:
        """Return the number of the feed of each part that is in one."""
        return {part: number for number, feed in enumerate(self.feeds) for part in feed.parts}


def divided(frame: Frame, *, most: int = MOST, least: int = LEAST) -> Division:
    """Return the division of a boat into feeds.

    Parameters
    ----------
    most : nodes that a feed may have of its own.
    least : nodes from which on a boat is divided at all.
    """
    network, steps = frame.network, frame.network.pattern.steps
    ways, owned = Ways(network.pattern), _owned(network)
    if network.pattern.size < least:
        return _division(network, ways, [], [_INNER] * len(steps))
    above, sizes = _tree(network.pattern)
    number = {step.pivot: n for n, step in enumerate(steps)}
    inner = [size > most for size in sizes]
    while True:
        roots = _roots(above, inner)
        branches: dict[int, set[int]] = {}
        for step, root in zip(steps, roots, strict=True):
            branches.setdefault(root, set()).add(step.pivot)
        branches.pop(_INNER, None)
        way_of = {root: ways.whole(frozenset(nodes)) for root, nodes in branches.items()}
        parts_of: dict[int, list[str]] = {root: [] for root in branches}
        central: set[int] = set()
        for part, nodes in owned.items():
            on = {roots[number[node]] for node in nodes} - {_INNER}
            if len(on) == 1 and _is_own(network, part, nodes, way_of[min(on)]):
                parts_of[on.pop()].append(part)
            elif on:
                central |= nodes
        if not central:
            break
        for node in central:
            n = number[node]
            while n >= 0 and not inner[n]:
                inner[n], n = True, above[n]
    feeds = [_feed(network, way_of[root], frozenset(branches[root]), parts_of[root]) for root in branches]
    return _division(network, ways, feeds, roots)


def _is_own(network: Network, part: str, nodes: frozenset[int], way: Way) -> bool:
    """Tell whether a part can be one of a feed with this way: it stands on nothing else, and no channels come of it."""
    return network.parts[part].kind.slots is None and bool((way.number[sorted(nodes)] >= 0).all())


def _division(network: Network, ways: Ways, feeds: Sequence[Feed], roots: Sequence[int]) -> Division:
    sides: dict[bool, list[Step]] = {True: [], False: []}
    for step, root in zip(network.pattern.steps, roots, strict=True):
        sides[root == _INNER].append(step)
    inner_nodes = np.array([step.pivot for step in sides[True]], dtype=np.intp)
    of_node = np.full(network.pattern.size, -1)
    for number, feed in enumerate(feeds):
        of_node[feed.way.nodes] = number
    of_node[inner_nodes] = -1
    return Division(tuple(feeds), tuple(sides[False]), tuple(sides[True]), inner_nodes, of_node, ways)


def _tree(pattern: Pattern) -> tuple[list[int], list[int]]:
    """Return the step above each step in the tree of elimination, -1 over the last, and how many its branch has."""
    number = {step.pivot: n for n, step in enumerate(pattern.steps)}
    above = [min((number[other] for other in step.others.tolist()), default=-1) for step in pattern.steps]
    sizes = [1] * len(above)
    for n, over in enumerate(above):
        if over >= 0:
            sizes[over] += sizes[n]
    return above, sizes


def _roots(above: Sequence[int], inner: Sequence[bool]) -> list[int]:
    """Return for each step the topmost one of its branch; the branches hang on the inner steps, which have none."""
    roots = [_INNER] * len(above)
    for n in reversed(range(len(above))):
        if not inner[n]:
            over = above[n]
            roots[n] = n if over < 0 or inner[over] else roots[over]
    return roots


def _owned(network: Network) -> dict[str, frozenset[int]]:
    """Return the nodes that each part stands on that has elements, without the reference."""
    nodes: dict[str, set[int]] = {}
    for element in network.elements:
        nodes.setdefault(element.part, set()).update(element.nodes)
    reference = len(network.nodes) - 1
    return {part: frozenset(found - {reference}) for part, found in nodes.items()}


def _feed(network: Network, way: Way, own: frozenset[int], parts: Container[str]) -> Feed:
    """Return the feed with these parts and nodes of its own."""
    elements = [e for e, element in enumerate(network.elements) if element.part in parts]
    conditions = [c for c, condition in enumerate(network.conditions) if condition.part in parts]
    inputs = [i for i, given in enumerate(network.inputs) if given.part in parts]
    meeting = np.array([n for n, node in enumerate(way.nodes.tolist()) if node not in own], dtype=np.intp)
    met = frozenset(meeting.tolist())
    small = _Cut(network, way, elements, conditions, inputs).network(met)
    slots = [slot for (a, b), slot in small.pattern.slots.items() if a in met and b in met]
    return Feed(
        frame=make_frame(small, small.pattern),
        parts=frozenset(network.elements[e].part for e in elements),
        way=way,
        elements=np.array(elements, dtype=np.intp),
        conditions=np.array(conditions, dtype=np.intp),
        inputs=np.array(inputs, dtype=np.intp),
        meeting=meeting,
        between=np.array(slots, dtype=np.intp),
        own=tuple(step for step in small.pattern.steps if step.pivot not in met),
    )


@dataclass(frozen=True, slots=True)
class _Cut:
    """Some elements, conditions and inputs of a boat, to be made a network on the nodes of a way."""

    whole: Network
    way: Way
    elements: Sequence[int]
    conditions: Sequence[int]
    inputs: Sequence[int]

    def network(self, met: Container[int]) -> Network:
        """Return the network; it has the values of all radio parts besides, which tell what its inputs are sent."""
        whole, way = self.whole, self.way
        elements = tuple(self._element(whole.elements[e]) for e in self.elements)
        conditions = tuple(self._condition(whole.conditions[c]) for c in self.conditions)
        pattern = replace(way.pattern, early=_early(way, elements, conditions, met))
        points = (*(whole.nodes[n] for n in way.nodes.tolist()), whole.nodes[-1])
        owners = {element.part for element in whole.elements}
        wanted = {element.part for element in elements}
        return Network(
            boat=whole.boat,
            nodes=points,
            number=MappingProxyType({point: n for n, point in enumerate(points)}),
            elements=elements,
            by_part=by_part(elements),
            conditions=conditions,
            inputs=tuple(self._input(whole.inputs[i]) for i in self.inputs),
            parts={
                name: part
                for name, part in whole.parts.items()
                if name in wanted or name not in owners or part.kind.slots is not None
            },
            pattern=pattern,
            sound=pattern,
        )

    def _nodes(self, nodes: Sequence[int]) -> tuple[int, ...]:
        return tuple(self.way.number[list(nodes)].tolist())

    def _gates(self, numbers: Sequence[int]) -> tuple[int, ...]:
        return tuple(self.conditions.index(c) for c in numbers)

    def _element(self, element: Element) -> Element:
        when, unless = self._gates(element.when), self._gates(element.unless)
        return replace(element, nodes=self._nodes(element.nodes), when=when, unless=unless)

    def _condition(self, condition: Condition) -> Condition:
        of: tuple[int, ...]
        match condition.sense:
            case Sense.VOLTS:
                of = self._nodes(condition.of)
            case Sense.AMPS | Sense.WATTS:
                of = tuple(self.elements.index(e) for e in condition.of)
            case _:
                of = tuple(self.inputs.index(i) for i in condition.of)
        return replace(condition, of=of, when=self._gates(condition.when))

    def _input(self, given: Input) -> Input:
        signal, negative = self._nodes((given.signal, given.negative))
        return replace(given, signal=signal, negative=negative, heard=self.conditions.index(given.heard))


def _early(
    way: Way, elements: Sequence[Element], conditions: tuple[Condition, ...], met: Container[int]
) -> int:
    """Return how many first steps of a way touch nothing that changes, nor anything shared with the rest."""
    late = {n for element in elements if is_changing(element, conditions) for n in element.nodes}
    steps = way.pattern.steps
    return next((n for n, step in enumerate(steps) if step.pivot in late or step.pivot in met), len(steps))
