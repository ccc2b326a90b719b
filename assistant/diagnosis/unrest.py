"""How fast a suspect would make something rattle or restart, to be held against what is seen and heard."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from assistant.circuit import BoatState
from assistant.diagnosis.belief import Belief
from assistant.diagnosis.model import RepairId, SignQuery
from assistant.diagnosis.table import FaultTable, cells_behind
from assistant.diagnosis.verdict import suspects_of
from assistant.quantities import how_often
from assistant.wiring import Boat, label_of

_MOST = 3
_LEAST_SHARE = 0.02
"""Probability below which a repair is left out of what is told."""

_APART = 2.0
"""By what factor two rates must differ to be told apart without a watch (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unrest:
    """What goes off and comes back for ever: the parts, and how long one turn takes (s)."""

    parts: tuple[str, ...]
    turn_s: float


def unrest_of(table: FaultTable, belief: Belief, repair: RepairId, state: BoatState) -> Unrest | None:
    """Return what the likeliest boat with a repair to be made does in a boat state, None where it comes to rest."""
    behind = cells_behind(table, [repair])
    if not behind.any():
        return None
    column = int(np.argmax(belief.variants * behind[:, None]))
    solver, survey = table.solver, table.state(state).survey
    variant, cells = table.cells.variants[column], table.cells
    turn_s = float(solver.turns_s(survey, [variant], np.array([column]), draws=cells.tolerances)[0])
    if np.isnan(turn_s):
        return None
    turning = np.flatnonzero(survey.restless[:, column])
    parts = dict.fromkeys(solver.network.conditions[c].part for c in turning)
    return Unrest(parts=tuple(parts), turn_s=turn_s)


def why_rate(table: FaultTable, belief: Belief, query: SignQuery, boat: Boat) -> str:
    """Return a sentence on the rates at which suspects would let a part rattle or restart; none where none does."""
    spec = table.solver.network.parts[query.part].kind.signs[query.sign]
    if not spec.restless_level or query.after is not None:
        return ""
    found = sorted(_rates(table, belief, query), key=lambda rate: rate[1])
    if not found:
        return ""
    if found[-1][1] < _APART * found[0][1]:
        return f"Over and over would be {how_often(found[0][1])}."
    told = "; ".join(f"{how_often(turn_s)} by {label_of(boat, repair.place)}" for repair, turn_s in found)
    return f"If it goes on and off over and over, how often tells too: {told}."


def _rates(table: FaultTable, belief: Belief, query: SignQuery) -> Iterator[tuple[RepairId, float]]:
    leading = [s for s in suspects_of(table, belief) if s.probability >= _LEAST_SHARE][:_MOST]
    for suspect in leading:
        unrest = unrest_of(table, belief, suspect.repair, query.state)
        if unrest is not None and query.part in unrest.parts:
            yield suspect.repair, unrest.turn_s


def unrest_seen(
    table: FaultTable, belief: Belief, repair: RepairId, states: Sequence[BoatState]
) -> Unrest | None:
    """Return what a repair's fault keeps going on and off, in the last of some boat states where it does."""
    for state in reversed(states):
        unrest = unrest_of(table, belief, repair, state)
        if unrest is not None:
            return unrest
    return None
