"""A batch in one boat state, made ready for solving: what nothing changes any more is eliminated once for all.

Here the numbers of the elements become conductances and sources: which elements exist in which row, and what their
formulas give there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Primitive
from assistant.circuit.batch import Batch
from assistant.circuit.elimination import eliminate
from assistant.circuit.frame import Frame
from assistant.circuit.network import is_moved
from assistant.circuit.stamps import PAIR, Group

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

LEAK_S = 1e-9
"""What every node leaks to the reference: 1 GΩ of dry insulation (common practice, no source)."""

SMALLEST_OHM = 1e-5
"""Least resistance of an element, so that conductances stay within what numbers can bear."""


@dataclass(frozen=True, slots=True)
class Plant:
    """A batch in one boat state with everything that does not change already eliminated."""

    frame: Frame
    batch: Batch
    values: Array
    sources: Array
    siemens: Array
    amps: Array
    shares: Mapping[int, Array]
    highest_v: float

    @classmethod
    def of(cls, frame: Frame, batch: Batch, conditions: Flags, shares: Mapping[int, Array]) -> Plant:
        """Return the plant for the conditions that hands have set.

        `shares` is the share of the time that each channel's pulse is up, by channel number, shape (rows,).
        """
        pattern = frame.network.pattern
        values = np.zeros((pattern.entries, batch.size))
        sources = np.zeros((pattern.size, batch.size))
        values[[step.diagonal for step in pattern.steps]] = LEAK_S
        rows = np.arange(batch.size)
        numbers = numbers_of(frame, batch, frame.fixed, rows, np.zeros((0, batch.size)), shares)
        present = present_of(frame, batch, frame.fixed, rows, conditions)
        siemens, amps = source_branch(frame.fixed, numbers, present)
        frame.fixed.stamp_branch(values, sources, PAIR, siemens, amps)
        eliminate(pattern, values, sources, 0, pattern.early)
        highest = float(np.abs(numbers["volts"]).sum(axis=0).max()) if "volts" in numbers else 0.0
        return cls(frame, batch, values, sources, siemens, amps, shares, 1.0 + highest)


def numbers_of(
    frame: Frame, batch: Batch, group: Group, rows: Rows, travel: Array, shares: Mapping[int, Array]
) -> Mapping[str, Array]:
    """Return the parameters of a group, each of shape (elements, rows); a slot's volts are the mean of its pulses."""
    network = frame.network
    columns: dict[str, list[Array]] = {}
    for member in group.members:
        element = network.elements[member]
        if is_moved(element):
            env: dict[str, Array] = {
                name: column[rows] for name, column in batch.values[element.part].items()
            }
            for i, given in enumerate(network.inputs):
                if given.part == element.part:
                    env[f"{given.spec.name}.travel"] = travel[i]
            curves = network.parts[element.part].kind.curves
            found = {n: np.broadcast_to(f(env, curves), rows.shape) for n, f in element.parameters.items()}
        else:
            found = {
                n: np.broadcast_to(column[rows] if column.ndim else column, rows.shape)
                for n, column in batch.parameters[member].items()
            }
        if element.slot is not None:
            found["volts"] = found["volts"] * shares[element.slot][rows]
        for name, column in found.items():
            columns.setdefault(name, []).append(column)
    return _stacked(frame, group, columns, len(rows))


def _stacked(frame: Frame, group: Group, columns: dict[str, list[Array]], rows: int) -> Mapping[str, Array]:
    """Stack parameters; resistances and sources share a group, so a missing `volts` is 0."""
    count = len(group)
    if count and len(columns.get("volts", ())) not in (0, count):
        volts = iter(columns["volts"])
        zero = np.zeros(rows)
        columns["volts"] = [
            next(volts) if frame.network.elements[m].primitive is Primitive.EMF else zero
            for m in group.members
        ]
    return {name: np.stack(arrays) for name, arrays in columns.items()}


def present_of(frame: Frame, batch: Batch, group: Group, rows: Rows, conditions: Flags) -> Flags:
    """Return where the elements of a group exist, shape (elements, rows)."""
    present = batch.present[group.members][:, rows]
    for i, member in enumerate(group.members):
        element = frame.network.elements[member]
        for c in element.when:
            present[i] &= conditions[c]
        for c in element.unless:
            present[i] &= ~conditions[c]
    return present


def source_branch(group: Group, numbers: Mapping[str, Array], present: Flags) -> tuple[Array, Array]:
    """Return conductance and source current of resistances and EMFs."""
    if not len(group):
        empty = np.zeros((0, present.shape[1]))
        return empty, empty
    siemens = np.where(present, 1.0 / np.maximum(numbers["ohm"], SMALLEST_OHM), 0.0)
    volts = numbers.get("volts")
    return siemens, np.zeros_like(siemens) if volts is None else -siemens * volts
