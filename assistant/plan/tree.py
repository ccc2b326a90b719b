"""The diagnosis of one symptom unrolled into a tree that works on paper.

A reading has as many outcomes as the diagnosis tells apart, merged until few are left; each is a range of volts, and
the belief below it takes in only that the reading lay in that range.  The likeliest branches are opened first, until
the sheet is full; what is left closed names its suspects in the order of probability.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import count, pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import BoatState, Measurement, MeterFunction, last_digit
from assistant.circuit.expectation import Band
from assistant.diagnosis import (
    Belief,
    Diagnosis,
    ReadingSeen,
    SignQuery,
    SignSeen,
    Step,
    Suspect,
    Verdict,
)
from assistant.diagnosis.belief import MISREAD, MISSEEN, likelihood
from assistant.diagnosis.choose import Field, forecast, repair_numbers
from assistant.diagnosis.normal import normal_cdf

Array = NDArray[np.float64]

_ON_PAPER: Final = (MeterFunction.DC_VOLTS, MeterFunction.OHMS, MeterFunction.CONTINUITY)
_MOST_WAYS: Final = 4
_LOSS_BITS: Final = 0.03
_LEAST_SHARE: Final = 0.01
_DEEPEST: Final = 9
_SMALLEST: Final = 3
_NEARLY: Final = 0.985
_MOST_NAMED: Final = 16
_LEAST_NAMED: Final = 0.003


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A range of readings in volts; open ends are infinite."""

    low: float
    high: float

    def holds(self, value: float) -> bool:
        """Tell whether a reading lies in the range."""
        return self.low <= value < self.high


@dataclass(slots=True, kw_only=True)
class Branch:
    """A node of the tree.

    Attributes
    ----------
    answer : the range or level that leads here; None at the root.
    belief, mass : the belief here, and how likely one comes here.
    step : what to do here, once it was worked out.
    verdict : what it has come to.
    branches : what each answer leads to; empty where the step is not taken any more.
    opened : how many branches were opened before this one; the later, the less it is worth.
    """

    answer: Range | str | None
    belief: Belief
    mass: float
    depth: int
    state: BoatState
    last: Measurement | None
    step: Step | None
    verdict: Verdict
    branches: list[Branch] = field(default_factory=list)
    opened: int = 0


def grow(
    diagnosis: Diagnosis, complaint: SignQuery, states: Sequence[BoatState], *, most_lines: int
) -> Branch:
    """Return the tree that begins with looking at a sign.

    Parameters
    ----------
    complaint
        The sign that the symptom is about, in the boat state in which it shows.
    states
        Live boat states in which steps may be taken.
    most_lines
        Room on paper: a line for each step and each answer.
    """
    diagnosis = diagnosis.limited(_ON_PAPER)
    belief = diagnosis.belief([])
    root = _branch(diagnosis, None, belief, 1.0, depth=0, state=complaint.state, last=None)
    chances = diagnosis.table.healthy(complaint.state).levels(complaint).mean(axis=(1, 2))
    well = diagnosis.table.level_names(complaint)[int(chances.argmax())]
    for level in diagnosis.levels(complaint):
        seen = diagnosis.belief([SignSeen(query=complaint, levels=(level,))])
        mass = _share(belief, seen)
        root.branches.append(_branch(diagnosis, level, seen, mass, depth=1, state=complaint.state, last=None))
    # What a healthy boat shows is no complaint: such a boat belongs on another sheet.
    opened = [branch for branch in root.branches if branch.answer != well]
    _open(diagnosis, opened, states, most_lines - 1 - len(root.branches))
    return root


def _open(diagnosis: Diagnosis, closed: Sequence[Branch], states: Sequence[BoatState], room: int) -> None:
    """Open the likeliest closed branches while there is room."""
    order, opening = count(), count(1)
    waiting = [(-b.mass * _doubt(b), next(order), b) for b in closed]
    heapq.heapify(waiting)
    while waiting and room > _SMALLEST:
        _, _, branch = heapq.heappop(waiting)
        branch.step = diagnosis.next_step(
            branch.belief, state=branch.state, last=branch.last, refused=frozenset(), states=states
        )
        below = _ways(diagnosis, branch)
        if len(below) < 2 or 1 + len(below) > room:
            continue
        room -= 1 + len(below)
        branch.branches, branch.opened = below, next(opening)
        for one in below if branch.depth < _DEEPEST else ():
            heapq.heappush(waiting, (-one.mass * _doubt(one), next(order), one))


def opened_in(branch: Branch) -> Iterator[Branch]:
    """Yield the opened branches of a tree, each before those below it."""
    if branch.branches:
        yield branch
        for below in branch.branches:
            yield from opened_in(below)


def close_last(root: Branch) -> bool:
    """Close the branch that was opened last, and tell whether there was one besides the root."""
    last = max(opened_in(root), key=lambda branch: branch.opened, default=root)
    if last is root:
        return False
    last.branches = []
    return True


def named(verdict: Verdict) -> tuple[Suspect, ...]:
    """Return the suspects that make up nearly all of what is left, the likeliest first, at most sixteen."""
    left, found = _NEARLY * (1.0 - verdict.unknown), list[Suspect]()
    for suspect in verdict.suspects[:_MOST_NAMED]:
        if left <= 0.0 or (found and suspect.probability < _LEAST_NAMED):
            break
        found.append(suspect)
        left -= suspect.probability
    return tuple(found)


def _doubt(branch: Branch) -> float:
    """Return how much is still to be told apart: one less the probability of the likeliest repair."""
    return 1.0 - branch.verdict.suspects[0].probability


def _share(before: Belief, after: Belief) -> float:
    """Return how likely the last piece of evidence was, given what was known before it."""
    return float((before.variants * after.factors[-1]).sum() + before.unknown * after.unknown_factors[-1])


def _branch(
    diagnosis: Diagnosis,
    answer: Range | str | None,
    belief: Belief,
    mass: float,
    *,
    depth: int,
    state: BoatState,
    last: Measurement | None,
) -> Branch:
    verdict = diagnosis.verdict(belief, None)
    return Branch(
        answer=answer,
        belief=belief,
        mass=mass,
        depth=depth,
        state=state,
        last=last,
        step=None,
        verdict=verdict,
    )


def _ways(diagnosis: Diagnosis, branch: Branch) -> list[Branch]:
    """Return what each answer to the step of a branch leads to; what only a slip would bring is left out."""
    step = branch.step
    if step is None:
        return []
    seen: list[tuple[Range | str, Belief, float]]
    if step.query is not None:
        signs = (SignSeen(query=step.query, levels=(level,)) for level in step.levels)
        slips = MISSEEN / len(step.levels)
        seen = [(sign.levels[0], _with_sign(diagnosis, branch.belief, sign), slips) for sign in signs]
        state, last = step.query.state, branch.last
    else:
        seen = list(_ranges(diagnosis, branch.belief, step))
        last = step.measurement
        state = last.state if last else branch.state
    shares = [(answer, after, _share(branch.belief, after), slips) for answer, after, slips in seen]
    return [
        _branch(diagnosis, answer, after, branch.mass * share, depth=branch.depth + 1, state=state, last=last)
        for answer, after, share, slips in shares
        if share - slips > _LEAST_SHARE
    ]


def _ranges(diagnosis: Diagnosis, belief: Belief, step: Step) -> Iterator[tuple[Range, Belief, float]]:
    """Yield the ranges of a reading that tell something apart, the belief in each, and the chance of a slip into it."""
    if step.measurement is None:
        return
    table, measurement = diagnosis.table, step.measurement
    cells = np.arange(len(table.cells.owner))
    repairs = repair_numbers(table)[table.cells.owner]
    order = np.argsort(repairs, kind="stable")
    back = np.argsort(order, kind="stable")
    whole = Field(cells[order], belief.variants[order], repairs[order], int(repairs.max()) + 1)
    seen = forecast(table, whole, [measurement])
    cuts = _cuts(diagnosis, seen.edges(_weighed(whole))[0], measurement)
    below = normal_cdf((cuts[:, None] - seen.mean) / seen.sigma)
    none, every = np.zeros_like(below[:1]), np.ones_like(below[:1])
    chances = np.diff(np.concatenate([none, below, every]), axis=0).reshape(-1, *belief.variants.shape)[
        :, back
    ]
    limits = [-np.inf, *map(float, cuts), np.inf]
    groups = _merged(chances, belief, repairs)
    for first, after in groups:
        chance = chances[first:after].sum(axis=0)
        span = Range(low=limits[first], high=limits[after])
        even = (after - first) / len(chances)
        shown = ReadingSeen(measurement=measurement, value=_inside(span, diagnosis.band(measurement)))
        yield span, _with_range(belief, shown, chance, even), MISREAD * even


def _weighed(whole: Field) -> Field:
    """Return the field with its weights made to sum to one, as cutting needs them."""
    return replace(whole, weights=whole.weights / whole.weights.sum())


def _cuts(diagnosis: Diagnosis, edges: Array, measurement: Measurement) -> Array:
    """Return the edges, the healthy band's among them, on whole digits of the meter, each once and ascending."""
    band = diagnosis.band(measurement)
    both = np.concatenate([edges, [band.low, band.high]])
    both = both[np.abs(both) <= 2.0 * diagnosis.table.highest_v]
    digit = 5.0 * last_digit(diagnosis.meter, MeterFunction.DC_VOLTS, both)
    return np.unique(np.round(both / digit) * digit)


def _merged(chances: Array, belief: Belief, repairs: NDArray[np.intp]) -> list[tuple[int, int]]:
    """Return runs of outcomes: neighbours are joined while hardly anything about the repair is lost."""
    joint = np.stack([np.bincount(repairs, (c * belief.variants).sum(axis=1)) for c in chances])
    groups = [(i, i + 1) for i in range(len(chances))]
    rows = [joint[i] for i in range(len(chances))]
    while len(rows) > 1:
        losses = [_loss(one, other) for one, other in pairwise(rows)]
        least = int(np.argmin(losses))
        if losses[least] > _LOSS_BITS * joint.sum() and len(rows) <= _MOST_WAYS:
            break
        rows[least : least + 2] = [rows[least] + rows[least + 1]]
        groups[least : least + 2] = [(groups[least][0], groups[least + 1][1])]
    return groups


def _loss(one: Array, other: Array) -> float:
    """Return what joining two outcomes loses about the repair, in bits times their mass."""
    return _spread(one + other) - _spread(one) - _spread(other)


def _spread(masses: Array) -> float:
    total = masses.sum()
    safe = np.maximum(masses, 1e-300)
    return float(total * np.log2(max(total, 1e-300)) - (masses * np.log2(safe)).sum())


def _with_range(belief: Belief, seen: ReadingSeen, chance: Array, even: float) -> Belief:
    """Return the belief once a reading lies in a range; slips fall evenly on all outcomes."""
    return belief.having(seen, (1.0 - MISREAD) * chance + MISREAD * even, even)


def _with_sign(diagnosis: Diagnosis, belief: Belief, seen: SignSeen) -> Belief:
    return belief.having(seen, *likelihood(diagnosis.table, seen))


def _inside(span: Range, band: Band) -> float:
    """Return a reading that stands for the range: the healthy one where it lies in it."""
    if span.holds(band.typical):
        return band.typical
    if span.holds(0.0):
        return 0.0
    if np.isinf(span.low):
        return 2.0 * span.high
    return 2.0 * span.low if np.isinf(span.high) else 0.5 * (span.low + span.high)
