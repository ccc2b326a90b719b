"""Two independent faults at once: each hidden pair is hunted, what was found is mended, and the hunt goes on.

As in a dialogue, the second hunt knows nothing of what was answered before the repair: that was another boat.  It knows
what was mended, those repairs too that were made in vain before the right one of a verdict.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from assistant.circuit import Fault
from assistant.diagnosis import Diagnosis, Lately, RepairId
from assistant.drill.complaints import Breakdown, Complaints
from assistant.drill.hunting import Chooser, Hunt, hunt
from assistant.drill.virtual import VirtualBoat


@dataclass(frozen=True, slots=True, kw_only=True)
class PairResult:
    """Two faults and how the hunts for them went.

    Attributes
    ----------
    breakdowns : the two faults.
    hunts : one hunt, and a second one when the first found one of the faults.
    found : how many of the two were mended by a verdict that named their repair.
    """

    breakdowns: tuple[Breakdown, Breakdown]
    hunts: tuple[Hunt, ...]
    found: int


def pairs_of(every: Sequence[Breakdown], most: int, seed: int) -> tuple[tuple[Breakdown, Breakdown], ...]:
    """Return at most `most` pairs of faults at different places, drawn evenly over all faults that show."""
    random = Random(f"pairs {seed}")
    pairs: dict[tuple[int, int], tuple[Breakdown, Breakdown]] = {}
    for _ in range(20 * most):
        first, second = sorted(random.sample(range(len(every)), 2))
        one, two = every[first], every[second]
        if one.hypothesis.modes[0].part != two.hypothesis.modes[0].part and len(pairs) < most:
            pairs.setdefault((first, second), (one, two))
    return tuple(pairs.values())


def hunt_pair(
    diagnosis: Diagnosis,
    complaints: Complaints,
    pair: tuple[Breakdown, Breakdown],
    choose: Chooser,
    seed: int,
) -> PairResult:
    """Return how two faults are found one after the other.

    After a verdict whose repairs include one of the faults, that one is mended; then the boat is gone through once
    more, and the first sign that is not as it should be starts the second hunt.
    """
    one, two = pair

    def boat_with(faults: tuple[Fault, ...], number: int) -> VirtualBoat:
        random = Random(f"{seed}/{one.number}+{two.number}/{number}")
        return VirtualBoat(diagnosis.table.solver, faults, random, meter=diagnosis.meter)

    # What does not show, once the other is mended, nobody would miss.
    boat = boat_with((*one.faults, *two.faults), complaints.draw_that_shows(pair, boat_with))
    hunts: list[Hunt] = []
    mended: frozenset[RepairId] = frozenset()
    for _ in pair:
        complaint = complaints.first_amiss(boat)
        if complaint is None:
            break
        hunts.append(hunt(diagnosis, boat, complaint, choose, lately=Lately(mended=mended)))
        made = _mend_found(boat, pair, hunts[-1])
        if not made:
            break
        mended |= made
    return PairResult(
        breakdowns=pair,
        hunts=tuple(hunts),
        found=sum(not _still_there(boat, breakdown) for breakdown in pair),
    )


def _mend_found(boat: VirtualBoat, pair: Sequence[Breakdown], ended: Hunt) -> frozenset[RepairId]:
    """Mend the fault whose repair the verdict names, first of all the likeliest.

    Returns the repairs made until one was the right one; none when it was not among them.
    """
    if not ended.accuses:
        return frozenset()
    for number, repair in enumerate(ended.named, start=1):
        for breakdown in pair:
            if breakdown.hypothesis.repairs[0] == repair and _still_there(boat, breakdown):
                for mode in breakdown.hypothesis.modes:
                    boat.mend(mode.part)
                return frozenset(ended.named[:number])
    return frozenset()


def _still_there(boat: VirtualBoat, breakdown: Breakdown) -> bool:
    return breakdown.hypothesis.modes[0].part in {fault.part for fault in boat.faults}
