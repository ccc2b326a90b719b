"""Boats that are alike where it matters, so that one of them shows the others the way.

A bad joint, a broken wire and a corroded fuse in one feed, of equal ohms, differ in nothing but the volts between
them.  Once the nodes that nothing changes are eliminated, what is left of such boats is the same system to many
digits.  One of them is taken the whole way from switching on; the others start where it came to rest.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.batch import Fault, Variant, mixed
from assistant.circuit.frame import Frame
from assistant.circuit.plant import Plant

Rows = NDArray[np.intp]
Codes = NDArray[np.uint64]

_KEPT_BITS = 16
"""Binary digits to which two numbers must agree to count as alike."""

_DROPPED = 52 - _KEPT_BITS


def passive_parts(frame: Frame) -> frozenset[str]:
    """Return the parts that are resistances and sources for good: no condition, no signal, nothing that changes."""
    network = frame.network
    fixed = {network.elements[m].part for m in frame.fixed.members}
    changing = {
        network.elements[m].part
        for group in (frame.gated, frame.legs, frame.motors, frame.draws, frame.diodes, frame.regulators)
        for m in group.members
    }
    hearing = {given.part for given in network.inputs} | {condition.part for condition in network.conditions}
    sending = {part.id for part in network.parts.values() if part.kind.slots is not None}
    return frozenset(fixed - changing - hearing - sending)


def marks_of(plant: Plant, passive: frozenset[str], variants: Sequence[Variant]) -> list[Hashable]:
    """Return a mark for each row of a plant; rows with equal marks are alike wherever something changes.

    Parameters
    ----------
    passive : parts whose faults show in the eliminated system and nowhere else.
    variants : those of the plant's batch.
    """
    crew, systems = plant.crew, _systems(plant)[plant.columns].tolist()
    others = [(variant.draw, _other_faults(variant, passive)) for variant in variants]
    return [
        (system, state, others[variant])
        for system, state, variant in zip(systems, crew.at.tolist(), crew.columns.tolist(), strict=True)
    ]


def _other_faults(variant: Variant, passive: frozenset[str]) -> tuple[Fault, ...]:
    return tuple(fault for fault in variant.faults if fault.part not in passive)


def _systems(plant: Plant) -> Codes:
    """Return a code for what is left of the equations of each column of a plant, rounded."""
    numbers = np.concatenate([plant.values[plant.frame.late], plant.sources[plant.frame.late_nodes]]) + 0.0
    rounded = (numbers.view(np.uint64) + np.uint64(1 << (_DROPPED - 1))) >> np.uint64(_DROPPED)
    weights = mixed(np.arange(1, len(rounded) + 1, dtype=np.uint64))
    return np.asarray(weights @ rounded)
