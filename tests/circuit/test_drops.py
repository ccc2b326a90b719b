from functools import cache

import pytest

from assistant.circuit import Solver, Variant, build_network, drops_along, make_solver, ready_state
from assistant.dialogue.roles import way_through
from tests.dialogue.boats import boat


@cache
def solver(name: str) -> Solver:
    return make_solver(build_network(boat(name)))


@pytest.mark.parametrize(
    ("name", "part", "moved"),
    [
        ("dabchick", "pump", {"throttle": 1.0}),
        ("grebe", "port-pump", {"throttle": 1.0, "power": 1.0}),
        ("grebe", "mast-lamp", {"power": 1.0}),
    ],
)
def test_the_drops_add_up_to_what_the_pack_gives_and_the_device_takes_most(
    name: str, part: str, moved: dict[str, float]
) -> None:
    ready = solver(name)
    state = ready_state(boat(name)).with_(moved)
    drops = drops_along(ready, state, way_through(boat(name), part))
    volts = ready.solve(state, [Variant()]).phase.volts[:, 0]
    way = way_through(boat(name), part)
    gives = volts[ready.network.node(way[0])] - volts[ready.network.node(way[-1])]
    assert sum(drop.drop_v for drop in drops) == pytest.approx(float(gives), abs=1e-9)
    assert max(drops, key=lambda drop: drop.drop_v).part == part
    assert len({drop.part for drop in drops}) >= len(drops) - 1, "a drive is passed on the way in and out"
    assert all(drop.drop_v > 0.0 for drop in drops)
