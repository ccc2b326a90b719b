"""Boat states as values."""

from assistant.circuit import BoatState, ready_state, rest_state
from tests.support.boats import example_boats

BOATS = example_boats()


def test_states_with_the_same_settings_are_equal_whatever_their_order() -> None:
    one, other = BoatState.of({"a": 1, "b": 0.5}), BoatState.of({"b": 0.5, "a": 1.0})
    assert one == other
    assert len({one, other}) == 1


def test_missing_key_stands_at_nothing() -> None:
    assert BoatState.of({}).get("helm") == 0.0


def test_changes_lead_from_one_state_to_the_other() -> None:
    boat = BOATS["grebe"]
    rest, ready = rest_state(boat), ready_state(boat)
    assert rest.with_(rest.changes_to(ready)) == ready
    assert rest.changes_to(rest) == {}


def test_ready_boat_has_everything_plugged_and_its_sticks_at_rest() -> None:
    ready = ready_state(BOATS["grebe"])
    assert ready.get("pack.plugged") == ready.get("transmitter") == 1.0
    assert [ready.get(c) for c in ("throttle", "steer", "power")] == [0.0, 0.0, -1.0]
