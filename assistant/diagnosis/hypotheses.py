"""Every story of what may be wrong, with its prior weight.

Each fault mode of each part, wire and joint is one hypothesis; its weight is the kind's proneness times the share of
the mode, drawn towards how often its family of causes was reported.  What is known about the boat's history then
raises weights: among field reports of such troubles, the thing last touched, moved or bought was guilty in about 30 of
93, so its places together are raised to that share.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import sqrt
from types import MappingProxyType

import numpy as np

from assistant.catalogue import Action, FaultSpec, Kind, Severity
from assistant.circuit import Network
from assistant.diagnosis.families import family_factors, family_of
from assistant.diagnosis.model import ALWAYS, Hypothesis, ModeAt, RepairId
from assistant.wiring import Boat

TOUCHED_SHARE = 30.0 / 93.0
"""Share of troubles found at what was last touched (field reports, n = 93, biased towards hard faults)."""

WET_SHARE = 0.3
"""Share of troubles that water itself makes, when it came in just before (common practice, no source)."""

REPLACED_KEEPS = 0.05
"""What is left of the weight of a part after it was replaced without cure: new ones can be bad too (common practice, no
source; in one of 93 field reports one of two new relays was)."""

MENDED_KEEPS = 0.005
"""What is left of the weight of a fault after its repair was made: this very work rarely fails, and what was put in is
new (common practice, no source)."""

HEALTHY_SHARE = 0.03
"""Prior share of boats that are well although someone complains (common practice, no source)."""

TIMES_THERE = (0.5 - 0.5 / sqrt(3.0), 0.5 + 0.5 / sqrt(3.0))
"""Shares of the time that a fault that comes and goes is there: any is as likely as any other, and these two, weighed
alike, stand for all of them exactly for up to three answers (Gauss-Legendre)."""

LADDER = 2
"""Steps of severity a decade."""

SEVERITY_STEPS_EVEN = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """What is known beforehand: parts or leads last touched, and repairs of earlier cases with their count."""

    touched: frozenset[str] = frozenset()
    past: Mapping[RepairId, int] = field(default_factory=lambda: MappingProxyType({}))


NO_HISTORY = History()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lately:
    """What happened to the boat just before, as far as told.

    Attributes
    ----------
    touched : parts and leads last touched, moved, swapped or bought.
    replaced : parts replaced by others of their kind, without cure.
    wet : whether water came in: rain, a capsize, a wave.
    mended : repairs that were made in this case.
    """

    touched: frozenset[str] = frozenset()
    replaced: frozenset[str] = frozenset()
    wet: bool = False
    mended: frozenset[RepairId] = frozenset()


NOTHING_LATELY = Lately()


def single_faults(network: Network, history: History = NO_HISTORY) -> tuple[Hypothesis, ...]:
    """Return the healthy boat first, then every single fault; weights sum to 1."""
    found = [
        _hypothesis(part, kind, fault)
        for part, kind in ((p.id, p.kind) for p in network.parts.values())
        for fault in kind.faults.values()
        if fault.follows is None and fault.share > 0.0
    ]
    found = _as_reported(network, found)
    found = _weighed(found, network.boat, history)
    total = sum(h.weight for h in found) or 1.0
    healthy = Hypothesis(modes=(), repairs=(), severities=(0.0,), weight=HEALTHY_SHARE)
    return (healthy, *(replace(h, weight=h.weight * (1.0 - HEALTHY_SHARE) / total) for h in found))


def _hypothesis(part: str, kind: Kind, fault: FaultSpec) -> Hypothesis:
    shares = sum(f.share for f in kind.faults.values() if f.follows is None)
    severities = severity_grid(fault.severity)
    return Hypothesis(
        modes=(ModeAt(part=part, mode=fault.name),),
        repairs=(RepairId(place=part, action=fault.action),),
        severities=severities,
        sides=sides_of(severities, fault.severity),
        weight=kind.weight * fault.share / shares,
        there=TIMES_THERE if fault.intermittent else ALWAYS,
    )


def severity_grid(severity: Severity | None) -> tuple[float, ...]:
    """Return the severities at which a fault mode is simulated, evenly or log-evenly over its range.

    Log-even steps are those of one ladder for all modes (1, 3.16, 10 ...), so that a wire and the joint at its end, a
    fuse and its clip, are compared at equal ohms.

    >>> from assistant.quantities import Unit
    >>> [round(s, 2) for s in severity_grid(Severity(unit=Unit.OHM, low=0.5, high=20.0, log=True))]
    [1.0, 3.16, 10.0]
    """
    if severity is None:
        return (0.0,)
    if not severity.log:
        return tuple(float(s) for s in np.linspace(severity.low, severity.high, SEVERITY_STEPS_EVEN))
    first = int(np.ceil(LADDER * np.log10(severity.low) - 1e-9))
    last = int(np.floor(LADDER * np.log10(severity.high) + 1e-9))
    if first > last:
        return (float(np.sqrt(severity.low * severity.high)),)
    return tuple(float(10.0 ** (n / LADDER)) for n in range(first, last + 1))


def sides_of(severities: tuple[float, ...], severity: Severity | None) -> tuple[tuple[float, float], ...]:
    """Return how far below and above itself each of some severities (ascending) is the nearest, within their range.

    Severities spread evenly over their range, or over its logarithm; both are in that measure.

    >>> from assistant.quantities import Unit
    >>> ladder = Severity(unit=Unit.OHM, low=1.0, high=100.0, log=True)
    >>> [(round(b, 2), round(a, 2)) for b, a in sides_of((1.0, 10.0, 100.0), ladder)]
    [(0.0, 1.15), (1.15, 1.15), (1.15, 0.0)]
    """
    if severity is None:
        return ()
    at, ends = np.array(severities), np.array([severity.low, severity.high])
    if severity.log:
        at, ends = np.log(at), np.log(ends)
    limits = np.concatenate([ends[:1], 0.5 * (at[:-1] + at[1:]), ends[1:]])
    return tuple(zip((at - limits[:-1]).tolist(), (limits[1:] - at).tolist(), strict=True))


def _as_reported(network: Network, found: Sequence[Hypothesis]) -> list[Hypothesis]:
    """Return the hypotheses with each family of causes drawn towards how often it was reported."""
    kinds = [(network.parts[h.modes[0].part].kind, h.modes[0].mode) for h in found]
    families = [family_of(kind, kind.faults[mode]) for kind, mode in kinds]
    factors = family_factors(families, [h.weight for h in found])
    return [replace(h, weight=h.weight * factors.get(f, 1.0)) for h, f in zip(found, families, strict=True)]


def _weighed(found: Sequence[Hypothesis], boat: Boat, history: History) -> list[Hypothesis]:
    """Return the hypotheses with weights raised by the boat's own past and by what was touched last."""
    raised = [replace(h, weight=h.weight * (1.0 + history.past.get(h.repairs[0], 0))) for h in found]
    if not history.touched:
        return raised
    factors = raised_by(raised, boat, Lately(touched=history.touched))
    return [replace(h, weight=h.weight * factor) for h, factor in zip(raised, factors, strict=True)]


def raised_by(found: Sequence[Hypothesis], boat: Boat, lately: Lately) -> tuple[float, ...]:
    """Return by what each weight is raised or lowered because of what happened lately.

    The faults at the places last touched together get `TOUCHED_SHARE` of the whole, those that water brings get
    `WET_SHARE`, unless they had more before.  A part that was replaced without cure keeps `REPLACED_KEEPS` of its own,
    what was mended already `MENDED_KEEPS`.
    """
    factors = [REPLACED_KEEPS if _is_in(h, lately.replaced) else 1.0 for h in found]
    if lately.touched or lately.replaced:
        near = places_near(boat, lately.touched | lately.replaced) - lately.replaced
        _raise(found, factors, [_is_in(h, near) for h in found], TOUCHED_SHARE)
    if lately.wet:
        _raise(
            found, factors, [h.repairs[:1] and h.repairs[0].action is Action.DRY for h in found], WET_SHARE
        )
    kept = [MENDED_KEEPS if lately.mended.intersection(h.repairs[:1]) else 1.0 for h in found]
    return tuple(factor * keeps for factor, keeps in zip(factors, kept, strict=True))


def _raise(found: Sequence[Hypothesis], factors: list[float], chosen: Sequence[object], share: float) -> None:
    """Raise the factors of the chosen hypotheses so far that together they have this share of the weight."""
    weights = [h.weight * factor for h, factor in zip(found, factors, strict=True)]
    inside = sum(w for w, one in zip(weights, chosen, strict=True) if one)
    outside = sum(weights) - inside
    if 0.0 < inside < share * (inside + outside):
        by = share / (1.0 - share) * outside / inside
        factors[:] = [f * by if one else f for f, one in zip(factors, chosen, strict=True)]


def _is_in(hypothesis: Hypothesis, places: frozenset[str]) -> bool:
    return bool(hypothesis.modes) and hypothesis.modes[0].part in places


def places_near(boat: Boat, touched: frozenset[str]) -> frozenset[str]:
    """Return the touched parts and leads with the leads and joints that end at them."""
    near = set(touched)
    for lead in boat.leads.values():
        if lead.id in touched:
            near.update((f"{lead.id}@1", f"{lead.id}@2"))
        for number, end in enumerate(lead.ends, start=1):
            if end.part in touched:
                near.update((lead.id, f"{lead.id}@{number}"))
    return frozenset(near)
