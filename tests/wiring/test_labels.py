"""Plain words for a narrow screen."""

import pytest

from assistant.wiring import Point, label_of, load_boat, point_label, points_of
from tests.wiring.kinds import BOAT, small_catalogue

TEXT = BOAT.replace("  rudder:", "  bus: {kind: bus}\n  rudder:").replace(
    "[pack -, 14 AWG 30 cm plug,", "[pack -, 14 AWG 30 cm plug, bus, 14 AWG 5 cm,"
)
BOAT_READ = load_boat(TEXT, "boat.yaml", small_catalogue())


@pytest.mark.parametrize(
    ("part", "label"),
    [
        ("fuse", "fuse"),
        ("port-pump", "port pump"),
        ("fuse.out--drive.+", "lead from fuse out to drive +"),
        ("fuse.out--drive.+@2", "solder joint at drive +"),
        ("pack.+--fuse.in@1", "plug at pack +"),
        ("pack.+--fuse.in@2", "crimp at fuse in"),
        ("drive.A--port-pump.+@1", "screw at drive A"),
        ("pack.---bus.x@2", "plug at bus (to pack -)"),
        ("bus.x--drive.-@1", "solder joint at bus (to drive -)"),
        ("receiver.2+--drive.r", "channel 2 lead, red wire"),
        ("receiver.2---drive.b@2", "channel 2 minus pin at drive"),
    ],
)
def test_label_of_part(part: str, label: str) -> None:
    assert label_of(BOAT_READ, part) == label


@pytest.mark.parametrize(
    ("part", "terminal", "label"),
    [
        ("fuse", "out", "fuse out"),
        ("bus", "x", "bus"),
        ("receiver", "3+", "receiver 3+"),
        ("fuse.out--drive.+", "1", "wire end at fuse out"),
        ("bus.x--drive.-", "1", "wire end at bus (to drive -)"),
        ("receiver.2s--drive.s", "2", "channel 2 signal wire at drive"),
    ],
)
def test_label_of_point(part: str, terminal: str, label: str) -> None:
    assert point_label(BOAT_READ, Point(part=part, terminal=terminal)) == label


def test_labels_tell_everything_apart() -> None:
    parts = [label_of(BOAT_READ, part) for part in BOAT_READ.parts]
    points = [point_label(BOAT_READ, point) for point in points_of(BOAT_READ)]
    assert len(parts) == len(set(parts))
    assert len(points) == len(set(points))
    assert max(map(len, (*parts, *points))) <= 40
