"""What one fault does to another part: a stalled pump blows its fuse, a shorted servo cooks a regulator.

The boat is simulated with each fault while everything works; where more current flows than a part bears, the story in
which that part has given way is added.  Causes come first in a story, their consequences after.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Overload
from assistant.circuit import Network, Solver, Variant, working_states
from assistant.circuit.batch import PartValues
from assistant.diagnosis.model import Hypothesis, ModeAt, RepairId
from assistant.diagnosis.stories import faults_of

Flags = NDArray[np.bool_]

GIVES_WAY = 0.7
"""Chance that a part has given way where it is overloaded (common practice, no source)."""

_ONLY_RESISTS = ("wire", "joint")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Weak:
    """A part that can give way: its fault mode, what watches it, and its repair."""

    mode: ModeAt
    element: int
    overload: Overload
    repair: RepairId


def with_consequences(solver: Solver, hypotheses: Sequence[Hypothesis]) -> tuple[Hypothesis, ...]:
    """Return the hypotheses and, behind them, those in which something has given way to the fault.

    The weight of a story is shared between it and its consequence.  Wires and joints that resist cannot overload
    anything and are left out.
    """
    network = solver.network
    weak = tuple(_weak_parts(network))
    suspects = [n for n, h in enumerate(hypotheses) if h.modes and _may_overload(network, h)]
    if not weak or not suspects:
        return tuple(hypotheses)
    cells = [(n, s) for n in suspects for s in hypotheses[n].severities]
    variants = [Variant(faults=faults_of(network, hypotheses[n], s)) for n, s in cells]
    given = _gives_way(solver, weak, variants)
    kept = list(hypotheses)
    added: list[Hypothesis] = []
    columns_of: dict[int, list[int]] = {}
    for column, (number, _) in enumerate(cells):
        columns_of.setdefault(number, []).append(column)
    for number, columns in columns_of.items():
        for w, part in enumerate(weak):
            gone = [i for i in range(len(columns)) if given[w, columns[i]]]
            if not gone or part.mode.part == hypotheses[number].modes[0].part:
                continue
            share = GIVES_WAY * sum(hypotheses[number].shares[i] for i in gone)
            added.append(_followed(hypotheses[number], part, gone, share))
            kept[number] = replace(kept[number], weight=kept[number].weight * (1.0 - share))
    return (*kept, *added)


def _may_overload(network: Network, hypothesis: Hypothesis) -> bool:
    return all(network.parts[m.part].kind.group not in _ONLY_RESISTS for m in hypothesis.modes)


def _weak_parts(network: Network) -> Iterator[_Weak]:
    numbers: dict[tuple[str, str], list[int]] = {}
    for number, element in enumerate(network.elements):
        numbers.setdefault((element.part, element.name), []).append(number)
    for part in network.parts.values():
        for fault in part.kind.faults.values():
            if fault.follows is None:
                continue
            for number in numbers.get((part.id, fault.follows.element), ()):
                yield _Weak(
                    mode=ModeAt(part=part.id, mode=fault.name),
                    element=number,
                    overload=fault.follows,
                    repair=RepairId(place=part.id, action=fault.action),
                )


def _gives_way(solver: Solver, weak: Sequence[_Weak], variants: Sequence[Variant]) -> Flags:
    """Return which weak part gives way in which variant, shape (weak, variants)."""
    given = np.zeros((len(weak), len(variants)), dtype=np.bool_)
    of_parts = PartValues(solver.network, variants, 0)
    limits = []
    for part in weak:
        curves = solver.network.parts[part.mode.part].kind.curves
        limits.append(part.overload.above(of_parts.of(part.mode.part), curves))
    for solution in solver.survey_each(working_states(solver.network.boat), variants):
        for w, part in enumerate(weak):
            moments = (solution.phase.amps_of(part.element), solution.other.amps_of(part.element))
            given[w] |= (np.abs(moments).max(axis=0) > limits[w]) & ~solution.failed
    return given


def _followed(cause: Hypothesis, weak: _Weak, gone: Sequence[int], share: float) -> Hypothesis:
    """Return the story in which a part has given way at some of the severities of its cause."""
    return Hypothesis(
        modes=(*cause.modes, weak.mode),
        repairs=(*cause.repairs, weak.repair),
        severities=tuple(cause.severities[i] for i in gone),
        sides=tuple(cause.sides[i] for i in gone) if cause.sides else (),
        weight=cause.weight * share,
    )
