"""Settings of the radio as parts: which there are, and that nothing can be touched on them."""

from assistant.catalogue import Group
from assistant.wiring import Boat, described_parts, label_of, load_boat, points_of, radio_ids
from tests.support.boats import example_boats, read_catalogue
from tests.wiring import kinds as plain

BOATS = example_boats()


def kinds(boat: Boat) -> dict[str, str]:
    return {part: boat.parts[part].kind.name for part in sorted(radio_ids(boat))}


def test_every_channel_pair_of_channels_and_the_memory_is_a_part() -> None:
    assert kinds(BOATS["dabchick"]) == {
        "channel 1": "channel",
        "channel 2": "channel",
        "channels 1 and 2": "channel pair",
        "model memory": "model memory",
    }
    assert kinds(BOATS["wigeon"])["channel 1"] == "mixed channel"
    assert sum(kind == "channel pair" for kind in kinds(BOATS["grebe"]).values()) == 6


def test_plugs_of_two_receivers_are_no_pair() -> None:
    text = BOATS["dabchick"].text.replace(
        "channels: {1: rudder, 2: drive}",
        "channels: {1: {to: rudder, receiver: other}, 2: {to: drive, receiver: receiver}}",
    )
    text = text.replace("  rudder:   {kind: servo}", "  rudder:   {kind: servo}\n  other: {kind: receiver}")
    boat = load_boat(text, "two.yaml", read_catalogue())
    assert sorted(radio_ids(boat)) == ["channel 1", "channel 2", "model memory"]


def test_they_are_called_by_name_and_have_no_points() -> None:
    boat = BOATS["dabchick"]
    assert label_of(boat, "channels 1 and 2") == "channels 1 and 2"
    assert not radio_ids(boat) & {point.part for point in points_of(boat)}
    assert not radio_ids(boat) & set(described_parts(boat))
    assert all(boat.parts[part].kind.group is Group.SETTING for part in radio_ids(boat))
    assert boat.parts["channel 2"].mark is not None


def test_boat_without_radio_has_none() -> None:
    text = "boat: Coot\nparts:\n  pack: {kind: nimh pack, cells: 4, capacity: 2 Ah}\n"
    text += "  lamp: {kind: lamp, rated: 5 V at 0.2 A}\n"
    text += "runs:\n  - [pack +, 22 AWG 10 cm, lamp +]\n  - [pack -, 22 AWG 10 cm, lamp -]\n"
    assert radio_ids(load_boat(text, "coot.yaml", read_catalogue())) == frozenset()


def test_catalogue_without_such_kinds_describes_radios_that_are_set_up_right() -> None:
    boat = load_boat(plain.BOAT, "plain.yaml", plain.small_catalogue())
    assert boat.radio.channels
    assert radio_ids(boat) == frozenset()
