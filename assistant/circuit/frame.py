"""The network sorted for solving: elements grouped by how they are stamped.

Nodes that carry nothing changeable are eliminated early, once for all.  What is left is the core, a smaller system
with numbers of its own, and the only one that is solved again and again.

There are two frames: one of any boat, and a leaner one of the sound boat, on which most faults fit as well.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Primitive, Sense
from assistant.circuit.batch import Variant
from assistant.circuit.elimination import Pattern, Step, rest_of
from assistant.circuit.network import Network, is_changing, is_moved
from assistant.circuit.stamps import Group, make_group

Index = NDArray[np.intp]
_Places = tuple[tuple[int, int], ...]
_LINEAR = (Primitive.RESISTANCE, Primitive.EMF)


@dataclass(frozen=True, slots=True)
class Frame:
    """Groups of a network: `fixed` never change within a boat state, `gated` follow conditions or sticks.

    `pattern` is how it is eliminated, `outside` are the faults (part, mode) whose elements it has no entries for.
    `core` is what the early elimination leaves.  `late` are its entries among those of the whole network, `late_nodes`
    its nodes, `core_nodes` the same with the reference behind them; `places` are row and column of each entry,
    `diagonals` the entries of the nodes with themselves.  All groups but `fixed` stand on the core;
    `changing` are all of these; for each, `gates` and `moved` are those of its elements that hang on conditions and
    those that follow sticks, as (number within the group, element).  `sensed` are the early steps whose volts a
    condition watches, `watched` the elements whose current one does.
    """

    network: Network
    pattern: Pattern
    outside: frozenset[tuple[str, str]]
    fixed: Group
    gated: Group
    legs: Group
    motors: Group
    draws: Group
    diodes: Group
    regulators: Group
    core: Pattern
    late: Index
    late_nodes: Index
    core_nodes: Index
    places: Index
    diagonals: Index
    changing: tuple[Group, ...]
    gates: tuple[_Places, ...]
    moved: tuple[_Places, ...]
    sensed: tuple[Step, ...]
    watched: frozenset[int]

    @property
    def bent(self) -> tuple[Group, ...]:
        """Return the groups whose currents do not follow the volts across them alone, or not straight."""
        return self.legs, self.motors, self.draws, self.diodes, self.regulators

    @property
    def bent_members(self) -> Index:
        """Return the elements of these groups, in order."""
        return np.concatenate([group.members for group in self.bent])

    def bears(self, variant: Variant) -> bool:
        """Tell whether a variant can be solved on this frame."""
        return not any((fault.part, fault.mode) in self.outside for fault in variant.faults)


def make_frame(network: Network, pattern: Pattern) -> Frame:
    """Return the groups of a network on one of its patterns."""

    def members(*primitives: Primitive, changing: bool = True) -> list[int]:
        return [
            i
            for i, e in enumerate(network.elements)
            if e.primitive in primitives and is_changing(e, network.conditions) is changing
        ]

    absent = _absent(network, pattern)
    core, late = rest_of(pattern)
    late_nodes = np.array([step.pivot for step in pattern.steps[pattern.early :]], dtype=np.intp)
    core_nodes = np.append(late_nodes, pattern.size)
    place = np.zeros(pattern.size + 1, dtype=np.intp)
    place[core_nodes] = np.arange(len(core_nodes))

    def on_core(*primitives: Primitive, width: int = 2) -> Group:
        chosen = members(*primitives)
        return make_group(core, chosen, place[_nodes(network, chosen, width)], absent)

    fixed = members(*_LINEAR, changing=False)
    watched = frozenset(c.of[0] for c in network.conditions if c.sense in (Sense.AMPS, Sense.WATTS))
    elements = network.elements
    changing = (
        on_core(*_LINEAR),
        on_core(Primitive.LEG, width=3),
        on_core(Primitive.MOTOR),
        on_core(Primitive.DRAW),
        on_core(Primitive.DIODE),
        on_core(Primitive.REGULATOR, width=3),
    )
    gated, legs, motors, draws, diodes, regulators = changing
    return Frame(
        network=network,
        pattern=pattern,
        outside=frozenset((elements[n].part, elements[n].fault or "") for n in absent),
        fixed=make_group(pattern, fixed, _nodes(network, fixed, 2), absent),
        gated=gated,
        legs=legs,
        motors=motors,
        draws=draws,
        diodes=diodes,
        regulators=regulators,
        changing=changing,
        gates=tuple(
            _places(group, lambda m: bool(elements[m].when or elements[m].unless)) for group in changing
        ),
        moved=tuple(_places(group, lambda m: is_moved(elements[m])) for group in changing),
        core=core,
        late=late,
        late_nodes=late_nodes,
        core_nodes=core_nodes,
        places=np.array(list(core.slots), dtype=np.intp).reshape(-1, 2).T,
        diagonals=np.array([step.diagonal for step in core.steps], dtype=np.intp),
        sensed=_sensed(network, pattern, watched),
        watched=watched,
    )


def _places(group: Group, chosen: Callable[[int], bool]) -> _Places:
    return tuple((place, m) for place, m in enumerate(group.members.tolist()) if chosen(m))


def _nodes(network: Network, members: Sequence[int], width: int) -> Index:
    return np.array([network.elements[m].nodes for m in members], dtype=np.intp).reshape(len(members), width)


def _absent(network: Network, pattern: Pattern) -> frozenset[int]:
    """Return the elements that a pattern has no entries for."""

    def kept(nodes: Sequence[int]) -> bool:
        inside = [n for n in nodes if n != pattern.size]
        return all((a, b) in pattern.slots for a in inside for b in inside)

    return frozenset(n for n, element in enumerate(network.elements) if not kept(element.nodes))


def _sensed(network: Network, pattern: Pattern, watched: frozenset[int]) -> tuple[Step, ...]:
    """Return the early steps whose volts are wanted by conditions, in order, those they hang on included."""
    wanted = {node for m in watched for node in network.elements[m].nodes}
    for condition in network.conditions:
        if condition.sense is Sense.VOLTS:
            wanted |= set(condition.of)
        elif condition.sense is Sense.HEARD:
            given = network.inputs[condition.of[0]]
            wanted |= {given.signal, given.negative}
    found: list[Step] = []
    for step in pattern.steps[: pattern.early]:
        if step.pivot in wanted:
            found.append(step)
            wanted |= set(step.others.tolist())
    return tuple(found)
