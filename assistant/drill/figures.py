"""The figures of a proof: how many faults were found, with how many readings, and how far that is from the best.

Means are weighted by prior; shares are of the number of faults.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from assistant.circuit import BoatState
from assistant.diagnosis import Diagnosis, Outcome, SignSeen
from assistant.diagnosis.bounds import huffman_bound
from assistant.diagnosis.verdict import suspects_of
from assistant.drill.complaints import Breakdown
from assistant.drill.confusion import Confusion, confusions, is_told_apart, rivals_of
from assistant.drill.hunting import Hunt
from assistant.drill.optimum import TooLargeError, fewest_steps, greedy_steps, puzzle_of
from assistant.drill.pairs import PairResult

_MOST_OUTCOMES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """A breakdown and how its hunt went."""

    breakdown: Breakdown
    hunt: Hunt
    halving: Hunt | None

    @property
    def found(self) -> bool:
        """Tell whether the right repair is in the verdict."""
        return self.hunt.accuses and self.breakdown.hypothesis.repairs[0] in self.hunt.named

    @property
    def alone(self) -> bool:
        """Tell whether the right repair is the only one in the verdict."""
        return self.found and len(self.hunt.named) == 1


@dataclass(frozen=True, slots=True, kw_only=True)
class SignFigures:
    """Faults complained about by one sign of one part: how many, the share found, and mean readings (unweighted)."""

    part: str
    sign: str
    faults: int
    found: float
    mean_readings: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """Figures of a boat.

    Means are weighted by prior; shares are of the number of faults.  None stands for what was not measured.

    Attributes
    ----------
    faults : hidden faults hunted; pairs of them, when pairs were hidden.
    found : share with the right repair in the verdict; of pairs, with both found one after the other.
    separable : faults that end alone, or whose rivals in the verdict some step on offer would have told apart.
    sole : share of the separable ones that end alone.
    mean_readings, mean_looks, mean_wiggles, mean_seconds : to the verdict; of pairs, over both hunts.
    lower_bound : Huffman bound on mean steps over what the complaints leave.
    over_optimum : mean steps of the rule of choice over those of the exact optimum, both without noise and without a
        confirming answer, over the `optimum_faults` faults whose complaint leaves a puzzle small enough.
    false_accusations : of `healthy_hunts` boats without a fault.
    healthy_mean_readings, healthy_mean_looks, healthy_mean_seconds : until these are called well.
    by_sign : the figures by the sign complained about.
    """

    boat: str
    faults: int
    found: float
    found_weighted: float
    sole: float | None
    separable: int | None
    mean_readings: float
    mean_looks: float
    mean_wiggles: float
    worst_readings: int
    mean_seconds: float
    half_split_mean_readings: float | None
    lower_bound: float | None
    over_optimum: float | None
    optimum_faults: int
    false_accusations: int
    healthy_hunts: int
    healthy_mean_readings: float | None
    healthy_mean_looks: float | None
    healthy_mean_seconds: float | None
    unknown: int
    step_ms: float
    by_sign: tuple[SignFigures, ...]
    confusions: tuple[Confusion, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What the figures of singles and of pairs have in common.

    Attributes
    ----------
    states : boat states that the hunts used.
    healthy : hunts on boats without a fault.
    step_ms : median time of a step.
    """

    diagnosis: Diagnosis
    states: Sequence[BoatState]
    healthy: Sequence[Hunt]
    step_ms: float


def report_of(frame: Frame, results: Sequence[Result]) -> Report:
    """Return the figures of single faults (at least one)."""
    diagnosis, states = frame.diagnosis, frame.states
    weights = _shares([r.breakdown.weight for r in results])
    halved = [r.halving.readings for r in results if r.halving is not None]
    separable = [r for r in results if r.alone or _is_separable(diagnosis, r, states)]
    ratio, solved = _over_optimum(frame, results)
    return Report(
        boat=diagnosis.network.boat.name,
        faults=len(results),
        found=float(np.mean([r.found for r in results])),
        found_weighted=_mean(weights, [r.found for r in results]),
        sole=float(np.mean([r.alone for r in separable])) if separable else None,
        separable=len(separable),
        mean_readings=_mean(weights, [r.hunt.readings for r in results]),
        mean_looks=_mean(weights, [r.hunt.looks for r in results]),
        mean_wiggles=_mean(weights, [r.hunt.wiggles for r in results]),
        worst_readings=max(r.hunt.readings for r in results),
        mean_seconds=_mean(weights, [r.hunt.seconds for r in results]),
        half_split_mean_readings=_mean(weights, halved) if halved else None,
        lower_bound=_mean(weights, [_bound(diagnosis, r) for r in results]),
        over_optimum=ratio,
        optimum_faults=solved,
        false_accusations=sum(h.accuses for h in frame.healthy),
        healthy_hunts=len(frame.healthy),
        healthy_mean_readings=_plain_mean(h.readings for h in frame.healthy),
        healthy_mean_looks=_plain_mean(h.looks for h in frame.healthy),
        healthy_mean_seconds=_plain_mean(h.seconds for h in frame.healthy),
        unknown=sum(r.hunt.verdict.outcome is Outcome.UNKNOWN for r in results),
        step_ms=frame.step_ms,
        by_sign=_by_sign(results),
        confusions=confusions(
            diagnosis, [(r.hunt, r.breakdown.hypothesis.repairs[0]) for r in results], states
        ),
    )


def pairs_report_of(frame: Frame, results: Sequence[PairResult]) -> Report:
    """Return the figures of pairs of faults (at least one)."""
    weights = _shares([r.breakdowns[0].weight * r.breakdowns[1].weight for r in results])
    both = [r.found == len(r.breakdowns) for r in results]
    readings = [sum(h.readings for h in r.hunts) for r in results]
    return Report(
        boat=frame.diagnosis.network.boat.name,
        faults=len(results),
        found=float(np.mean(both)),
        found_weighted=_mean(weights, both),
        sole=None,
        separable=None,
        mean_readings=_mean(weights, readings),
        mean_looks=_mean(weights, [sum(h.looks for h in r.hunts) for r in results]),
        mean_wiggles=_mean(weights, [sum(h.wiggles for h in r.hunts) for r in results]),
        worst_readings=max(readings),
        mean_seconds=_mean(weights, [sum(h.seconds for h in r.hunts) for r in results]),
        half_split_mean_readings=None,
        lower_bound=None,
        over_optimum=None,
        optimum_faults=0,
        false_accusations=sum(h.accuses for h in frame.healthy),
        healthy_hunts=len(frame.healthy),
        healthy_mean_readings=_plain_mean(h.readings for h in frame.healthy),
        healthy_mean_looks=_plain_mean(h.looks for h in frame.healthy),
        healthy_mean_seconds=_plain_mean(h.seconds for h in frame.healthy),
        unknown=sum(any(h.verdict.outcome is Outcome.UNKNOWN for h in r.hunts) for r in results),
        step_ms=frame.step_ms,
        by_sign=(),
        confusions=(),
    )


def _shares(weights: Sequence[float]) -> np.ndarray:
    return np.asarray(weights, dtype=np.float64) / float(sum(weights))


def _mean(weights: np.ndarray, values: Sequence[float]) -> float:
    return float(weights @ np.array(values, dtype=np.float64))


def _plain_mean(values: Iterable[float]) -> float | None:
    every = list(values)
    return float(np.mean(every)) if every else None


def _is_separable(diagnosis: Diagnosis, result: Result, states: Sequence[BoatState]) -> bool:
    """Tell whether for each rival of the right repair in the verdict some step tells the two stories apart."""
    truth = result.breakdown.hypothesis.repairs[0]
    rivals = rivals_of(result.hunt, truth)
    return all(is_told_apart(diagnosis, result.hunt, truth, rival, states) for rival in rivals)


def _bound(diagnosis: Diagnosis, result: Result) -> float:
    """Return the Huffman bound on steps over the repairs that the complaint leaves."""
    belief = diagnosis.belief(result.hunt.evidence[:1])
    masses = [s.probability for s in suspects_of(diagnosis.table, belief) if s.probability > 0.0]
    return huffman_bound(masses, _MOST_OUTCOMES)


def _over_optimum(frame: Frame, results: Sequence[Result]) -> tuple[float | None, int]:
    """Return the rule's mean steps over the exact optimum, and for how many faults that could be worked out."""
    known: dict[SignSeen, tuple[float, float] | None] = {}
    played, best, solved = 0.0, 0.0, 0
    for result in results:
        complaint = result.hunt.evidence[0]
        if not isinstance(complaint, SignSeen):
            continue
        if complaint not in known:
            known[complaint] = _steps(frame, complaint)
        steps = known[complaint]
        if steps is not None:
            played += result.breakdown.weight * steps[0]
            best += result.breakdown.weight * steps[1]
            solved += 1
    return (played / best if best > 0.0 else None), solved


def _steps(frame: Frame, complaint: SignSeen) -> tuple[float, float] | None:
    """Return the mean steps of the rule and of the optimum after a complaint, or None where that is too much."""
    puzzle = puzzle_of(frame.diagnosis, frame.diagnosis.belief([complaint]), frame.states)
    if puzzle is None:
        return None
    try:
        return greedy_steps(puzzle), fewest_steps(puzzle)
    except TooLargeError:
        return None


def _by_sign(results: Iterable[Result]) -> tuple[SignFigures, ...]:
    groups: dict[tuple[str, str], list[Result]] = {}
    for result in results:
        complaint = result.breakdown.complaint
        groups.setdefault((complaint.part, complaint.sign), []).append(result)
    return tuple(
        SignFigures(
            part=part,
            sign=sign,
            faults=len(group),
            found=float(np.mean([r.found for r in group])),
            mean_readings=float(np.mean([r.hunt.readings for r in group])),
        )
        for (part, sign), group in sorted(groups.items())
    )
