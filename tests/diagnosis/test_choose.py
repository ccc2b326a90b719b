"""Expected information against mutual information written out."""

from math import log2

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from assistant.catalogue import Action
from assistant.circuit import Measurement
from assistant.diagnosis import Diagnosis, Evidence, RepairId
from assistant.diagnosis.belief import Belief, likelihood
from assistant.diagnosis.choose import (
    Field,
    _with_neighbours,
    contrast_field,
    field_of,
    forecast,
    gains_bits,
    reading_gains,
    repair_numbers,
    rivals_field,
    sign_outcomes,
)
from tests.diagnosis.boats import (
    GARGANEY,
    MINUS_LEAD,
    PLUS_LEAD,
    SMEW,
    diagnosis_of,
    light,
    ohms,
    read,
    ready,
    unplugged,
    volts,
)

Array = NDArray[np.float64]
READY, UNPLUGGED = ready(SMEW), unplugged(SMEW)
READINGS = [
    volts("fuse in", "fuse out", READY),
    volts("lamp +", "lamp -", READY),
    volts("pack -", "lamp -", READY),
    volts("pack +", "pack -", READY),
]


@pytest.fixture(scope="module")
def smew() -> Diagnosis:
    return diagnosis_of(SMEW)


def mutual_bits(weights: Array, repairs: list[int], outcomes: Array) -> float:
    """Return sum over outcome o and repair r of P(o, r) * log2(P(o, r) / (P(o) P(r)))."""
    joint = {
        (o, r): sum(float(w * p) for w, p, mine in zip(weights, row, repairs, strict=True) if mine == r)
        for o, row in enumerate(outcomes)
        for r in set(repairs)
    }
    total = 0.0
    for (o, r), p in joint.items():
        of_outcome = sum(q for (other, _), q in joint.items() if other == o)
        of_repair = sum(q for (_, other), q in joint.items() if other == r)
        total += p * log2(p / (of_outcome * of_repair)) if p > 0.0 else 0.0
    return total


@st.composite
def problems(draw: st.DrawFn) -> tuple[Array, list[int], Array]:
    """Return weights and repairs of up to 6 cells, and the chances of up to 4 outcomes on each."""
    cells, outcomes = draw(st.integers(1, 6)), draw(st.integers(1, 4))
    weights = np.array(draw(st.lists(st.integers(1, 50), min_size=cells, max_size=cells)), dtype=float)
    repairs = sorted(draw(st.lists(st.integers(0, 3), min_size=cells, max_size=cells)))
    numbers = np.unique(repairs, return_inverse=True)[1].tolist()
    rows = st.lists(st.integers(0, 9), min_size=cells, max_size=cells)
    raw = np.array([draw(rows) for _ in range(outcomes)], dtype=float) + 1e-9
    return weights / weights.sum(), numbers, raw / raw.sum(axis=0)


def small_field(weights: Array, repairs: list[int]) -> Field:
    numbers = np.array(repairs, dtype=np.intp)
    return Field(np.arange(len(repairs)), weights[:, None], numbers, int(numbers.max()) + 1)


@given(problems())
def test_gain_is_the_mutual_information(problem: tuple[Array, list[int], Array]) -> None:
    weights, repairs, outcomes = problem
    (gain,) = gains_bits(small_field(weights, repairs), outcomes[None])
    assert gain == pytest.approx(mutual_bits(weights, repairs, outcomes), abs=1e-9)
    bits = -sum(p * log2(p) for p in small_field(weights, repairs).masses())
    assert -1e-9 <= gain <= min(bits, log2(len(outcomes))) + 1e-9


@given(problems())
def test_draws_of_a_cell_count_like_cells_of_one_repair(problem: tuple[Array, list[int], Array]) -> None:
    weights, repairs, outcomes = problem
    doubled = small_field(weights, repairs)
    halves = np.repeat(0.5 * weights[:, None], 2, axis=1)
    field = Field(doubled.cells, halves, doubled.repairs, doubled.count)
    spread = np.repeat(outcomes, 2, axis=1)
    assert gains_bits(field, spread[None]) == pytest.approx(gains_bits(doubled, outcomes[None]), abs=1e-9)


def test_telling_apart_two_faults_mended_alike_is_worth_nothing() -> None:
    outcomes = np.array([[[1.0, 0.0], [0.0, 1.0]]])
    weights = np.array([0.5, 0.5])
    assert gains_bits(small_field(weights, [0, 0]), outcomes)[0] == pytest.approx(0.0, abs=1e-12)
    assert gains_bits(small_field(weights, [0, 1]), outcomes)[0] == pytest.approx(1.0)


@pytest.mark.parametrize("evidence", [(), (light(READY, "dark"),), (light(READY, "dim"),)])
def test_field_holds_nearly_all_of_the_belief(smew: Diagnosis, evidence: tuple[Evidence, ...]) -> None:
    belief = smew.belief(evidence)
    field = field_of(smew.table, belief)
    assert belief.cells[field.cells].sum() >= 0.99 * belief.cells.sum()
    assert field.weights.sum() == pytest.approx(1.0)
    assert field.masses().sum() == pytest.approx(1.0)
    assert (np.diff(field.repairs) >= 0).all()
    assert field.repairs.max() + 1 == field.count
    repair_of_cell = repair_numbers(smew.table)[smew.table.cells.owner[field.cells]]
    for number in range(field.count):
        assert len(set(repair_of_cell[field.repairs == number])) == 1


def test_a_field_has_the_severities_beside_each_of_its_cells(smew: Diagnosis) -> None:
    """A true severity lies between two rungs, so the rungs beside the likely one have to be weighed too."""
    owner = smew.table.cells.owner
    for cell in range(len(owner)):
        beside = {c for c in (cell - 1, cell, cell + 1) if 0 <= c < len(owner) and owner[c] == owner[cell]}
        assert set(_with_neighbours(smew.table, np.array([cell])).tolist()) == beside


def test_outcomes_of_a_reading_are_a_distribution(smew: Diagnosis) -> None:
    field = field_of(smew.table, smew.belief([light(READY, "dim")]))
    for readings in (READINGS, [ohms("fuse in", "fuse out", UNPLUGGED)]):
        outcomes = forecast(smew.table, field, readings).outcomes(field)
        assert outcomes.min() >= 0.0
        assert outcomes.sum(axis=1) == pytest.approx(1.0)


def test_levels_of_a_sign_are_a_distribution_and_never_certain(smew: Diagnosis) -> None:
    field = field_of(smew.table, smew.belief(()))
    outcomes = sign_outcomes(smew.table, field, light(READY, "dark").query)
    assert outcomes.sum(axis=0) == pytest.approx(1.0)
    assert outcomes.min() > 0.0


def true_bits(smew: Diagnosis, belief: Belief, field: Field, measurement: Measurement) -> float:
    """Return what a reading tells about the repair, by adding up over all values the display may show."""
    table = smew.table
    weights = np.zeros_like(belief.variants)
    weights[field.cells] = field.weights
    repairs = repair_numbers(table)[table.cells.owner]
    near_zero = np.arange(-0.15, 0.15, 0.001)
    far = np.arange(0.15, 1.25 * table.highest_v, 0.008)
    values = np.concatenate([-far[::-1], near_zero, far])
    widths = np.gradient(values)
    mass = np.bincount(repairs, weights.sum(axis=1))
    bits = -float(sum(p * log2(p) for p in mass if p > 0.0))
    for value, width in zip(values, widths, strict=True):
        factors, _ = likelihood(table, read(measurement, float(value)))
        joint = np.bincount(repairs, (weights * factors).sum(axis=1)) * width
        seen = joint.sum()
        bits += float((joint[joint > 0.0] * np.log2(joint[joint > 0.0] / seen)).sum())
    return bits


def test_gain_of_a_reading_stays_below_what_it_truly_tells_and_ranks_alike(smew: Diagnosis) -> None:
    """Cutting the display into a few outcomes loses some information, never adds any."""
    belief = smew.belief([light(READY, "dark")])
    field = field_of(smew.table, belief)
    gains = reading_gains(smew.table, field, READINGS)
    truth = np.array([true_bits(smew, belief, field, m) for m in READINGS])
    assert (gains <= truth + 0.02).all()
    assert (gains >= 0.8 * truth).all()
    clearly = truth[:, None] > truth + 0.02
    assert clearly.any()
    assert (gains[:, None] > gains)[clearly].all()


def test_more_readings_at_once_have_the_gains_of_each_alone(smew: Diagnosis) -> None:
    field = field_of(smew.table, smew.belief([light(READY, "dim")]))
    together = reading_gains(smew.table, field, READINGS)
    alone = [reading_gains(smew.table, field, [m])[0] for m in READINGS]
    assert together == pytest.approx(alone)
    assert len(reading_gains(smew.table, field, [])) == 0


@pytest.mark.parametrize("level", ["dark", "dim", "flickers"])
def test_what_cannot_bring_enough_is_told_beforehand(smew: Diagnosis, level: str) -> None:
    for seen in ([], [light(READY, level)]):
        field = field_of(smew.table, smew.belief(seen))
        gains = reading_gains(smew.table, field, READINGS)
        most = forecast(smew.table, field, READINGS).most_bits(field)
        assert (gains <= most + 1e-9).all()
        for least_bits in (0.02, 0.1, 0.3):
            quick = reading_gains(smew.table, field, READINGS, least_bits=least_bits)
            assert np.array_equal(quick[gains >= least_bits], gains[gains >= least_bits])
            assert (quick[gains < least_bits] < least_bits).all()


def test_plus_and_minus_side_are_worth_the_same() -> None:
    diagnosis = diagnosis_of(GARGANEY)
    state = ready(GARGANEY)
    field = field_of(diagnosis.table, diagnosis.belief([light(state, "dark")]))
    plus, minus = reading_gains(
        diagnosis.table, field, [volts("pack +", "lamp +", state), volts("lamp -", "pack -", state)]
    )
    assert plus == pytest.approx(minus, rel=0.05)
    plus, minus = reading_gains(
        diagnosis.table,
        field,
        [
            volts(f"{PLUS_LEAD} 1", f"{PLUS_LEAD} 2", state),
            volts(f"{MINUS_LEAD} 2", f"{MINUS_LEAD} 1", state),
        ],
    )
    assert plus == pytest.approx(minus, rel=0.05)


def test_two_sided_fields_split_as_they_say(smew: Diagnosis) -> None:
    belief = smew.belief([light(READY, "dark")])
    repair = RepairId(place="lamp", action=Action.REPLACE)
    (suspect,) = (s for s in smew.verdict(belief, None).suspects if s.repair == repair)
    rivals = rivals_field(smew.table, belief, [repair])
    assert min(rivals.masses()) == pytest.approx(suspect.probability, abs=0.02)
    assert contrast_field(smew.table, belief, repair).masses() == pytest.approx([0.5, 0.5])
