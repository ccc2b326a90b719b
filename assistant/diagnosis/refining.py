"""More severities where the boat changes between two of them.

A ladder of severities serves while readings change smoothly from rung to rung: then a cell stands for all severities
half way to its neighbours.  Between two rungs at which a part comes on or goes off, or a sign changes, lies a limit
that no mean of both describes; there a rung is put in between.  A rung that is then alone between two limits would
not tell which way readings go on from it; it gets another beside it.  The boat as drawn, at work, shows where.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import BoatState, Network, Solver, Variant, forward_states
from assistant.diagnosis.hypotheses import sides_of
from assistant.diagnosis.levels import likeliest_levels
from assistant.diagnosis.model import Hypothesis
from assistant.diagnosis.regimes import regimes_of
from assistant.diagnosis.stories import faults_of, severity_of

Marks = NDArray[np.int8]
Flags = NDArray[np.bool_]

ROUNDS = 1
"""How often a step between two rungs is halved: down to 4 rungs a decade."""

_BESIDE = 0.25
"""Where a rung is put beside one that is alone, as a share of the step to the next: near enough to be alike."""

_Rung = tuple[int, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _AtRung:
    """What a boat shows at one rung: what is on, off or restless in each state, and the levels of all signs."""

    regimes: Marks
    levels: Marks

    def is_like(self, other: _AtRung) -> bool:
        """Tell whether nothing is otherwise."""
        return np.array_equal(self.levels, other.levels) and bool(self.alike_in(other).all())

    def alike_in(self, other: _AtRung) -> Flags:
        """Tell of each state whether nothing is on or off that is not so there."""
        return np.asarray((self.regimes == other.regimes).all(axis=1))


def refined(solver: Solver, hypotheses: Sequence[Hypothesis]) -> tuple[Hypothesis, ...]:
    """Return the single faults with rungs put in wherever the boat changes between two neighbouring ones."""
    network, states = solver.network, forward_states(solver.network.boat)
    graded = [n for n, h in enumerate(hypotheses) if len(h.severities) > 1]
    marks: dict[_Rung, _AtRung] = {}
    rungs = {n: list(hypotheses[n].severities) for n in graded}
    wanted = [(n, s) for n in graded for s in rungs[n]]
    for left in range(ROUNDS, -1, -1):
        marks.update(_marks(solver, states, hypotheses, wanted))
        found = (
            _between(network, hypotheses, rungs, marks)
            if left
            else _beside(network, hypotheses, rungs, marks)
        )
        wanted = list(found)
        for number, severity in wanted:
            rungs[number] = sorted({*rungs[number], severity})
    return tuple(
        _with_rungs(network, h, tuple(rungs[n])) if n in rungs else h for n, h in enumerate(hypotheses)
    )


def _between(
    network: Network,
    hypotheses: Sequence[Hypothesis],
    rungs: dict[int, list[float]],
    marks: dict[_Rung, _AtRung],
) -> Iterator[_Rung]:
    """Yield the rungs to be put in: the middle of every two neighbours at which the boat is not alike."""
    for number, own in rungs.items():
        for low, high in pairwise(own):
            if not marks[number, low].is_like(marks[number, high]):
                yield number, _on_the_way(network, hypotheses[number], low, high, 0.5)


def _beside(
    network: Network,
    hypotheses: Sequence[Hypothesis],
    rungs: dict[int, list[float]],
    marks: dict[_Rung, _AtRung],
) -> Iterator[_Rung]:
    """Yield a rung beside every one that in some state is like neither neighbour."""
    for number, own in rungs.items():
        here = [marks[number, severity] for severity in own]
        linked = [one.alike_in(other) for one, other in pairwise(here)]
        for n, severity in enumerate(own):
            alone = ~np.any(linked[max(n - 1, 0) : n + 1], axis=0)
            if alone.any():
                nearest = own[n + 1] if n + 1 < len(own) else own[n - 1]
                yield number, _on_the_way(network, hypotheses[number], severity, nearest, _BESIDE)


def _on_the_way(network: Network, hypothesis: Hypothesis, start: float, end: float, share: float) -> float:
    """Return the severity that far on the way from one to another."""
    spec = severity_of(network, hypothesis.modes[0])
    if spec is not None and spec.log:
        return float(start ** (1.0 - share) * end**share)
    return float((1.0 - share) * start + share * end)


def _marks(
    solver: Solver, states: Sequence[BoatState], hypotheses: Sequence[Hypothesis], rungs: Sequence[_Rung]
) -> dict[_Rung, _AtRung]:
    """Return what the boat shows at each rung."""
    network = solver.network
    variants = [Variant(faults=faults_of(network, hypotheses[n], s)) for n, s in rungs]
    regimes, levels = [], []
    for solution in solver.survey_each(states, variants):
        regimes.append(regimes_of(solution))
        levels.append(likeliest_levels(solver, variants, solution))
    by_state, signs = np.stack(regimes), np.concatenate(levels)
    return {rung: _AtRung(regimes=by_state[:, :, i], levels=signs[:, i]) for i, rung in enumerate(rungs)}


def _with_rungs(network: Network, hypothesis: Hypothesis, severities: tuple[float, ...]) -> Hypothesis:
    sides = sides_of(severities, severity_of(network, hypothesis.modes[0]))
    return replace(hypothesis, severities=severities, sides=sides)
