"""Every pair of points can be typed by its ids."""

from assistant.circuit import MeterFunction
from assistant.drill.commands import Read
from assistant.drill.reader import Reader
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
