"""What nothing on offer tells apart, and what would: the pairs of repairs that verdicts leave standing together.

For each pair that no step separates, every terminal of the boat is tried as a test point, sealed ones too, and then the
exchange of a part by one known to be good.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from assistant.catalogue import Reach
from assistant.circuit import BoatState, Measurement, MeterFunction
from assistant.diagnosis import Diagnosis, RepairId
from assistant.diagnosis.choose import Field, duel_field, reading_gains
from assistant.drill.hunting import Hunt
from assistant.wiring import Point, points_of, reach_of

TOLD_APART = 0.5
"""Bits about which of two even stories holds, from which a step counts as telling them apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Confusion:
    """Two repairs that no step on offer tells apart.

    Attributes
    ----------
    first, second : the repairs, `first` being that of a hidden fault.
    hunts : in how many hunts both were left.
    test_point : a sealed point where a reading would tell them apart, if it could be reached; None when none would.
    """

    first: RepairId
    second: RepairId
    hunts: int
    test_point: Point | None


def rivals_of(hunt: Hunt, truth: RepairId) -> tuple[RepairId, ...]:
    """Return the wrong repairs that a verdict leaves beside the right one."""
    return tuple(repair for repair in hunt.named if repair != truth)


def is_told_apart(
    diagnosis: Diagnosis, hunt: Hunt, truth: RepairId, rival: RepairId, states: Sequence[BoatState]
) -> bool:
    """Tell whether some step on offer tells the likeliest stories behind two repairs apart."""
    field = _duel(diagnosis, hunt, truth, rival)
    offers = diagnosis.offers(states).all(field, states[0], None)
    return any(offer.gain_bits >= TOLD_APART for offer in offers)


def confusions(
    diagnosis: Diagnosis, hunts: Iterable[tuple[Hunt, RepairId]], states: Sequence[BoatState]
) -> tuple[Confusion, ...]:
    """Return every pair left together that no step on offer tells apart, the most frequent first.

    Parameters
    ----------
    hunts : with the repair of their hidden fault each.
    """
    seen: dict[tuple[RepairId, RepairId], list[Hunt]] = {}
    for hunt, truth in hunts:
        for rival in rivals_of(hunt, truth) if truth in hunt.named else ():
            seen.setdefault((truth, rival), []).append(hunt)
    found = [
        Confusion(
            first=truth,
            second=rival,
            hunts=len(left),
            test_point=_sealed_point(diagnosis, left[0], truth, rival, states),
        )
        for (truth, rival), left in seen.items()
        if not is_told_apart(diagnosis, left[0], truth, rival, states)
    ]
    return tuple(sorted(found, key=lambda c: (-c.hunts, c.first, c.second)))


def _duel(diagnosis: Diagnosis, hunt: Hunt, truth: RepairId, rival: RepairId) -> Field:
    return duel_field(diagnosis.table, diagnosis.single_belief(hunt.evidence), truth, rival)


def _sealed_point(
    diagnosis: Diagnosis, hunt: Hunt, truth: RepairId, rival: RepairId, states: Sequence[BoatState]
) -> Point | None:
    """Return a sealed point where a reading tells enough: one of the two places if any, else that which tells most."""
    field = _duel(diagnosis, hunt, truth, rival)
    told: dict[Point, float] = {}
    for state in states if MeterFunction.DC_VOLTS in diagnosis.meter.functions else ():
        offered = list(_sealed_readings(diagnosis, state))
        for reading, gain in zip(offered, reading_gains(diagnosis.table, field, offered), strict=True):
            told[reading.red] = max(float(gain), told.get(reading.red, 0.0))
    near = {place.partition("@")[0] for place in (truth.place, rival.place)}
    enough = [point for point, gain in told.items() if gain >= TOLD_APART]
    return max(enough, key=lambda point: (point.part in near, told[point]), default=None)


def _sealed_readings(diagnosis: Diagnosis, state: BoatState) -> Iterator[Measurement]:
    boat = diagnosis.network.boat
    every = sorted(points_of(boat))
    for red in every:
        if reach_of(boat, red) is Reach.SEALED:
            for black in every:
                if black != red:
                    yield Measurement(function=MeterFunction.DC_VOLTS, red=red, black=black, state=state)
