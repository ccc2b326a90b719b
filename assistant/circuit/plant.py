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
    def of(cls, frame: Frame, crew: Crew, *, whole: bool = False) -> Plant:
        """Return the plant of a crew; `whole` leaves out the elimination."""
        pattern, batch = frame.pattern, crew.batch
        pairs, columns = np.unique(crew.way * batch.size + crew.columns, return_inverse=True)
        way, variants = np.divmod(pairs, batch.size)
        values = np.zeros((pattern.entries, len(pairs)))
        sources = np.zeros((pattern.size, len(pairs)))
        values[[step.diagonal for step in pattern.steps]] = LEAK_S
        numbers = numbers_of(frame, batch, frame.fixed, variants, np.zeros((0, len(pairs))), {})
        present = present_of(batch, frame.fixed, variants, crew.first_conditions(variants, way))
        siemens, amps = source_branch(frame.fixed, numbers, present)
        frame.fixed.stamp_branch(values, sources, siemens, amps)
        if not whole:
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
    columns: dict[str, list[Array]] = {}
    for member in group.members:
        for name, column in numbers_of_one(batch, member, rows, travel, shares).items():
            columns.setdefault(name, []).append(column if np.ndim(column) else np.full(len(rows), column))
    return _stacked(frame, group, columns, len(rows))


def numbers_of_one(
    batch: Batch, member: int, rows: Rows, travel: Array, shares: Mapping[int, Array]
) -> Mapping[str, Array]:
    """Return the parameters of one element, each of shape (rows,) or (); the rest as for `numbers_of`."""
    network = batch.network
    element = network.elements[member]
    if is_moved(element):
        names = frozenset[str]().union(*(formula.names for formula in element.parameters.values()))
        env = {name: column[rows] for name, column in batch.values[element.part].items() if name in names}
        for i, given in enumerate(network.inputs):
            if given.part == element.part:
                env[f"{given.spec.name}.travel"] = travel[i]
        curves = network.parts[element.part].kind.curves
        found = {name: formula(env, curves) for name, formula in element.parameters.items()}
    else:
        found = {
            name: column[rows] if column.ndim else column for name, column in batch.parameters[member].items()
        }
    if element.slot is not None:
        found["volts"] = found["volts"] * shares[element.slot]
    return found


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


def present_of(batch: Batch, group: Group, rows: Rows, conditions: Flags) -> Flags:
    """Return where the elements of a group exist in some columns of the batch, shape (elements, rows)."""
    present = np.zeros((len(group), len(rows)), dtype=np.bool_)
    for place, member in enumerate(group.members):
        present[place] = present_of_one(batch, member, rows, conditions)
    return present


def present_of_one(batch: Batch, member: int, rows: Rows, conditions: Flags) -> Flags:
    """Return where one element exists in some columns of the batch, shape (rows,)."""
    element = batch.network.elements[member]
    present = batch.present[member, rows]
    for c in element.when:
        present &= conditions[c]
    for c in element.unless:
        present &= ~conditions[c]
    return np.asarray(present)


def source_branch(group: Group, numbers: Mapping[str, Array], present: Flags) -> tuple[Array, Array]:
    """Return conductance and source current of resistances and EMFs."""
    if not len(group):
        empty = np.zeros((0, present.shape[1]))
        return empty, empty
    siemens = np.where(present, 1.0 / np.maximum(numbers["ohm"], SMALLEST_OHM), 0.0)
    volts = numbers.get("volts")
    return siemens, np.zeros_like(siemens) if volts is None else -siemens * volts
