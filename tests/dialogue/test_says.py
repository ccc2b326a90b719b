"""What people say, in words as told and not as written in the files, leads to the right symptom."""

import pytest

from assistant.console import Choice, find_choice
from tests.dialogue.boats import knowledge

EVERY = [Choice(key=name, title=graph.title, says=graph.says) for name, graph in knowledge().symptoms.items()]

FIRST = [
    ("no power at all since I moved the plugs", "nothing-works"),
    ("it went dead in mid-pond", "nothing-works"),
    ("it just sits there", "pumps-not-running"),
    ("the rudder works but the motor does not", "pumps-not-running"),
    ("only goes after a knock", "pumps-not-running"),
    ("motor spins but no push", "pumps-weak"),
    ("starts strongly, then fades", "pumps-weak"),
    ("cuts out at half throttle", "pumps-weak"),
    ("forward gives me reverse", "wrong-way"),
    ("the boat goes round in circles", "wrong-way"),
    ("runs one way only", "wrong-way"),
    ("motor starts the moment I plug in", "motor-will-not-stop"),
    ("suddenly full astern", "motor-will-not-stop"),
    ("only unplugging helps", "motor-will-not-stop"),
    ("servo tried once, now nothing", "servo-dead"),
    ("the steering is gone", "servo-dead"),
    ("servo is dancing", "servo-jitter"),
    ("rudder moves when I give throttle", "servo-jitter"),
    ("servo jitters", "servo-jitter"),
    ("the servo shakes", "servo-jitter"),
    ("pump stops now and then", "pumps-not-running"),
    ("motor stops at times", "pumps-not-running"),
    ("relay rattles very fast", "relay-clicking"),
    ("relay clicks over and over", "relay-clicking"),
    ("the relay squeals", "relay-clicking"),
    ("relay gives no click", "relay-will-not-close"),
    ("receiver reboots when steering", "receiver-brownout"),
    ("full at rest but low when sticks move", "receiver-brownout"),
    ("the lamp of the receiver blinks", "receiver-no-link"),
    ("works close by, stops far off, comes back when I walk up", "receiver-no-link"),
    ("the new lamp never worked", "lights-out"),
    ("lights are dim on one side", "lights-out"),
    ("new fuse blew at once", "fuse-blows-again"),
    ("fuse holds for a while, then pops", "fuse-blows-again"),
    ("have to unhook the battery after each outing", "pack-flat"),
    ("charger refuses my pack", "pack-flat"),
    ("sounder restarts with the pumps", "instrument-resets"),
    ("strange smell", "something-hot"),
    ("the plug melted", "something-hot"),
    ("pack is swollen", "something-hot"),
]


@pytest.mark.parametrize(("typed", "symptom"), FIRST)
def test_what_people_say_finds_the_symptom(typed: str, symptom: str) -> None:
    found = find_choice(typed, EVERY)
    assert found.choices[0].key == symptom


def test_every_symptom_is_found_by_words_of_people() -> None:
    assert {symptom for _, symptom in FIRST} == knowledge().symptoms.keys()


def test_no_saying_belongs_to_two_symptoms() -> None:
    sayings = [say for choice in EVERY for say in choice.says]
    assert len(sayings) == len(set(sayings))


def test_what_it_is_not_points_to_another_symptom() -> None:
    for graph in knowledge().symptoms.values():
        pointers = {confusion.use for confusion in graph.confusions} - {None}
        assert pointers, graph.id
        assert graph.id not in pointers
