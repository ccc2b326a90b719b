"""The network sorted for solving: elements grouped by how they are stamped.

Nodes that carry nothing changeable are eliminated early, once for all.  What is left is the core, a smaller system
with numbers of its own, and the only one that is solved again and again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Primitive, Sense
from assistant.circuit.elimination import Pattern, Step, rest_of
from assistant.circuit.network import Network, is_changing, is_moved
from assistant.circuit.stamps import Group, make_group

Index = NDArray[np.intp]
_Places = tuple[tuple[int, int], ...]
_LINEAR = (Primitive.RESISTANCE, Primitive.EMF)


@dataclass(frozen=True, slots=True)
class Frame:
    """Groups of a network: `fixed` never change within a boat state, `gated` follow conditions or sticks.

    `core` is what the early elimination leaves.  `late` are its entries among those of the whole network, `late_nodes`
    its nodes, `core_nodes` the same with the reference behind them; `places` are row and column of each entry,
    `diagonals` the entries of the nodes with themselves.  All groups but `fixed` stand on the core;
    `changing` are all of these; for each, `gates` and `moved` are those of its elements that hang on conditions and
    those that follow sticks, as (number within the group, element).  `sensed` are the early steps whose volts a
    condition watches, `watched` the elements whose current one does.
    """

    network: Network
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


def make_frame(network: Network) -> Frame:
    """Return the groups of a network."""

    def members(*primitives: Primitive, changing: bool = True) -> list[int]:
        return [
            i
            for i, e in enumerate(network.elements)
            if e.primitive in primitives and is_changing(e, network.conditions) is changing
        ]

    pattern = network.pattern
    core, late = rest_of(pattern)
    late_nodes = np.array([step.pivot for step in pattern.steps[pattern.early :]], dtype=np.intp)
    core_nodes = np.append(late_nodes, pattern.size)
    place = np.zeros(pattern.size + 1, dtype=np.intp)
    place[core_nodes] = np.arange(len(core_nodes))

    def on_core(*primitives: Primitive, width: int = 2) -> Group:
        chosen = members(*primitives)
        return make_group(core, chosen, place[_nodes(network, chosen, width)])

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
        fixed=make_group(pattern, fixed, _nodes(network, fixed, 2)),
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
        sensed=_sensed(network, watched),
        watched=watched,
    )


def _places(group: Group, chosen: Callable[[int], bool]) -> _Places:
    return tuple((place, m) for place, m in enumerate(group.members.tolist()) if chosen(m))


def _nodes(network: Network, members: Sequence[int], width: int) -> Index:
    return np.array([network.elements[m].nodes for m in members], dtype=np.intp).reshape(len(members), width)


def _sensed(network: Network, watched: frozenset[int]) -> tuple[Step, ...]:
    """Return the early steps whose volts are wanted by conditions, in order, those they hang on included."""
    wanted = {node for m in watched for node in network.elements[m].nodes}
    for condition in network.conditions:
        if condition.sense is Sense.VOLTS:
            wanted |= set(condition.of)
        elif condition.sense is Sense.HEARD:
            given = network.inputs[condition.of[0]]
            wanted |= {given.signal, given.negative}
    found: list[Step] = []
    for step in network.pattern.steps[: network.pattern.early]:
        if step.pivot in wanted:
            found.append(step)
            wanted |= set(step.others.tolist())
    return tuple(found)
