"""The boats that come with the program."""

from pathlib import Path

import networkx as nx
import pytest

from assistant.catalogue import Catalogue, Group, load_catalogue
from assistant.wiring import (
    Boat,
    Point,
    as_graph,
    cable_ids,
    label_of,
    load_boat,
    point_label,
    points_of,
    settings_of,
)

ROOT = Path(__file__).resolve().parents[2]
BOATS = sorted(path.name for path in (ROOT / "cases").glob("*.yaml"))


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    files = (ROOT / "knowledge" / "parts").glob("*.yaml")
    return load_catalogue({str(path): path.read_text(encoding="utf-8") for path in files})


def read(name: str, catalogue: Catalogue) -> Boat:
    return load_boat((ROOT / "cases" / name).read_text(encoding="utf-8"), name, catalogue)


@pytest.mark.parametrize("name", BOATS)
def test_boat_loads_and_hangs_together(name: str, catalogue: Catalogue) -> None:
    boat = read(name, catalogue)
    graph = as_graph(boat)
    packs = [part.id for part in boat.parts.values() if part.kind.group is Group.PACK]
    reached = [nx.node_connected_component(graph, Point(part=pack, terminal="-")) for pack in packs]
    fed = {point.part for points in reached for point in points}
    untouchable = {Group.JOINT, Group.SETTING}
    touched = {part.id for part in boat.parts.values() if part.kind.group not in untouchable}
    assert touched - cable_ids(boat) <= fed


@pytest.mark.parametrize("name", BOATS)
def test_labels_tell_everything_apart_and_are_short(name: str, catalogue: Catalogue) -> None:
    boat = read(name, catalogue)
    parts = [label_of(boat, part) for part in boat.parts]
    points = [point_label(boat, point) for point in points_of(boat)]
    assert len(parts) == len(set(parts))
    assert len(points) == len(set(points))
    assert max(map(len, (*parts, *points))) <= 50


def test_grebe_has_one_red_wire_cut(catalogue: Catalogue) -> None:
    boat = read("grebe.yaml", catalogue)
    assert "receiver.2+--port-drive.r" in boat.leads
    assert "receiver.3+--starboard-drive.r" not in boat.leads
    assert dict(boat.radio.channels[3].mix) == {"throttle": 1.0, "steer": -0.5}


@pytest.mark.parametrize(
    ("name", "steering"), [("dabchick.yaml", "helm"), ("grebe.yaml", "steer"), ("wigeon.yaml", "steer")]
)
def test_the_stick_that_steers_goes_to_the_sides_and_the_throttle_does_not(
    name: str, steering: str, catalogue: Catalogue
) -> None:
    ends = {setting.id: (setting.off_word, setting.on_word) for setting in settings_of(read(name, catalogue))}
    assert ends[steering] == ("fully left", "fully right")
    assert ends["throttle"] == ("fully back", "fully forward")
