"""How a boat is divided into feeds."""

import numpy as np
import pytest

from assistant.circuit import build_network, make_solver
from assistant.circuit.elimination import eliminate
from assistant.circuit.feeds import divided
from tests.bench.measures import branched_boat
from tests.support.boats import example_boats

PARTS = 40


@pytest.mark.parametrize("name", list(example_boats()))
def test_a_boat_with_anything_but_straight_elements_is_not_divided(name: str) -> None:
    assert divided(make_solver(build_network(example_boats()[name])).frame).feeds == ()


def test_a_small_boat_is_not_divided() -> None:
    assert divided(make_solver(build_network(branched_boat(6))).frame).feeds == ()


def test_every_part_is_in_one_feed_with_all_that_it_stands_on() -> None:
    network = build_network(branched_boat(PARTS))
    division = divided(make_solver(network).frame)
    parts = [part for feed in division.feeds for part in feed.parts]
    assert len(parts) == len(set(parts))
    assert set(network.parts) - set(parts) == {"plus", "minus"}
    for feed in division.feeds:
        own = feed.frame.network
        assert {element.part for element in own.elements} == feed.parts
        for number, element in zip(feed.elements.tolist(), own.elements, strict=True):
            whole = network.elements[number]
            assert (element.part, element.name) == (whole.part, whole.name)
            assert [own.nodes[n] for n in element.nodes] == [network.nodes[n] for n in whole.nodes]
        for number, condition in zip(feed.conditions.tolist(), own.conditions, strict=True):
            assert (condition.part, condition.name) == (
                network.conditions[number].part,
                network.conditions[number].name,
            )


def test_eliminated_equations_of_a_feed_are_those_of_the_whole_boat() -> None:
    network = build_network(branched_boat(PARTS))
    frame = make_solver(network).frame
    values = np.zeros((network.pattern.entries, 1))
    for (a, b), slot in network.pattern.slots.items():
        values[slot] = 10.0 + a if a == b else -1.0 / (1.0 + abs(a - b))
    whole, sides = values.copy(), np.arange(1.0, network.pattern.size + 1.0)[:, None]
    whole_sides = sides.copy()
    eliminate(network.pattern.steps, whole, whole_sides)
    for feed in divided(frame).feeds:
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
