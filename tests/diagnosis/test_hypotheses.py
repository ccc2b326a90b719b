"""The stories of what may be wrong, and their weights before any answer."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.catalogue import Action, Severity
from assistant.circuit import Network
from assistant.diagnosis import NO_HISTORY, History, Hypothesis, RepairId
from assistant.diagnosis.hypotheses import (
    HEALTHY_SHARE,
    LADDER,
    TOUCHED_SHARE,
    places_near,
    severity_grid,
    single_faults,
)
from assistant.quantities import Unit
from tests.diagnosis.boats import GARGANEY, MINUS_LEAD, PLUS_LEAD, SMEW, network_of


@pytest.fixture(scope="module")
def smew() -> Network:
    return network_of(SMEW)


def share_of(stories: tuple[Hypothesis, ...], places: frozenset[str]) -> float:
    """Return the share of the faults that lie at some places."""
    faults = [h for h in stories if h.modes]
    return sum(h.weight for h in faults if h.modes[0].part in places) / sum(h.weight for h in faults)


def severity(low: float, high: float, *, log: bool) -> Severity:
    return Severity(unit=Unit.OHM, low=low, high=high, log=log)


def test_healthy_boat_first_then_every_mode_of_every_part_once(smew: Network) -> None:
    healthy, *faults = single_faults(smew)
    assert (healthy.modes, healthy.repairs, healthy.weight) == ((), (), HEALTHY_SHARE)
    named = [(h.modes[0].part, h.modes[0].mode) for h in faults]
    described = [
        (part.id, fault.name)
        for part in smew.parts.values()
        for fault in part.kind.faults.values()
        if fault.follows is None and fault.share > 0.0
    ]
    assert sorted(named) == sorted(described)
    assert ("fuse", "blown") not in named
    assert sum(h.weight for h in (healthy, *faults)) == pytest.approx(1.0)


def test_weight_is_proneness_of_the_kind_times_share_of_the_mode(smew: Network) -> None:
    """Between faults of one family; families are drawn towards how often they were reported."""
    weights = {(h.modes[0].part, h.modes[0].mode): h.weight for h in single_faults(smew) if h.modes}
    lamp, fuse = (smew.parts[p].kind for p in ("lamp", "fuse"))
    expected = lamp.weight * lamp.faults["socket"].share / (fuse.weight * fuse.faults["clip"].share)
    assert weights["lamp", "socket"] / weights["fuse", "clip"] == pytest.approx(expected)
    expected = lamp.weight * lamp.faults["burnt out"].share / (fuse.weight * fuse.faults["open"].share)
    assert weights["lamp", "burnt out"] / weights["fuse", "open"] == pytest.approx(expected)


def test_both_sides_of_a_feed_weigh_alike() -> None:
    weights: dict[tuple[str, str], float] = {}
    for story in single_faults(network_of(GARGANEY)):
        for mode in story.modes:
            weights[mode.part, mode.mode] = story.weight
    plus = {key: weight for key, weight in weights.items() if key[0].startswith(PLUS_LEAD)}
    assert len(plus) > 6
    for (place, name), weight in plus.items():
        assert weights[place.replace(PLUS_LEAD, MINUS_LEAD), name] == pytest.approx(weight)


@pytest.mark.parametrize("touched", ["fuse", "fuse.out--lamp.+", "pack.---lamp.-"])
def test_what_was_touched_last_gets_its_share(smew: Network, touched: str) -> None:
    near = places_near(smew.boat, frozenset({touched}))
    before = single_faults(smew)
    after = single_faults(smew, History(touched=frozenset({touched})))
    assert share_of(before, near) < TOUCHED_SHARE
    assert share_of(after, near) == pytest.approx(TOUCHED_SHARE)
    assert sum(h.weight for h in after) == pytest.approx(1.0)
    inside = [
        (b.weight, a.weight)
        for b, a in zip(before, after, strict=True)
        if b.modes and b.modes[0].part in near
    ]
    assert np.ptp([a / b for b, a in inside]) == pytest.approx(0.0, abs=1e-9)


def test_what_is_prone_anyway_is_not_lowered_by_being_touched(smew: Network) -> None:
    near = places_near(smew.boat, frozenset({"pack"}))
    assert share_of(single_faults(smew), near) > TOUCHED_SHARE
    assert single_faults(smew, History(touched=frozenset({"pack"}))) == single_faults(smew)


def test_a_touched_part_reaches_to_its_leads_and_near_joints(smew: Network) -> None:
    assert places_near(smew.boat, frozenset({"fuse"})) == {
        "fuse",
        "pack.+--fuse.in",
        "pack.+--fuse.in@2",
        "fuse.out--lamp.+",
        "fuse.out--lamp.+@1",
    }
    lead = "pack.---lamp.-"
    assert places_near(smew.boat, frozenset({lead})) == {lead, f"{lead}@1", f"{lead}@2"}


def test_a_past_repair_counts_again(smew: Network) -> None:
    repair = RepairId(place="fuse", action=Action.REMAKE)
    odds = []
    for history in (NO_HISTORY, History(past={repair: 2})):
        stories = single_faults(smew, history)
        behind = sum(h.weight for h in stories if h.repairs[:1] == (repair,))
        odds.append(behind / (1.0 - HEALTHY_SHARE - behind))
    assert odds[1] == pytest.approx(3.0 * odds[0])


def test_a_mode_without_severity_has_one_cell() -> None:
    assert len(severity_grid(None)) == 1


@given(st.floats(1e-3, 1e3), st.floats(1.0, 1e4))
def test_ladder_lies_inside_its_range_with_even_steps(low: float, ratio: float) -> None:
    grid = severity_grid(severity(low, low * ratio, log=True))
    assert min(grid) >= low * (1.0 - 1e-6)
    assert max(grid) <= low * ratio * (1.0 + 1e-6)
    assert np.diff(np.log10(grid)) == pytest.approx([1.0 / LADDER] * (len(grid) - 1))
    assert len(grid) == 1 or np.log10(grid[0] / low) < 1.0 / LADDER


def test_modes_share_the_rungs_of_the_ladder() -> None:
    wire, joint = (severity_grid(severity(low, high, log=True)) for low, high in ((0.05, 100.0), (0.7, 20.0)))
    assert set(joint) < set(wire)


def test_even_grid_runs_from_end_to_end() -> None:
    grid = severity_grid(severity(0.0, 0.3, log=False))
    assert (grid[0], grid[-1]) == (0.0, 0.3)
    assert np.ptp(np.diff(grid)) == pytest.approx(0.0, abs=1e-12)
