"""How often suspects would let something rattle or restart: told where it tells, in the boat state looked at."""

from functools import cache

import pytest

from assistant.catalogue import Action
from assistant.circuit import BoatState, build_network, ready_state
from assistant.diagnosis import Belief, Diagnosis, RepairId, SignQuery, SignSeen
from assistant.diagnosis.unrest import unrest_of, why_rate
from tests.support.boats import example_boats

FUSE = RepairId(place="fuse", action=Action.REPLACE)


@cache
def dabchick() -> Diagnosis:
    return Diagnosis(build_network(example_boats()["dabchick"]))


def running() -> BoatState:
    return ready_state(dabchick().network.boat).with_({"throttle": 1.0})


def lamp(state: BoatState) -> SignQuery:
    return SignQuery(part="drive", sign="lamp", state=state)


def after(level: str) -> Belief:
    return dabchick().belief([SignSeen(query=lamp(running()), levels=(level,))])


def test_a_bad_contact_lets_the_drive_start_over_and_over_at_its_own_rate() -> None:
    """Behind a few ohms it starts, beeps and breaks down (some seconds); behind many its regulator never comes up."""
    unrest = unrest_of(dabchick().table, after("restarts"), FUSE, running())
    assert unrest is not None
    assert "drive" in unrest.parts
    assert unrest.turn_s == pytest.approx(0.025, rel=0.8) or 1.5 < unrest.turn_s < 6.0


def test_a_repair_that_lets_all_come_to_rest_has_no_rate() -> None:
    gears = RepairId(place="rudder", action=Action.REMAKE)
    assert unrest_of(dabchick().table, after("restarts"), gears, running()) is None
    assert dabchick().unrest(gears, after("restarts")) is None
    assert dabchick().unrest(RepairId(place="nothing", action=Action.SET), after("restarts")) is None


def test_the_rate_is_told_where_a_part_would_restart_and_only_for_signs_that_can() -> None:
    boat, table = dabchick().network.boat, dabchick().table
    assert "over and over" in why_rate(table, after("restarts"), lamp(running()), boat).lower()
    assert not why_rate(table, after("lit"), lamp(ready_state(boat)), boat)
    warmth = SignQuery(part="drive", sign="warmth", state=running())
    assert not why_rate(table, after("restarts"), warmth, boat)


def test_the_rate_of_a_verdict_is_that_of_a_state_that_was_looked_at() -> None:
    unrest = dabchick().unrest(FUSE, after("restarts"))
    assert unrest == unrest_of(dabchick().table, after("restarts"), FUSE, running())
    assert dabchick().unrest(FUSE, dabchick().belief([])) is None
