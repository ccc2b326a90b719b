import pytest

from assistant.console import Choice, find_choice

SYMPTOMS = [
    Choice(key="pumps-not-running", title="Pumps not running", says=("pump does nothing", "motor refuses")),
    Choice(key="servo-jitter", title="Servo jitter", says=("rudder twitches", "it dances", "hums at centre")),
    Choice(key="relay-clicking", title="Relay clicking", says=("rattles fast", "buzzes over and over")),
    Choice(
        key="receiver-brownout",
        title="Receiver dies or restarts under load",
        says=("lost when throttle is given", "reboots when steering"),
    ),
]


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("2", "servo-jitter"),
        ("servo-jitter", "servo-jitter"),
        ("RELAY", "relay-clicking"),
        ("clicking", "relay-clicking"),
        ("dies", "receiver-brownout"),
        ("Pump does nothing", "pumps-not-running"),
    ],
)
def test_a_number_a_name_or_a_part_of_one_is_taken(typed: str, key: str) -> None:
    found = find_choice(typed, SYMPTOMS)
    assert ([choice.key for choice in found.choices], found.sure) == ([key], True)


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("the rudder is twitching all the time", "servo-jitter"),
        ("my boat reboots when I steer", "receiver-brownout"),
        ("relay buzzing", "relay-clicking"),
        ("the pumps refuse", "pumps-not-running"),
    ],
)
def test_own_words_lead_the_list_but_are_never_acted_on(typed: str, key: str) -> None:
    found = find_choice(typed, SYMPTOMS)
    assert found.choices[0].key == key
    assert not found.sure


def test_a_part_that_several_have_makes_a_short_list() -> None:
    found = find_choice("r", SYMPTOMS)
    assert [choice.key for choice in found.choices] == ["relay-clicking", "receiver-brownout"]
    assert not found.sure


@pytest.mark.parametrize("typed", ["", "  ", "0", "5", "99999999999", "-1", "xyzzy", "\x00", "²", "the boat"])
def test_what_fits_nothing_finds_nothing_sure(typed: str) -> None:
    assert not find_choice(typed, SYMPTOMS).sure


def test_an_empty_list_is_no_trouble() -> None:
    assert find_choice("pump", []).choices == ()
