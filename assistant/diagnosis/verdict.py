"""How the hunt stands: which repairs are left, how sure, and whether more than one answer says so."""

from __future__ import annotations

import numpy as np

from assistant.diagnosis.belief import Belief
from assistant.diagnosis.model import Outcome, RepairId, Suspect, Verdict
from assistant.diagnosis.table import FaultTable

SURE = 0.95
"""Probability at which one repair is named."""

STILL_SURE = 0.8
"""What must be left of it when any one answer is withdrawn (common practice, no source)."""

LOST = 0.5
"""Probability of *unknown* at which the tool says that it does not know."""


def suspects_of(table: FaultTable, belief: Belief) -> tuple[Suspect, ...]:
    """Return every repair in falling probability, with the fault modes behind it."""
    masses = np.bincount(table.cells.owner, weights=belief.cells, minlength=len(table.hypotheses))
    groups: dict[RepairId, list[int]] = {}
    for number, hypothesis in enumerate(table.hypotheses):
        if hypothesis.repairs:
            groups.setdefault(hypothesis.repairs[0], []).append(number)
    suspects = [_suspect(table, masses, repair, numbers) for repair, numbers in groups.items()]
    return tuple(sorted(suspects, key=lambda s: (-s.probability, s.repair)))


def _suspect(table: FaultTable, masses: np.ndarray, repair: RepairId, numbers: list[int]) -> Suspect:
    ranked = sorted(numbers, key=lambda n: -masses[n])
    likeliest = table.hypotheses[ranked[0]]
    return Suspect(
        repair=repair,
        probability=float(masses[numbers].sum()),
        modes=tuple(table.hypotheses[n].modes[0] for n in ranked),
        follow_ups=likeliest.repairs[1:],
    )


def healthy_mass(table: FaultTable, belief: Belief) -> float:
    """Return the probability that the boat is well."""
    healthy = [n for n, h in enumerate(table.hypotheses) if not h.modes]
    return float(belief.cells[np.isin(table.cells.owner, healthy)].sum())


def _top_mass(table: FaultTable, belief: Belief, repair: RepairId | None) -> float:
    if repair is None:
        return healthy_mass(table, belief)
    behind = [n for n, h in enumerate(table.hypotheses) if h.repairs[:1] == (repair,)]
    return float(belief.cells[np.isin(table.cells.owner, behind)].sum())


def leader(table: FaultTable, belief: Belief) -> tuple[RepairId | None, float]:
    """Return the likeliest repair (None: the boat is well) and its probability."""
    first = suspects_of(table, belief)[0]
    healthy = healthy_mass(table, belief)
    return (first.repair, first.probability) if first.probability >= healthy else (None, healthy)


def weakest_link(table: FaultTable, belief: Belief) -> int:
    """Return the number of the answer on which the leader rests most."""
    top, _ = leader(table, belief)
    left = [_top_mass(table, belief.without(i), top) for i in range(len(belief.evidence))]
    return int(np.argmin(left))


def is_confirmed(table: FaultTable, belief: Belief) -> bool:
    """Tell whether one repair is sure and stays likely when any one answer is withdrawn."""
    top, mass = leader(table, belief)
    if mass < SURE or not belief.evidence:
        return False
    return _top_mass(table, belief.without(weakest_link(table, belief)), top) >= STILL_SURE


def verdict_of(table: FaultTable, belief: Belief, *, exhausted: bool) -> Verdict:
    """Return how the hunt stands; `exhausted` when no step on offer would tell more."""
    suspects = suspects_of(table, belief)
    top, mass = leader(table, belief)
    confirmed = is_confirmed(table, belief)
    outcome = Outcome.OPEN
    if belief.unknown >= LOST:
        outcome = Outcome.UNKNOWN
    elif confirmed or (exhausted and mass >= SURE):
        outcome = Outcome.HEALTHY if top is None else Outcome.SOLE
    elif exhausted:
        outcome = Outcome.HEALTHY if top is None else Outcome.GROUP
    return Verdict(
        outcome=outcome, suspects=suspects, healthy=healthy_mass(table, belief), unknown=belief.unknown
    )
