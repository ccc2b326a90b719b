"""Points: which there are and how a probe reaches them."""

import pytest

from assistant.catalogue import Reach
from assistant.errors import MisuseError
from assistant.wiring import (
    Point,
    described_parts,
    joint_ids,
    lead_of,
    leads_at,
    load_boat,
    points_of,
    reach_of,
    sockets_in_use,
    terminals_of,
)
from tests.wiring.kinds import BOAT, small_catalogue

BOAT_READ = load_boat(BOAT, "boat.yaml", small_catalogue())


def point(part: str, terminal: str) -> Point:
    return Point(part=part, terminal=terminal)


def test_points_are_terminals_and_wire_ends_each_once() -> None:
    points = points_of(BOAT_READ)
    assert len(points) == len(set(points))
    assert point("fuse", "in") in points
    assert point("pack.+--fuse.in", "2") in points
    assert not {p.part for p in points} & joint_ids(BOAT_READ)
    assert len([p for p in points if p.part in BOAT_READ.leads]) == 2 * len(BOAT_READ.leads)


def test_every_lead_ends_at_points() -> None:
    points = set(points_of(BOAT_READ))
    assert {end for lead in BOAT_READ.leads.values() for end in lead.ends} <= points


def test_described_parts_leave_out_wires_and_joints() -> None:
    assert described_parts(BOAT_READ) == ("pack", "fuse", "drive", "port-pump", "receiver", "rudder")


def test_receiver_shows_sockets_in_use_and_a_spare_one() -> None:
    assert sockets_in_use(BOAT_READ, "receiver") == (1, 2)
    names = terminals_of(BOAT_READ, "receiver").keys()
    assert names == {"batt+", "batt-", "1s", "1+", "1-", "2s", "2+", "2-", "3+", "3-"}


@pytest.mark.parametrize(
    ("where", "reach"),
    [
        (point("pack.+--fuse.in", "1"), Reach.OPEN),
        (point("pack.+--fuse.in", "2"), Reach.BEHIND_COVER),
        (point("fuse.out--drive.+", "1"), Reach.SEALED),
        (point("drive.A--port-pump.+", "2"), Reach.OPEN),
        (point("fuse", "in"), Reach.OPEN),
        (point("receiver", "1+"), Reach.BEHIND_COVER),
        (point("receiver", "3+"), Reach.OPEN),
    ],
)
def test_reach(where: Point, reach: Reach) -> None:
    assert reach_of(BOAT_READ, where) is reach


def test_reach_given_by_the_description_wins() -> None:
    text = BOAT.replace("rating: 15 A", "rating: 15 A, reach: {in: sealed}")
    boat = load_boat(text, "boat.yaml", small_catalogue())
    assert reach_of(boat, point("fuse", "in")) is Reach.SEALED
    assert reach_of(boat, point("fuse", "out")) is Reach.OPEN


@pytest.mark.parametrize("where", [point("mast", "x"), point("fuse", "x"), point("pack.+--fuse.in@1", "x")])
def test_unknown_point_is_a_misuse(where: Point) -> None:
    with pytest.raises(MisuseError):
        reach_of(BOAT_READ, where)


def test_leads_by_part_and_by_point() -> None:
    lead = lead_of(BOAT_READ, "pack.+--fuse.in@2")
    assert lead is BOAT_READ.leads["pack.+--fuse.in"]
    assert lead_of(BOAT_READ, "fuse") is None
    assert leads_at(BOAT_READ, point("fuse", "out")) == ("fuse.out--drive.+",)
