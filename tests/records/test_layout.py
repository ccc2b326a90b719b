from itertools import combinations

import pytest

from assistant.catalogue import Group
from assistant.records.layout import Box, Edge, Plan, plan_of, port_of
from assistant.wiring import Point, described_parts, points_of
from tests.records.examples import boat


def plan(name: str) -> Plan:
    return plan_of(boat(name), {})


def box(name: str, part: str) -> Box:
    return next(one for one in plan(name).boxes if one.part == part)


@pytest.mark.parametrize("name", ["dabchick", "grebe"])
def test_every_part_has_a_row_and_every_lead_a_run(name: str) -> None:
    found = plan(name)
    assert sorted(one.part for one in found.boxes) == sorted(described_parts(boat(name)))
    drawn = [lead for run in found.runs for lead in run.leads]
    assert sorted(drawn) == sorted(boat(name).leads)
    for upper, lower in zip(found.boxes, found.boxes[1:], strict=False):
        assert upper.y + upper.height < lower.y
    assert found.boxes[-1].y + found.boxes[-1].height < found.height


@pytest.mark.parametrize("name", ["dabchick", "grebe"])
def test_it_is_no_wider_than_a_phone(name: str) -> None:
    found = plan(name)
    assert found.width <= 360.0
    assert all(0.0 < run.x < found.width for run in found.runs)
    assert all(not found.left <= run.x <= found.right for run in found.runs)


@pytest.mark.parametrize("name", ["dabchick", "grebe"])
def test_leads_in_one_lane_never_overlap_unless_they_share_their_upper_end(name: str) -> None:
    for one, other in combinations(plan(name).runs, 2):
        if one.edge is other.edge and one.x == other.x and (one.upper, one.thin) != (other.upper, other.thin):
            assert one.lower.y < other.upper.y or other.lower.y < one.upper.y


def test_rows_go_from_the_pack_to_the_load() -> None:
    rows = [one.part for one in plan("dabchick").boxes]
    assert rows == ["pack", "fuse", "switch", "drive", "pump", "receiver", "rudder"]
    rows = [one.part for one in plan("grebe").boxes]
    assert rows[:2] == ["pack", "minus"]
    for nearer, further in (
        ("main-fuse", "main-switch"),
        ("main-switch", "port-drive"),
        ("port-fuse", "port-drive"),
        ("port-drive", "port-pump"),
        ("relay", "lights"),
        ("lights", "mast-lamp"),
    ):
        assert rows.index(nearer) < rows.index(further)


def test_plus_is_on_the_left_and_minus_on_the_right() -> None:
    edges = {port.name: port.edge for port in box("dabchick", "pack").ports}
    assert edges == {"+": Edge.LEFT, "-": Edge.RIGHT}
    assert {port.edge for port in box("grebe", "minus").ports} == {Edge.RIGHT}
    assert {port.edge for port in box("grebe", "feed").ports} == {Edge.LEFT}
    drive = {port.name: port.edge for port in box("dabchick", "drive").ports}
    assert (drive["A"], drive["B"], drive["signal"]) == (Edge.LEFT, Edge.RIGHT, Edge.RIGHT)


def test_signal_leads_are_thin_and_one_line_for_all_cores() -> None:
    thin = [run for run in plan("grebe").runs if run.thin]
    assert len(thin) == len(boat("grebe").radio.channels)
    assert all(run.edge is Edge.RIGHT for run in thin)
    assert max(len(run.leads) for run in thin) == 3


def test_a_bus_has_one_lane_for_all_its_leads() -> None:
    runs = [run for run in plan("grebe").runs if run.upper.part == "minus"]
    assert len(runs) > 5
    assert len({run.x for run in runs}) == 1


@pytest.mark.parametrize("name", ["dabchick", "grebe"])
def test_every_point_finds_its_port_once_text_is_wanted_there(name: str) -> None:
    one = boat(name)
    lines = {port_of(one, point): 1 for point in points_of(one)}
    found = plan_of(one, lines)
    assert all(found.port(one, point) is not None for point in points_of(one))
    assert found.height > plan(name).height


def test_wire_ends_belong_to_the_terminal_they_end_at() -> None:
    one = boat("dabchick")
    assert port_of(one, Point(part="fuse.out--switch.in", terminal="2")) == ("switch", "in")
    assert port_of(one, Point(part="receiver", terminal="2+")) == ("receiver", "2")
    assert port_of(one, Point(part="drive", terminal="s")) == ("drive", "signal")


def test_junctions_are_flat() -> None:
    groups = {one.part: boat("grebe").parts[one.part].kind.group for one in plan("grebe").boxes}
    assert {one.part for one in plan("grebe").boxes if one.flat} == {
        part for part, group in groups.items() if group is Group.JUNCTION
    }


def test_the_same_boat_gives_the_same_plan() -> None:
    assert plan("grebe") == plan("grebe")
