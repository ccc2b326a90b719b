"""Every pair of points can be typed by its ids."""

from assistant.circuit import MeterFunction
from assistant.drill.commands import Name, Read, SetTo
from assistant.drill.reader import Reader
from assistant.wiring import label_of, point_label
from tests.drill.player import diagnosis


def test_every_reading_can_be_typed() -> None:
    reader = Reader(diagnosis().network.boat)
    for red, black in diagnosis()._pairs:
        command = reader.read(f"volts {red} {black}")
        assert isinstance(command, Read)
        assert (command.red, command.black) == (red, black)


def test_further_functions_have_words_of_their_own() -> None:
    reader = Reader(diagnosis().network.boat)
    for word, function in (
        ("ripple", MeterFunction.AC_MILLIVOLTS),
        ("duty", MeterFunction.DUTY),
        ("hertz", MeterFunction.FREQUENCY),
    ):
        command = reader.read(f"{word} drive + to drive -")
        assert isinstance(command, Read)
        assert command.function is function


def test_every_place_can_be_named_as_it_is_called() -> None:
    boat = diagnosis().network.boat
    reader = Reader(boat)
    labels = [label_of(boat, place) for place in reader.places]
    assert any("," in label for label in labels)
    for place, label in zip(reader.places, labels, strict=True):
        assert reader.read(f"name {label}") == Name(place=place)


def test_the_pack_is_unplugged_and_plugged_in_with_one_word() -> None:
    reader = Reader(diagnosis().network.boat)
    for typed, same in (
        ("unplug", "set pack unplugged"),
        ("unplug the pack", "set pack unplugged"),
        ("plug in", "set pack in"),
    ):
        command = reader.read(typed)
        assert isinstance(command, SetTo)
        assert command == reader.read(same)


def test_every_point_can_be_typed_as_it_is_called() -> None:
    boat = diagnosis().network.boat
    reader = Reader(boat)
    labels = {point: point_label(boat, point) for point in reader.points}
    assert any(" at " in label for label in labels.values())
    for point, label in labels.items():
        for typed in (f"volts {label} to pack -", f"volts between {label} and pack -"):
            command = reader.read(typed)
            assert isinstance(command, Read)
            assert (command.red, str(command.black)) == (point, "pack.-")
