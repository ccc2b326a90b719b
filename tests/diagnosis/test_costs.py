"""What a step costs."""

from assistant.catalogue import Look, Reach
from assistant.diagnosis.costs import look_seconds, probe_seconds, state_seconds
from assistant.wiring import points_of, reach_of, settings_of
from tests.diagnosis.boats import SMEW, network_of, ohms, point, ready, unplugged, volts

READY, UNPLUGGED = ready(SMEW), unplugged(SMEW)
BOAT = network_of(SMEW).boat
REACH = {p: reach_of(BOAT, p) for p in points_of(BOAT)}
FIRST = volts("lamp +", "lamp -", READY)


def test_staying_costs_nothing_and_a_change_its_time() -> None:
    assert state_seconds(BOAT, READY, READY) == 0.0
    (plug,) = settings_of(BOAT)
    assert state_seconds(BOAT, UNPLUGGED, READY) == plug.seconds > 0.0


def test_each_probe_moved_costs() -> None:
    again = probe_seconds(REACH, FIRST, FIRST)
    one = probe_seconds(REACH, volts("lamp +", "pack -", READY), FIRST)
    both = probe_seconds(REACH, volts("pack +", "pack -", READY), FIRST)
    assert again < one < both < probe_seconds(REACH, volts("pack +", "pack -", READY), None)
    assert one - again == both - one


def test_a_point_behind_a_cover_costs_more() -> None:
    hidden = {**REACH, point("pack +"): Reach.BEHIND_COVER}
    measurement = volts("pack +", "lamp -", READY)
    assert probe_seconds(hidden, measurement, FIRST) > probe_seconds(REACH, measurement, FIRST)
    assert probe_seconds(hidden, FIRST, None) == probe_seconds(REACH, FIRST, None)


def test_ohms_cost_the_range_and_the_look_at_the_plug() -> None:
    volts_again, ohms_there = volts("lamp +", "lamp -", READY), ohms("lamp +", "lamp -", UNPLUGGED)
    assert probe_seconds(REACH, ohms_there, FIRST) > probe_seconds(REACH, volts_again, FIRST)


def test_feeling_for_warmth_takes_longest() -> None:
    assert max(Look, key=look_seconds) is Look.FEEL
    assert look_seconds(Look.SEE) < probe_seconds(REACH, FIRST, FIRST)
