"""The debrief: both paths beside each other on the feed."""

from tests.drill.player import drill_of, hidden_at


def test_the_points_of_the_feed_name_the_checks_that_touched_them_and_where_the_fault_was() -> None:
    hidden = hidden_at(1, 0)
    drill = drill_of(hidden)
    for typed in ("clear", "volts pack.+ pack.-", "look drive lamp", "volts fuse.out pack.-", "end"):
        drill.answer(typed)
    text = drill.events[-1].text
    strip = [line.strip() for line in text.partition("what was hidden:\n")[2].splitlines()]
    yours = {line.partition(": ")[0]: line.partition(": ")[2].partition(" | ")[0] for line in strip}
    assert yours["pack +"] == "1"
    assert yours["fuse out"] == "3"
    assert yours["drive +"] == "-"
    assert any(" | " in line and not line.endswith("| -") for line in strip)
    (place,) = [fault.part for fault in hidden.faults]
    assert place == "drive.A--pump.+"
    starred = next(number for number, line in enumerate(strip) if line.startswith("* "))
    assert strip[starred] == "* lead from drive A to pump +"
    assert "drive A: " in strip[starred - 1]
    assert strip[starred + 1].startswith("pump +: ")


def test_a_check_made_once_more_is_told_as_such() -> None:
    drill = drill_of(hidden_at(1, 0))
    for typed in ("clear", "volts pack.+ pack.-", "volts pack.+ pack.-", "end"):
        drill.answer(typed)
    path = drill.events[-1].text.partition("Your path:\n")[2].partition("Best path:")[0].splitlines()
    assert ["once more" in line for line in path] == [False, True]
