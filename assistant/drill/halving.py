"""The textbook way for comparison: halve the number of suspects with each reading, whatever their weight.

A suspect counts as long as the answers allow it; a reading's outcome is no more than *as expected* or not.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from assistant.circuit import BoatState, Measurement
from assistant.diagnosis import Belief, Diagnosis, RepairId, Step, StepKind
from assistant.diagnosis.candidates import probe_pairs, readings
from assistant.diagnosis.verdict import standing_repairs
from assistant.drill.hunting import Chooser


def halving_chooser(diagnosis: Diagnosis, states: Sequence[BoatState]) -> Chooser:
    """Return the choice of the reading that comes nearest to halving the number of suspects left."""
    table = diagnosis.table
    boat = table.solver.network.boat
    pairs = probe_pairs(table.solver.network)
    offers = [m for s in states for m in readings(pairs, boat, s, diagnosis.meter)]

    def choose(belief: Belief, state: BoatState, last: Measurement | None) -> Step | None:
        del state, last
        standing = standing_repairs(table, belief)
        asked = {e.measurement for e in belief.evidence if hasattr(e, "measurement")}
        cells = _representatives(diagnosis, belief, standing)
        best, evenness = None, 0
        for there in states:
            offered = [m for m in offers if m.state == there and m not in asked]
            if not offered:
                continue
            values = table.state(there).shown(offered, cells).values.mean(axis=2)
            for measurement, row in zip(offered, values, strict=True):
                band = diagnosis.band(measurement)
                inside = int(((row >= band.low) & (row <= band.high)).sum())
                if min(inside, len(cells) - inside) > evenness:
                    best, evenness = measurement, min(inside, len(cells) - inside)
        if best is None:
            return None
        return Step(
            kind=StepKind.READ,
            measurement=best,
            band=diagnosis.band(best),
            query=None,
            levels={},
            gain_bits=0.0,
            seconds=0.0,
        )

    return choose


def _representatives(diagnosis: Diagnosis, belief: Belief, standing: frozenset[RepairId]) -> np.ndarray:
    """Return the heaviest cell of each standing repair, in the order of the table."""
    table = diagnosis.table
    masses = belief.cells
    heaviest: dict[RepairId, int] = {}
    for cell, owner in enumerate(table.cells.owner):
        repairs = table.hypotheses[owner].repairs
        if repairs and repairs[0] in standing:
            known = heaviest.get(repairs[0])
            if known is None or masses[cell] > masses[known]:
                heaviest[repairs[0]] = cell
    return np.array(sorted(heaviest.values()), dtype=np.intp)
