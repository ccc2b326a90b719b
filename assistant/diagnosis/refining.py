"""More severities where the boat changes between two of them.

A ladder of severities serves while readings change smoothly from rung to rung: then a cell stands for all severities
half way to its neighbours.  Between two rungs at which a part comes on or goes off, or a sign changes, lies a limit
that no mean of both describes; there a rung is put in between.  The boat as drawn, at work, shows where.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import BoatState, Network, Solution, Solver, Variant, forward_states
from assistant.diagnosis.hypotheses import portions_of
from assistant.diagnosis.model import Hypothesis, SignQuery
from assistant.diagnosis.regimes import regimes_of
from assistant.diagnosis.signs import SignModel
from assistant.diagnosis.stories import faults_of, severity_of

Marks = NDArray[np.int8]

ROUNDS = 1
"""How often a step between two rungs is halved: down to 4 rungs a decade."""

_Rung = tuple[int, float]


def refined(solver: Solver, hypotheses: Sequence[Hypothesis]) -> tuple[Hypothesis, ...]:
    """Return the single faults with rungs put in wherever the boat changes between two neighbouring ones."""
    network, states = solver.network, forward_states(solver.network.boat)
    graded = [n for n, h in enumerate(hypotheses) if len(h.severities) > 1]
    marks: dict[_Rung, Marks] = {}
    rungs = {n: list(hypotheses[n].severities) for n in graded}
    wanted = [(n, s) for n in graded for s in rungs[n]]
    for left in range(ROUNDS, -1, -1):
        marks.update(_marks(solver, states, hypotheses, wanted))
        wanted = list(_between(network, hypotheses, rungs, marks)) if left else []
        if not wanted:
            break
        for number, severity in wanted:
            rungs[number] = sorted({*rungs[number], severity})
    return tuple(
        _with_rungs(network, h, tuple(rungs[n])) if n in rungs else h for n, h in enumerate(hypotheses)
    )


def _between(
    network: Network,
    hypotheses: Sequence[Hypothesis],
    rungs: dict[int, list[float]],
    marks: dict[_Rung, Marks],
) -> Iterator[_Rung]:
    """Yield the rungs to be put in: the middle of every two neighbours at which the boat is not alike."""
    for number, own in rungs.items():
        spec = severity_of(network, hypotheses[number].modes[0])
        log = spec is not None and spec.log
        for low, high in pairwise(own):
            if not np.array_equal(marks[number, low], marks[number, high]):
                yield number, float(np.sqrt(low * high)) if log else 0.5 * (low + high)


def _marks(
    solver: Solver, states: Sequence[BoatState], hypotheses: Sequence[Hypothesis], rungs: Sequence[_Rung]
) -> dict[_Rung, Marks]:
    """Return what is on, off or restless, and what every sign shows, at each rung in each state."""
    network = solver.network
    variants = [Variant(faults=faults_of(network, hypotheses[n], s)) for n, s in rungs]
    model = SignModel(network, variants, 0)
    shown = [
        np.concatenate([regimes_of(solution), _levels(network, model, solution, state)])
        for state, solution in zip(states, solver.solve_each(states, variants), strict=True)
    ]
    return dict(zip(rungs, np.concatenate(shown).T, strict=True))


def _levels(network: Network, model: SignModel, solution: Solution, state: BoatState) -> Marks:
    """Return the likeliest level of each sign, shape (signs, variants)."""
    queries = [
        SignQuery(part=part.id, sign=sign, state=state)
        for part in network.parts.values()
        for sign in part.kind.signs
    ]
    return np.array([model.probabilities(solution, query).argmax(axis=0) for query in queries])


def _with_rungs(network: Network, hypothesis: Hypothesis, severities: tuple[float, ...]) -> Hypothesis:
    portions = portions_of(severities, severity_of(network, hypothesis.modes[0]))
    return replace(hypothesis, severities=severities, portions=portions)
