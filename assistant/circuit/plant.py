"""A crew made ready for solving: what nothing changes any more is eliminated once for all.

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
from assistant.circuit.crew import Crew
from assistant.circuit.elimination import eliminate
from assistant.circuit.frame import Frame
from assistant.circuit.network import is_moved
from assistant.circuit.stamps import Group

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

LEAK_S = 1e-9
"""What every node leaks to the reference: 1 GΩ of dry insulation (common practice, no source)."""

SMALLEST_OHM = 1e-5
"""Least resistance of an element, so that conductances stay within what numbers can bear."""


@dataclass(frozen=True, slots=True)
class Plant:
    """What a crew has in common with everything that does not change already eliminated.

    Rows of one variant whose settings by hand are alike share a column of `values`, `sources`, `siemens` and `amps`;
    `columns` are those of the rows.
    """

    frame: Frame
    crew: Crew
    columns: Rows
    values: Array
    sources: Array
    siemens: Array
    amps: Array
    highest_v: float

    @classmethod
    def of(cls, frame: Frame, crew: Crew) -> Plant:
        """Return the plant of a crew."""
        pattern, batch = frame.network.pattern, crew.batch
        pairs, columns = np.unique(crew.way * batch.size + crew.columns, return_inverse=True)
        way, variants = np.divmod(pairs, batch.size)
        values = np.zeros((pattern.entries, len(pairs)))
        sources = np.zeros((pattern.size, len(pairs)))
        values[[step.diagonal for step in pattern.steps]] = LEAK_S
        numbers = numbers_of(frame, batch, frame.fixed, variants, np.zeros((0, len(pairs))), {})
        present = present_of(frame, batch, frame.fixed, variants, crew.first_conditions(variants, way))
        siemens, amps = source_branch(frame.fixed, numbers, present)
        frame.fixed.stamp_branch(values, sources, siemens, amps)
        eliminate(pattern.steps[: pattern.early], values, sources)
        highest = float(np.abs(numbers["volts"]).sum(axis=0).max()) if "volts" in numbers else 0.0
        return cls(frame, crew, columns.reshape(-1), values, sources, siemens, amps, 1.0 + highest)


def numbers_of(
    frame: Frame, batch: Batch, group: Group, rows: Rows, travel: Array, shares: Mapping[int, Array]
) -> Mapping[str, Array]:
    """Return the parameters of a group, each of shape (elements, rows); a slot's volts are the mean of its pulses.

    Parameters
    ----------
    rows : columns of the batch.
    travel, shares : of each of these.
    """
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
            found["volts"] = found["volts"] * shares[element.slot]
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
    """Return where the elements of a group exist in some columns of the batch, shape (elements, rows)."""
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
