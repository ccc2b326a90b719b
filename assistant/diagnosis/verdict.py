"""How the hunt stands: which repairs are left, how sure, and whether more than one answer says so."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from assistant.diagnosis.belief import Belief
from assistant.diagnosis.model import Evidence, Outcome, RepairId, SignSeen, Suspect, Verdict
from assistant.diagnosis.table import FaultTable, cells_behind

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

SURE = 0.95
"""Probability at which one repair is named."""

STILL_SURE = 0.8
"""What must be left of it when any one answer is withdrawn (common practice, no source)."""

SETTLED = 0.97
"""Probability at which trouble that went with what was tried needs no further answer (common practice, no source)."""

STANDING = 0.2
"""How well the answers must fit a repair, compared with the best one, for it to stand (common practice, no source)."""

LIKELY = 0.05
"""Probability at which a repair stands whatever its fit."""

LOST = 0.5
"""Probability of *unknown* at which the tool says that it does not know."""


def suspects_of(table: FaultTable, belief: Belief) -> tuple[Suspect, ...]:
    """Return every repair in falling probability, with the fault modes behind it.

    A repair stands while the answers fit it nearly as well as the best one: dropping what the evidence still allows,
    only because it is rarer, is people's commonest error.
    """
    posterior = _by_hypothesis(table, belief.cells)
    groups: dict[int, list[int]] = {}
    for number, repair in enumerate(table.repair_of.tolist()):
        groups.setdefault(repair, []).append(number)
    stands = _stands(table, belief)
    suspects = [
        _suspect(table, posterior, repair, groups[n], stands=bool(stands[n]))
        for n, repair in enumerate(table.repairs)
        if repair is not None
    ]
    return tuple(sorted(suspects, key=lambda s: (-s.probability, s.repair)))


def _by_hypothesis(table: FaultTable, cells: Array) -> Array:
    return np.bincount(table.cells.owner, cells, len(table.hypotheses)).astype(np.float64)


def _by_repair(table: FaultTable, cells: Array) -> Array:
    """Return the probability of each repair, 0 for that nothing is wrong, given that of each cell."""
    masses = np.bincount(table.repair_of, _by_hypothesis(table, cells), len(table.repairs))
    return np.where([repair is None for repair in table.repairs], 0.0, masses)


def _stands(table: FaultTable, belief: Belief) -> Flags:
    """Tell of each repair whether the answers fit it nearly as well as the likeliest one, or it is likely anyway."""
    posterior = _by_repair(table, belief.cells)
    prior = _by_repair(table, belief.prior.sum(axis=1))
    fit = np.divide(posterior, prior, out=np.zeros_like(prior), where=prior > 0.0)
    return np.asarray((fit >= STANDING * fit[np.argmax(posterior)]) | (posterior >= LIKELY))


def _suspect(
    table: FaultTable, masses: Array, repair: RepairId, numbers: list[int], *, stands: bool
) -> Suspect:
    ranked = sorted(numbers, key=lambda n: -masses[n])
    return Suspect(
        repair=repair,
        probability=float(masses[numbers].sum()),
        modes=tuple(table.hypotheses[n].modes[0] for n in ranked),
        follow_ups=table.hypotheses[ranked[0]].repairs[1:],
        stands=stands,
    )


def healthy_mass(table: FaultTable, belief: Belief) -> float:
    """Return the probability that the boat is well."""
    return float(belief.cells[cells_behind(table, [None])].sum())


def leader(table: FaultTable, belief: Belief) -> tuple[RepairId | None, float]:
    """Return the likeliest repair (None: the boat is well) and its probability."""
    masses, healthy = _by_repair(table, belief.cells), healthy_mass(table, belief)
    most = float(masses.max())
    alike = [repair for repair, mass in zip(table.repairs, masses, strict=True) if repair and mass == most]
    return (min(alike), most) if most >= healthy else (None, healthy)


def weakest_link(
    table: FaultTable, belief: Belief, repairs: Collection[RepairId | None]
) -> tuple[int, float]:
    """Return the number of the answer on which some repairs rest most, and what is left of them without it.

    The belief must rest on one answer at least; None among the repairs stands for the healthy boat.
    """
    behind = cells_behind(table, repairs)
    left = [float(belief.without(i).cells[behind].sum()) for i in range(len(belief.evidence))]
    weakest = int(np.argmin(left))
    return weakest, left[weakest]


def is_confirmed(table: FaultTable, belief: Belief) -> bool:
    """Tell whether one repair is sure and stays likely when any one answer is withdrawn.

    What was seen before a trial and otherwise after it are two answers already: the trouble went with what was changed.
    A further trial is asked for only while another repair may well do.
    """
    top, mass = leader(table, belief)
    if mass < SURE or not belief.evidence:
        return False
    weakest, left = weakest_link(table, belief, [top])
    return left >= STILL_SURE or (
        top is not None and mass >= SETTLED and is_tried_out(belief.evidence, weakest)
    )


def is_tried_out(evidence: Sequence[Evidence], number: int) -> bool:
    """Tell whether an answer is a look after a trial, and a sign showed otherwise after some trial than before it."""
    looks = [piece for piece in evidence if isinstance(piece, SignSeen)]
    turned = any(
        set(before.levels).isdisjoint(after.levels)
        for after in looks
        for before in looks
        if after.query.after is not None and before.query == replace(after.query, after=None)
    )
    piece = evidence[number]
    return turned and isinstance(piece, SignSeen) and piece.query.after is not None


def standing_repairs(table: FaultTable, belief: Belief) -> frozenset[RepairId]:
    """Return the repairs that stand."""
    stands = _stands(table, belief)
    return frozenset(repair for repair, does in zip(table.repairs, stands, strict=True) if repair and does)


def two_faults(table: FaultTable, belief: Belief) -> tuple[float, tuple[RepairId, float] | None]:
    """Return the probability of two faults at once, and the likeliest repair beside the first with its own.

    The second is one of those that come with the likeliest repair, and its probability that among them.
    """
    seconds = [h.second for h in table.hypotheses]
    if not any(seconds):
        return 0.0, None
    masses = _by_hypothesis(table, belief.cells)
    top, _ = leader(table, belief)
    beside: dict[RepairId, float] = {}
    for hypothesis, second, mass in zip(table.hypotheses, seconds, masses.tolist(), strict=True):
        if second is not None and hypothesis.repairs[0] == top:
            beside[second] = beside.get(second, 0.0) + mass
    two = sum(mass for second, mass in zip(seconds, masses.tolist(), strict=True) if second is not None)
    likeliest = max(sorted(beside), key=lambda repair: beside[repair], default=None)
    return two, None if likeliest is None else (likeliest, beside[likeliest] / sum(beside.values()))


def verdict_of(
    table: FaultTable, belief: Belief, *, exhausted: bool, amiss: bool, caught: bool = True
) -> Verdict:
    """Return how the hunt stands.

    Parameters
    ----------
    exhausted : no step on offer would tell more.
    amiss : some answer is not what a healthy boat gives; without one no part is accused, however likely.
    caught : what comes and goes was met with while it was watched; what was only told of accuses no part either.
    """
    suspects = suspects_of(table, belief)
    top, mass = leader(table, belief)
    outcome = Outcome.OPEN
    if belief.unknown >= LOST:
        outcome = Outcome.UNKNOWN
    elif is_confirmed(table, belief) or exhausted:
        alone = mass >= SURE and sum(s.stands for s in suspects) == 1
        well = top is None or not amiss
        outcome = Outcome.HEALTHY if well else Outcome.SOLE if alone else Outcome.GROUP
        if not caught:
            outcome = Outcome.UNCAUGHT
    two, second = two_faults(table, belief)
    return Verdict(
        outcome=outcome,
        suspects=suspects,
        healthy=healthy_mass(table, belief),
        unknown=belief.unknown,
        two=two,
        second=second,
    )
