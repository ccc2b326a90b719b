"""The network sorted for solving: elements grouped by how they are stamped."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Primitive
from assistant.circuit.network import Network, is_changing
from assistant.circuit.stamps import Group, make_group

Index = NDArray[np.intp]
_LINEAR = (Primitive.RESISTANCE, Primitive.EMF)


@dataclass(frozen=True, slots=True)
class Frame:
    """Groups of a network: `fixed` never change within a boat state, `gated` follow conditions or sticks.

    `late` are the matrix slots between late nodes, the only ones that change after the early elimination;
    `late_places` are the numbers, within `late_nodes`, of the nodes of each, shape (2, slots).  `late_diagonals` are
    those of `late_nodes` with themselves, in the same order.
    """

    network: Network
    fixed: Group
    gated: Group
    legs: Group
    motors: Group
    draws: Group
    diodes: Group
    regulators: Group
    late: Index
    late_places: Index
    late_nodes: Index
    late_diagonals: Index


def make_frame(network: Network) -> Frame:
    """Return the groups of a network."""

    def members(*primitives: Primitive, changing: bool = True) -> list[int]:
        return [
            i
            for i, e in enumerate(network.elements)
            if e.primitive in primitives and is_changing(e, network.conditions) is changing
        ]

    pattern = network.pattern
    late_nodes = [step.pivot for step in pattern.steps[pattern.early :]]
    place = {node: number for number, node in enumerate(late_nodes)}
    late = sorted(
        (slot, place[a], place[b]) for (a, b), slot in pattern.slots.items() if a in place and b in place
    )
    slots, *places = np.array(late, dtype=np.intp).reshape(-1, 3).T
    return Frame(
        network=network,
        fixed=make_group(network, members(*_LINEAR, changing=False), 2),
        gated=make_group(network, members(*_LINEAR), 2),
        legs=make_group(network, members(Primitive.LEG), 3),
        motors=make_group(network, members(Primitive.MOTOR), 2),
        draws=make_group(network, members(Primitive.DRAW), 2),
        diodes=make_group(network, members(Primitive.DIODE), 2),
        regulators=make_group(network, members(Primitive.REGULATOR), 3),
        late=slots,
        late_places=np.stack(places),
        late_nodes=np.array(late_nodes, dtype=np.intp),
        late_diagonals=np.array([pattern.slots[node, node] for node in late_nodes], dtype=np.intp),
    )
