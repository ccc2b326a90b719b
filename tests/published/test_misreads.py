"""Misread answers along a chain of suspects: hard elimination, doubt, and misreads that stay.

The values were computed apart from this program by trying many hunts (c); here every course of a hunt is followed.
"""

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.diagnosis import Belief, SignSeen
from assistant.diagnosis.belief import believe
from assistant.diagnosis.choose import gains_bits, sign_outcomes
from tests.diagnosis.discrete import (
    DiscreteTable,
    query,
    seen,
    story,
    trust_every_answer,
)

Array = NDArray[np.float64]


LENGTH = 10
MISREADS = 0.05


def chain() -> DiscreteTable:
    """Ten suspects in a row; a look at cut c tells whether the fault lies before it."""
    before = {str(cut): [float(i < cut) for i in range(LENGTH)] for cut in range(1, LENGTH)}
    answers = {cut: {"before": yes, "after": [1.0 - y for y in yes]} for cut, yes in before.items()}
    return DiscreteTable([story(f"place {i}", 1.0) for i in range(LENGTH)], answers)


def best_cut(table: DiscreteTable, belief: Belief, cuts: Sequence[int]) -> int:
    field = table.everything(belief.cells)
    outcomes = np.stack([sign_outcomes(table, field, query(str(cut))) for cut in cuts])
    return cuts[int(np.argmax(gains_bits(field, outcomes).round(9)))]


def right(cut: int, answer: str) -> Array:
    """Return the chance of an answer at a cut for each place of the fault."""
    is_before = np.arange(LENGTH) < cut
    return np.where(is_before == (answer == "before"), 1.0 - MISREADS, MISREADS)


def hunt(*, stays: bool, again: bool) -> tuple[float, float]:
    """Return the share of right verdicts and the mean number of readings, over every course of a hunt.

    A misread that `stays` comes back when the same cut is read again, otherwise each reading is a fresh one; `again`
    allows cuts that were read before.
    """
    table = chain()
    correct = readings = 0.0
    courses: list[tuple[tuple[SignSeen, ...], Array]] = [((), np.full(LENGTH, 1.0 / LENGTH))]
    while courses:
        evidence, joint = courses.pop()
        belief = believe(table, evidence)
        read = {int(e.query.part): e.levels[0] for e in evidence}
        cuts = [cut for cut in range(1, LENGTH) if again or cut not in read]
        if belief.cells.max() >= 0.95 or joint.sum() < 1e-5 or not cuts:
            correct += float(joint[np.argmax(belief.cells)])
            readings += float(joint.sum()) * len(evidence)
            continue
        cut = best_cut(table, belief, cuts)
        if stays and cut in read:
            courses.append(((*evidence, seen(str(cut), read[cut])), joint))
        else:
            courses += [((*evidence, seen(str(cut), a)), joint * right(cut, a)) for a in ("before", "after")]
    return correct, readings


@pytest.fixture
def slips(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let 5 of 100 answers be wrong: a slip says nothing, and nothing is right half of the time."""
    trust_every_answer(monkeypatch, slip=2.0 * MISREADS)


def test_hard_elimination_believes_every_misread(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten faults, 5 % misreads, each answer taken as final (c: right .83 of the time in 3.4 readings)."""
    trust_every_answer(monkeypatch)
    table = chain()
    correct = readings = 0.0
    courses: list[tuple[tuple[SignSeen, ...], Array]] = [((), np.full(LENGTH, 1.0 / LENGTH))]
    while courses:
        evidence, joint = courses.pop()
        belief = believe(table, evidence)
        if belief.cells.max() > 0.99:
            correct += float(joint[np.argmax(belief.cells)])
            readings += float(joint.sum()) * len(evidence)
            continue
        cut = best_cut(table, belief, range(1, LENGTH))
        courses += [((*evidence, seen(str(cut), a)), joint * right(cut, a)) for a in ("before", "after")]
    assert correct == pytest.approx(0.83, abs=0.015)
    assert readings == pytest.approx(3.4, abs=0.05)


@pytest.mark.usefixtures("slips")
def test_doubt_costs_some_readings_and_finds_the_fault() -> None:
    """The same chain with doubt, stopping at .95 (c: right .99 of the time in 6.0 readings)."""
    correct, readings = hunt(stays=False, again=True)
    assert correct == pytest.approx(0.99, abs=0.005)
    assert readings == pytest.approx(6.0, abs=0.15)


@pytest.mark.usefixtures("slips")
def test_repeating_does_not_cure_a_misread_that_stays_but_another_reading_does() -> None:
    """A probe on varnish reads the same every time: repeating is then no better than no doubt at all (c)."""
    repeated, _ = hunt(stays=True, again=True)
    different, _ = hunt(stays=True, again=False)
    assert repeated == pytest.approx(0.84, abs=0.005)
    assert different > repeated + 0.03
