"""Looks at a test lamp, weighed together: what gives way to the first gives way to the others too."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.circuit import Measurement, lamp_value
from assistant.diagnosis import ReadingSeen
from assistant.diagnosis.belief import believe, likelihood
from assistant.diagnosis.instruments import PULLED
from assistant.diagnosis.lamps import looks_together
from assistant.diagnosis.shown import Shown
from assistant.diagnosis.table import FaultTable, StateTable
from tests.diagnosis.test_lamp import BEFORE, BEHIND, held, smew

Rows = NDArray[np.intp]

LOOKS = tuple(
    ReadingSeen(measurement=m, value=lamp_value("bright")) for m in (BEFORE, BEHIND, held("lamp +", "pack -"))
)


def boat_with(patch: pytest.MonkeyPatch, *, jump: float, pulled: float) -> FaultTable:
    """Return a boat of which one cannot say whether a lamp is bright or dim anywhere: it jumps, or is pulled down."""
    real = StateTable.shown

    def shaky(self: StateTable, readings: Sequence[Measurement], cells: Rows | None = None) -> Shown:
        shown = real(self, readings, cells)
        half, down = np.full_like(shown.values, 0.5), np.full_like(shown.values, pulled)
        return replace(shown, values=half, unrest=np.hypot(jump, PULLED * down), loaded=down)

    patch.setattr(StateTable, "shown", shaky)
    table = smew().table
    return FaultTable(table.solver, table.hypotheses[:3], table.meter)


def logs_of(table: FaultTable, looks: Sequence[ReadingSeen]) -> float:
    return float(looks_together(table, [(look, 0.02) for look in looks], None)[0].mean())


def test_what_gives_way_to_the_lamp_does_so_at_each_look_so_many_weigh_little_more_than_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    table = boat_with(monkeypatch, jump=0.0, pulled=1.2)
    one, all_of_them = logs_of(table, LOOKS[:1]), logs_of(table, LOOKS)
    assert one == pytest.approx(np.log(0.5), abs=0.1)
    assert 1.4 * one < all_of_them < one


def test_the_moment_of_a_stutter_is_another_at_each_look(monkeypatch: pytest.MonkeyPatch) -> None:
    table = boat_with(monkeypatch, jump=0.4, pulled=0.0)
    assert logs_of(table, LOOKS) == pytest.approx(3.0 * logs_of(table, LOOKS[:1]))


@pytest.mark.parametrize("level", ["dark", "dim", "bright"])
def test_one_look_is_as_likely_as_it_is_alone(monkeypatch: pytest.MonkeyPatch, level: str) -> None:
    table = boat_with(monkeypatch, jump=0.1, pulled=1.0)
    look = ReadingSeen(measurement=BEHIND, value=lamp_value(level))
    together = np.exp(looks_together(table, [(look, 0.02)], None)[0])
    assert together == pytest.approx(likelihood(table, look)[0], abs=0.03)


def test_without_a_stutter_looks_are_weighed_each_for_itself() -> None:
    table = smew().table
    logs, factors = looks_together(table, [(look, 0.02) for look in LOOKS], None)
    alone = np.stack([likelihood(table, look)[0] for look in LOOKS])
    calm = np.stack(
        [table.state(look.measurement.state).shown_everywhere(look.measurement).unrest[0] for look in LOOKS]
    ).max(axis=0)
    still = calm < 1e-3
    assert still.any()
    assert logs[still] == pytest.approx(np.log(alone).sum(axis=0)[still], abs=0.02)
    assert factors[:, still] == pytest.approx(alone[:, still], rel=0.02)


def test_order_changes_nothing() -> None:
    beliefs = [believe(smew().table, order) for order in permutations(LOOKS)]
    for one in beliefs[1:]:
        assert one.variants == pytest.approx(beliefs[0].variants)
