"""Cores that run together: which cables there are, what they are called, and that they add no points."""

import pytest

from assistant.wiring import cable_ids, described_parts, label_of, load_boat, points_of
from tests.support.boats import example_boats, read_catalogue
from tests.wiring.test_points import BOAT_READ

BOATS = example_boats()


@pytest.mark.parametrize("name", sorted(BOATS))
def test_every_cable_is_a_part_that_adds_no_points_and_is_not_described(name: str) -> None:
    boat = BOATS[name]
    cables = {lead.cable for lead in boat.leads.values() if lead.cable}
    assert cable_ids(boat) == {f"{cable} lead" for cable in cables}
    assert not cable_ids(boat) & {point.part for point in points_of(boat)}
    assert not cable_ids(boat) & set(described_parts(boat))


def test_a_cable_is_called_by_its_channel_and_points_to_its_line() -> None:
    boat = BOATS["dabchick"]
    assert label_of(boat, "channel 1 lead") == "channel 1 lead"
    assert boat.parts["channel 1 lead"].mark == boat.parts["receiver.1s--rudder.s"].mark


def test_a_cable_whose_red_core_is_cut_has_two_cores() -> None:
    text = BOATS["dabchick"].text.replace("{1: rudder,", "{1: {to: rudder, cut: +},")
    boat = load_boat(text, "cut.yaml", read_catalogue())
    assert boat.parts["channel 1 lead"].kind.name == "cut signal cable"
    assert boat.parts["channel 2 lead"].kind.name == "signal cable"
    assert set(boat.parts["channel 1 lead"].kind.faults) == {"signal to minus"}


def test_a_catalogue_without_cables_has_none() -> None:
    assert any(lead.cable for lead in BOAT_READ.leads.values())
    assert not cable_ids(BOAT_READ)
