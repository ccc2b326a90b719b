"""What is said of sticks that stay where they are."""

from assistant.circuit import ready_state
from assistant.dialogue.states import held
from tests.dialogue.boats import boat


def test_of_a_servo_it_is_said_where_its_own_stick_stands_even_at_rest() -> None:
    dabchick = boat("dabchick")
    running = ready_state(dabchick).with_({"throttle": 1.0})
    assert held(dabchick, running, ()) == ("throttle stick: hold fully forward",)
    seen = set(held(dabchick, running, (), "rudder"))
    assert seen == {"throttle stick: hold fully forward", "helm stick: let go, in the middle"}
    assert held(dabchick, running, (), "drive") == held(dabchick, running, ())
