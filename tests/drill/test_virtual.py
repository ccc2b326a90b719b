"""A virtual boat looked at again: what lasts stays, what happens by chance is another draw each time."""

from math import isnan
from random import Random

from assistant.circuit import (
    BoatState,
    Fault,
    Measurement,
    MeterFunction,
    Solver,
    build_network,
    forward_states,
    make_solver,
    ready_state,
    rest_state,
)
from assistant.diagnosis import SignQuery, Wiggle
from assistant.drill import VirtualBoat
from assistant.drill.wording import sign_words
from assistant.wiring import Point
from tests.support.boats import example_boats


def solver_of(boat: str) -> Solver:
    return make_solver(build_network(example_boats()[boat]))


def looks(solver: Solver, fault: Fault, query: SignQuery, seed: int) -> list[str]:
    boat = VirtualBoat(solver, (fault,), Random(seed))
    return [boat.look(query) for _ in range(20)]


def test_a_twitch_is_drawn_anew_at_each_look() -> None:
    solver = solver_of("dabchick")
    query = SignQuery(part="rudder", sign="jitter", state=ready_state(solver.network.boat))
    worn = Fault("rudder", "worn sensor", 0.7)
    seen = looks(solver, worn, query, 1)
    assert len(set(seen)) == 2
    assert seen == looks(solver, worn, query, 1)


def test_how_a_part_is_made_stays_as_it_is() -> None:
    solver = solver_of("grebe")
    query = SignQuery(part="pack", sign="shape", state=rest_state(solver.network.boat))
    seen = [looks(solver, Fault("pack", "dead cell", 0.0), query, seed) for seed in range(12)]
    assert all(len(set(one)) == 1 for one in seen)
    assert len({one[0] for one in seen}) == 2


def test_what_restarts_is_looked_at_with_its_rate() -> None:
    """The regulator of the drive never comes up behind 90 ohm: up in some 20 ms, down in some 5."""
    solver = solver_of("dabchick")
    query = SignQuery(part="drive", sign="lamp", state=ready_state(solver.network.boat))
    boat = VirtualBoat(solver, (Fault("fuse", "corroded", 90.0),), Random(3))
    level, turn_s = boat.look(query), boat.turn_s(query.state)
    assert level == "restarts"
    assert 0.005 < turn_s < 0.05
    assert "times a second: a buzz" in sign_words(solver.network.boat, query, level, turn_s)
    assert "second" not in sign_words(solver.network.boat, query, "lit", turn_s)


def test_what_rests_has_no_rate() -> None:
    solver = solver_of("dabchick")
    boat = VirtualBoat(solver, (), Random(3))
    assert isnan(boat.turn_s(ready_state(solver.network.boat)))


def test_a_place_moved_changes_what_is_watched_only_where_a_fault_comes_and_goes() -> None:
    solver = solver_of("dabchick")
    state = next(
        s
        for s in forward_states(solver.network.boat)
        if VirtualBoat(solver, (), Random(1)).look(_turning(s)) == "runs"
    )
    loose = "pack.+--fuse.in@2"
    volts = Measurement(
        function=MeterFunction.DC_VOLTS,
        red=Point(part="fuse", terminal="in"),
        black=Point(part="pack", terminal="-"),
        state=state,
    )
    fickle = VirtualBoat(solver, (Fault(loose, "loose"),), Random(5), away=0.4)
    lasting = VirtualBoat(solver, (Fault(loose, "open"),), Random(5), away=0.4)
    for watched in (_turning(state), volts):
        for _ in range(4):
            assert fickle.wiggle(Wiggle(place=loose, watched=watched))
            assert not fickle.wiggle(Wiggle(place="fuse", watched=watched))
            assert not lasting.wiggle(Wiggle(place=loose, watched=watched))


def test_a_joint_that_comes_and_goes_is_loose_to_the_hand_also_while_it_conducts() -> None:
    solver = solver_of("dabchick")
    loose = "pack.+--fuse.in@2"
    grip = SignQuery(part=loose, sign="hold", state=rest_state(solver.network.boat))
    boat = VirtualBoat(solver, (Fault(loose, "loose"),), Random(5), away=0.5)
    seen = set()
    for _ in range(12):
        boat.let_time_pass()
        seen.add((boat.is_troubled, boat.look(grip)))
    assert {shown for _, shown in seen} == {"slips"}
    assert {there for there, _ in seen} == {True, False}


def _turning(state: BoatState) -> SignQuery:
    return SignQuery(part="pump", sign="turning", state=state)
