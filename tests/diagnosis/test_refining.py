"""Severities are put in where the boat changes between two of them, and nowhere else."""

from itertools import pairwise

import numpy as np
import pytest

from assistant.circuit import Fault, Solver, Variant, forward_states, make_solver
from assistant.diagnosis import Hypothesis
from assistant.diagnosis.hypotheses import severity_grid, single_faults
from assistant.diagnosis.refining import refined
from assistant.diagnosis.regimes import regimes_of
from assistant.diagnosis.table import FaultTable
from tests.diagnosis.boats import SMEW, diagnosis_of, network_of, ready, volts

READY = ready(SMEW)


@pytest.fixture(scope="module")
def solver() -> Solver:
    return make_solver(network_of(SMEW))


@pytest.fixture(scope="module")
def stories(solver: Solver) -> tuple[Hypothesis, ...]:
    return refined(solver, single_faults(solver.network))


@pytest.fixture(scope="module")
def table() -> FaultTable:
    return diagnosis_of(SMEW).table


def marks_of(solver: Solver, story: Hypothesis, severities: tuple[float, ...]) -> list[tuple[int, ...]]:
    """Return what is on or off at each severity, at work."""
    mode = story.modes[0]
    variants = [Variant(faults=(Fault(mode.part, mode.mode, s),)) for s in severities]
    solved = solver.solve_each(forward_states(solver.network.boat), variants)
    marks = np.concatenate([regimes_of(solution) for solution in solved])
    return [tuple(int(m) for m in column) for column in marks.T]


def test_the_ladder_stays_and_what_is_new_lies_in_the_middle_or_beside_a_rung(
    stories: tuple[Hypothesis, ...],
) -> None:
    parts = network_of(SMEW).parts
    finer = 0
    for story in stories[1:]:
        mode = story.modes[0]
        ladder = severity_grid(parts[mode.part].kind.faults[mode.mode].severity)
        assert set(ladder) <= set(story.severities)
        assert list(story.severities) == sorted(story.severities)
        steps = list(pairwise(ladder))
        spots = {
            low * (high / low) ** n for low, high in steps if low for n in (0.5, 0.125, 0.25, 0.625, 0.75)
        }
        spots |= {low + (high - low) * n for low, high in steps for n in (0.5, 0.125, 0.25, 0.625, 0.75)}
        for new in set(story.severities) - set(ladder):
            assert any(new == pytest.approx(spot, rel=1e-9) for spot in spots)
            finer += 1
    assert finer > 0


def test_two_neighbours_of_the_ladder_that_differ_have_one_between(
    solver: Solver, stories: tuple[Hypothesis, ...]
) -> None:
    clip = next(s for s in stories if s.modes and (s.modes[0].part, s.modes[0].mode) == ("fuse", "clip"))
    ladder = severity_grid(solver.network.parts["fuse"].kind.faults["clip"].severity)
    marks = marks_of(solver, clip, ladder)
    assert len(set(marks)) > 1
    for (low, high), (one, other) in zip(pairwise(ladder), pairwise(marks), strict=True):
        between = [s for s in clip.severities if low < s < high]
        assert between or one == other


def test_shares_of_the_severities_are_those_of_their_range(stories: tuple[Hypothesis, ...]) -> None:
    for story in stories:
        assert sum(story.shares) == pytest.approx(1.0)
        assert len(story.shares) == len(story.severities)
        assert min(story.shares) > 0.0


def test_no_cell_stands_for_values_beyond_a_limit(table: FaultTable) -> None:
    """Where the lamp goes cold, a cell reaches on as on its other side, not half way over to what is cold."""
    state = table.state(READY)
    shown = state.shown([volts("lamp +", "lamp -", READY)])
    below, above = shown.reach()
    regimes = regimes_of(state.survey).reshape(-1, *shown.values.shape[1:])
    steps, limits = 0, 0
    for cell in range(1, len(table.cells.owner) - 1):
        if len({int(table.cells.owner[c]) for c in (cell - 1, cell, cell + 1)}) > 1:
            continue
        for draw in range(table.cells.draws):
            before, here, after = (regimes[:, c, draw] for c in (cell - 1, cell, cell + 1))
            if (before == here).all() and (here != after).any():
                half = 0.5 * abs(shown.values[0, cell, draw] - shown.values[0, cell - 1, draw])
                on = half / table.cells.lean[cell]
                assert sorted((below[0, cell, draw], above[0, cell, draw])) == pytest.approx(
                    sorted((half, on))
                )
                limits += 1
            steps += 1
    assert steps > limits > 0


def test_a_cell_without_neighbours_stands_for_its_own_value(table: FaultTable) -> None:
    shown = table.state(READY).shown([volts("lamp +", "lamp -", READY)], np.array([0]))
    for reach in shown.reach():
        assert reach.shape == shown.values.shape
        assert not reach.any()


def alone_in(solver: Solver, story: Hypothesis, severities: tuple[float, ...]) -> list[float]:
    """Return the severities at which the boat is, in some state, like at neither neighbour."""
    mode = story.modes[0]
    variants = [Variant(faults=(Fault(mode.part, mode.mode, s),)) for s in severities]
    found = []
    states = [regimes_of(s) for s in solver.solve_each(forward_states(solver.network.boat), variants)]
    for n, severity in enumerate(severities):
        near = [m for m in (n - 1, n + 1) if 0 <= m < len(severities)]
        if any(all((here[:, m] != here[:, n]).any() for m in near) for here in states):
            found.append(severity)
    return found


def test_a_severity_alone_between_two_limits_has_another_close_by(
    solver: Solver, stories: tuple[Hypothesis, ...]
) -> None:
    """Without it nothing would tell which way readings go on from there, and it would stand for nearly anything."""
    helped = 0
    for story in stories[1:]:
        spec = solver.network.parts[story.modes[0].part].kind.faults[story.modes[0].mode].severity
        if spec is None or len(story.severities) < 2:
            continue
        measure = np.log if spec.log else float
        ladder = [measure(s) for s in severity_grid(spec)]
        steps = {*ladder, *(0.5 * (low + high) for low, high in pairwise(ladder))}
        coarse = [s for s in story.severities if min(abs(measure(s) - step) for step in steps) < 1e-9]
        still = alone_in(solver, story, story.severities)
        for lone in alone_in(solver, story, tuple(coarse)):
            apart = min(abs(measure(s) - measure(lone)) for s in story.severities if s != lone)
            assert apart <= 0.26 * min(high - low for low, high in pairwise(ladder))
            helped += lone not in still
    assert helped > 0
