"""Beliefs by what must hold of them: of sums, orders, answers taken back, slips, and what happened lately."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.catalogue import Action
from assistant.circuit import MeterFunction
from assistant.diagnosis import Evidence, ModeAt, ReadingSeen, Unsteady
from assistant.diagnosis.belief import (
    MISREAD,
    MISSEEN,
    UNKNOWN_SHARE,
    believe,
    likelihood,
)
from assistant.diagnosis.hypotheses import (
    MENDED_KEEPS,
    REPLACED_KEEPS,
    TOUCHED_SHARE,
    WET_SHARE,
    Lately,
    places_near,
    raised_by,
)
from assistant.diagnosis.table import FaultTable
from tests.diagnosis.answers import FUSE_OUT, OHMS_OF_FUSE, OVER_FUSE, OVER_LAMP, PIECES, READY
from tests.diagnosis.boats import SMEW, diagnosis_of, light, read


@pytest.fixture(scope="module")
def table() -> FaultTable:
    return diagnosis_of(SMEW).table


def test_what_comes_and_goes_may_have_been_away_at_any_answer(table: FaultTable) -> None:
    """A lamp dark, then lit, then dark again: no slip, where a joint is loose."""
    fickle = table.cells.there < 1.0
    assert fickle.any()
    said = Unsteady(asked=light(READY, "dark").query)
    pieces: list[Evidence] = [
        said,
        light(READY, "dark"),
        read(OVER_LAMP, 7.5),
        read(FUSE_OUT, 0.0),
        light(READY, "bright"),
    ]
    shares = [float(believe(table, pieces[:count]).cells[fickle].sum()) for count in range(6)]
    assert shares[0] < 0.1
    assert shares[1] > 0.5
    assert shares[5] > 0.99
    assert float(believe(table, pieces[1:]).cells[fickle].sum()) < 0.5


def test_probabilities_add_up(table: FaultTable) -> None:
    for count in range(len(PIECES) + 1):
        belief = believe(table, PIECES[:count])
        assert belief.cells.sum() + belief.unknown == pytest.approx(1.0)


def test_without_evidence_the_prior_stands(table: FaultTable) -> None:
    belief = believe(table, ())
    weights = np.bincount(table.cells.owner, belief.cells)
    assert weights == pytest.approx([h.weight * (1.0 - UNKNOWN_SHARE) for h in table.hypotheses])
    assert belief.unknown == pytest.approx(UNKNOWN_SHARE)


@pytest.mark.parametrize(
    "pieces", [PIECES[:4], (*PIECES[:3], Unsteady(asked=OVER_LAMP))], ids=["stays", "comes and goes"]
)
def test_order_changes_nothing(table: FaultTable, pieces: tuple[Evidence, ...]) -> None:
    first = believe(table, pieces)
    for order in permutations(pieces):
        other = believe(table, order)
        assert other.cells == pytest.approx(first.cells, rel=1e-9)
        assert other.unknown == pytest.approx(first.unknown, rel=1e-9)


@pytest.mark.parametrize("number", range(len(PIECES)))
def test_withdrawing_is_nearly_never_having_had_it(table: FaultTable, number: int) -> None:
    withdrawn = believe(table, PIECES).without(number)
    never = believe(table, PIECES[:number] + PIECES[number + 1 :])
    assert withdrawn.evidence == never.evidence
    assert withdrawn.cells == pytest.approx(never.cells, rel=0.25, abs=0.03)
    assert withdrawn.unknown == pytest.approx(never.unknown, rel=0.25, abs=0.002)


@pytest.mark.parametrize("number", [0, 3, 4])
def test_withdrawing_what_is_no_volts_is_exact(table: FaultTable, number: int) -> None:
    withdrawn = believe(table, PIECES).without(number)
    never = believe(table, PIECES[:number] + PIECES[number + 1 :])
    assert withdrawn.cells == pytest.approx(never.cells, rel=1e-9)


@given(value=st.floats(-1e3, 1e3) | st.sampled_from([0.0, 1e9, -1e9]))
def test_no_reading_rules_anything_out(value: float) -> None:
    table = diagnosis_of(SMEW).table
    factors, unknown = likelihood(table, read(OVER_FUSE, value))
    assert factors.min() >= MISREAD * unknown * (1.0 - 1e-9)
    assert believe(table, [read(OVER_FUSE, value)] * 3).cells.min() > 0.0


@pytest.mark.parametrize("value", [0.0, 3.0, 1e6, np.inf])
def test_no_ohms_rule_anything_out(table: FaultTable, value: float) -> None:
    factors, unknown = likelihood(table, read(OHMS_OF_FUSE, value))
    assert factors.min() >= MISREAD * unknown * (1.0 - 1e-9)


@pytest.mark.parametrize("level", ["dark", "dim", "bright", "glaring", "flickers"])
def test_no_sign_rules_anything_out(table: FaultTable, level: str) -> None:
    factors, unknown = likelihood(table, light(READY, level))
    assert factors.min() >= MISSEEN * unknown * (1.0 - 1e-9)


def test_a_later_answer_brings_back_what_a_misread_pushed_down(table: FaultTable) -> None:
    """The fuse is open; one reading over it says the contrary."""
    behind = np.array([h.repairs[:1] != () and h.repairs[0].place == "fuse" for h in table.hypotheses])

    def of_fuse(*pieces: Evidence) -> float:
        return float(believe(table, pieces).cells[behind[table.cells.owner]].sum())

    dark, misread = light(READY, "dark"), read(OVER_FUSE, 0.02)
    assert of_fuse(dark, misread) < 0.1 * of_fuse(dark)
    assert of_fuse(dark, misread, read(OHMS_OF_FUSE, np.inf), read(OVER_FUSE, 7.6)) > 0.5


def test_any_of_the_levels_is_sure(table: FaultTable) -> None:
    every = light(READY, "dark", "dim", "bright", "glaring", "flickers")
    assert believe(table, [every]).cells == pytest.approx(believe(table, ()).cells)


def test_readings_that_do_not_belong_together_leave_more_to_the_unknown(table: FaultTable) -> None:
    """All volts lie over the fuse, and all of them over the lamp behind it: one of both was misread."""
    before = believe(table, ()).unknown
    together = believe(table, [read(OVER_FUSE, 7.6), read(OVER_LAMP, 0.0)])
    apart = believe(table, [read(OVER_FUSE, 7.6), read(OVER_LAMP, 7.6)])
    print(before, together.unknown, apart.unknown)
    assert together.unknown < before < apart.unknown


def beep(value: float) -> ReadingSeen:
    """Return a beep over the fuse (0), or none (infinite)."""
    m = OHMS_OF_FUSE
    return ReadingSeen(
        measurement=replace(m, function=MeterFunction.CONTINUITY),
        value=value,
    )


def test_a_beep_hardly_speaks_against_ohms_below_the_limit_of_the_beeper(table: FaultTable) -> None:
    """A fuse of a few ohms beeps like a good one, so continuity clears no path for current."""
    fit, _ = likelihood(table, beep(0.0))
    corroded = [
        n for n, h in enumerate(table.hypotheses) if h.modes[:1] == (ModeAt(part="fuse", mode="corroded"),)
    ]
    blown = [n for n, h in enumerate(table.hypotheses) if h.modes[:1] == (ModeAt(part="fuse", mode="open"),)]
    few_ohms = np.flatnonzero(table.cells.owner == corroded[0])[:3]
    well = fit[table.cells.owner == 0].mean()
    assert fit[few_ohms].mean() > 0.9 * well
    assert fit[table.cells.owner == blown[0]].mean() < 0.05 * well
    silent, _ = likelihood(table, beep(float("inf")))
    assert silent[table.cells.owner == blown[0]].mean() > 0.9


def test_many_kilohms_through_the_fingers_do_not_clear_an_open(table: FaultTable) -> None:
    """151 kilohms over a broken wire were read in one report, and hours spent elsewhere."""
    fit, _ = likelihood(table, read(OHMS_OF_FUSE, 151e3))
    blown = [n for n, h in enumerate(table.hypotheses) if h.modes[:1] == (ModeAt(part="fuse", mode="open"),)]
    assert fit[table.cells.owner == blown[0]].mean() > 3 * fit[table.cells.owner == 0].mean()


def test_a_figure_told_without_decimals_is_taken_as_rounded(table: FaultTable) -> None:
    exact, _ = likelihood(table, read(FUSE_OUT, 9.0))
    told, _ = likelihood(table, replace(read(FUSE_OUT, 9.0), within=0.5))
    healthy = table.cells.owner == 0
    assert told[healthy].mean() > 3 * exact[healthy].mean()


def test_what_was_touched_last_gets_its_share_of_the_prior(table: FaultTable) -> None:
    factors = raised_by(table.hypotheses, table.solver.network.boat, Lately(touched=frozenset({"lamp"})))
    prior = believe(table, (), factors).prior.sum(axis=1)
    near = places_near(table.solver.network.boat, frozenset({"lamp"}))
    named = [n for n, h in enumerate(table.hypotheses) if h.modes and h.modes[0].part in near]
    inside = prior[np.isin(table.cells.owner, named)].sum()
    assert inside == pytest.approx(TOUCHED_SHARE)


def test_a_part_replaced_without_cure_keeps_little_and_its_joints_gain(table: FaultTable) -> None:
    boat = table.solver.network.boat
    factors = raised_by(table.hypotheses, boat, Lately(replaced=frozenset({"lamp"})))
    at = {h.modes[0].part: f for h, f in zip(table.hypotheses, factors, strict=True) if h.modes}
    assert at["lamp"] == REPLACED_KEEPS
    joints = [factor for place, factor in at.items() if "lamp" in place and place != "lamp"]
    assert joints
    assert min(joints) >= 1.0 > at["fuse"] * at["lamp"]


def test_what_was_mended_keeps_next_to_nothing_and_other_work_at_the_same_place_its_weight(
    table: FaultTable,
) -> None:
    at_fuse = {h.repairs[0] for h in table.hypotheses if h.repairs and h.repairs[0].place == "fuse"}
    mended = min(at_fuse)
    factors = raised_by(table.hypotheses, table.solver.network.boat, Lately(mended=frozenset({mended})))
    of = {h.repairs[0]: f for h, f in zip(table.hypotheses, factors, strict=True) if h.repairs}
    assert of.pop(mended) == MENDED_KEEPS < REPLACED_KEEPS
    assert set(of.values()) == {1.0}


def test_after_water_what_is_cured_by_drying_gets_its_share(table: FaultTable) -> None:
    factors = raised_by(table.hypotheses, table.solver.network.boat, Lately(wet=True))
    prior = believe(table, (), factors).prior.sum(axis=1)
    dry = [n for n, h in enumerate(table.hypotheses) if h.repairs[:1] and h.repairs[0].action is Action.DRY]
    assert prior[np.isin(table.cells.owner, dry)].sum() == pytest.approx(WET_SHARE)
