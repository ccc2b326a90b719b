"""Words for what goes on and off for ever."""

from assistant.diagnosis import Unrest
from assistant.dialogue.words import unrest_text
from tests.support.boats import example_boats


def test_what_never_rests_is_told_with_its_rate() -> None:
    boat = example_boats()["grebe"]
    unrest = Unrest(parts=("relay", "receiver", "rudder", "port-drive"), turn_s=1.6)
    assert unrest_text(boat, unrest) == (
        "With that, relay, receiver and 2 more would go off and come back about every 2 seconds."
    )
    assert "relay would go off" in unrest_text(boat, Unrest(parts=("relay",), turn_s=0.015))
