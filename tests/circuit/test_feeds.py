"""How a boat is divided into feeds."""

import numpy as np
import pytest

from assistant.circuit import build_network, make_solver
from assistant.circuit.elimination import eliminate
from assistant.circuit.feeds import divided
from assistant.wiring import Boat
from tests.bench.measures import branched_boat
from tests.support.boats import example_boats

PARTS = 40


@pytest.mark.parametrize("name", list(example_boats()))
def test_a_boat_of_the_usual_size_is_not_divided(name: str) -> None:
    division = divided(make_solver(build_network(example_boats()[name])).frame)
    assert division.feeds == ()
    assert (division.of_node == -1).all()


@pytest.mark.parametrize("name", list(example_boats()))
def test_what_channels_come_of_is_in_no_feed(name: str) -> None:
    network = build_network(example_boats()[name])
    division = divided(make_solver(network).frame, least=1)
    assert division.feeds
    for part in network.parts.values():
        if part.kind.slots is not None:
            assert all(part.id not in feed.parts for feed in division.feeds)


@pytest.mark.parametrize(
    "boat", [branched_boat(PARTS), *example_boats().values()], ids=lambda boat: boat.name
)
def test_a_part_is_in_one_feed_at_most_with_all_that_it_stands_on(boat: Boat) -> None:
    network = build_network(boat)
    division = divided(make_solver(network).frame, least=1)
    parts = [part for feed in division.feeds for part in feed.parts]
    assert len(parts) == len(set(parts))
    for feed in division.feeds:
        own = feed.frame.network
        assert {element.part for element in own.elements} == feed.parts
        assert [network.elements[e].part in feed.parts for e in range(len(network.elements))].count(
            True
        ) == len(feed.elements)
        for number, element in zip(feed.elements.tolist(), own.elements, strict=True):
            whole = network.elements[number]
            assert (element.part, element.name) == (whole.part, whole.name)
            assert [own.nodes[n] for n in element.nodes] == [network.nodes[n] for n in whole.nodes]
        for number, condition in zip(feed.conditions.tolist(), own.conditions, strict=True):
            there = network.conditions[number]
            assert (condition.part, condition.name) == (there.part, there.name)
        for number, given in zip(feed.inputs.tolist(), own.inputs, strict=True):
            assert own.nodes[given.signal] == network.nodes[network.inputs[number].signal]


def test_eliminated_equations_of_a_feed_are_those_of_the_whole_boat() -> None:
    network = build_network(branched_boat(PARTS))
    frame = make_solver(network).frame
    values = np.zeros((network.pattern.entries, 1))
    for (a, b), slot in network.pattern.slots.items():
        values[slot] = 10.0 + a if a == b else -1.0 / (1.0 + abs(a - b))
    whole, sides = values.copy(), np.arange(1.0, network.pattern.size + 1.0)[:, None]
    whole_sides = sides.copy()
    eliminate(network.pattern.steps, whole, whole_sides)
    for feed in divided(frame, least=1).feeds:
        own = set(feed.way.nodes.tolist()) - set(feed.meeting_nodes.tolist())
        before, before_sides = values.copy(), sides.copy()
        eliminate(
            [s for s in network.pattern.steps if s.pivot not in set(feed.way.nodes)], before, before_sides
        )
        cut, cut_sides = before[feed.way.entries], before_sides[feed.way.nodes]
        eliminate(feed.frame.network.pattern.steps, cut, cut_sides)
        assert own
        assert np.allclose(cut, whole[feed.way.entries], rtol=1e-12, atol=0.0)
        assert np.allclose(cut_sides, whole_sides[feed.way.nodes], rtol=1e-12, atol=0.0)
