"""The boat as a graph of points."""

import networkx as nx

from assistant.catalogue import Primitive
from assistant.wiring import Point, as_graph, load_boat, points_of
from tests.wiring.kinds import BOAT, small_catalogue

BOAT_READ = load_boat(BOAT, "boat.yaml", small_catalogue())
GRAPH = as_graph(BOAT_READ)


def point(part: str, terminal: str) -> Point:
    return Point(part=part, terminal=terminal)


def test_all_points_are_nodes() -> None:
    assert set(points_of(BOAT_READ)) <= set(GRAPH)


def test_path_runs_joint_by_joint() -> None:
    feed = nx.subgraph_view(
        GRAPH, filter_edge=lambda one, other, key: bool(GRAPH.edges[one, other, key]["through"])
    )
    path = nx.shortest_path(feed, point("pack", "+"), point("drive", "+"))
    assert [str(node) for node in path] == [
        "pack.+",
        "pack.+--fuse.in.1",
        "pack.+--fuse.in.2",
        "fuse.in",
        "fuse.out",
        "fuse.out--drive.+.1",
        "fuse.out--drive.+.2",
        "drive.+",
    ]


def test_edges_name_part_and_primitive() -> None:
    edge = GRAPH.edges[point("fuse", "in"), point("fuse", "out"), "fuse:link"]
    assert (edge["part"], edge["primitive"], edge["through"]) == ("fuse", Primitive.RESISTANCE, True)
    joint = GRAPH.get_edge_data(point("pack", "+"), point("pack.+--fuse.in", "1"))
    assert [data["part"] for data in joint.values()] == ["pack.+--fuse.in@1"]


def test_half_bridge_reaches_its_output_from_both_sides() -> None:
    assert GRAPH.has_edge(point("drive", "+"), point("drive", "A"))
    assert GRAPH.has_edge(point("drive", "-"), point("drive", "A"))
    assert not GRAPH.has_edge(point("drive", "+"), point("drive", "-"))


def test_sockets_hang_on_the_rails() -> None:
    assert nx.has_path(GRAPH, point("receiver", "batt+"), point("rudder", "r"))
    assert GRAPH.has_edge(point("receiver", "3+"), point("receiver", "+rail"))
