"""The debrief: both paths beside each other on the feed."""

from tests.drill.player import drill_of, hidden_at


def test_the_points_of_the_feed_name_the_checks_that_touched_them() -> None:
    drill = drill_of(hidden_at(1, 0))
    for typed in ("clear", "volts pack.+ pack.-", "look drive lamp", "volts fuse.out pack.-", "end"):
        drill.answer(typed)
    text = drill.events[-1].text
    strip = text.partition("(yours | best):\n")[2].splitlines()
    yours = {line.partition(":")[0].strip(): line.partition(": ")[2].partition(" | ")[0] for line in strip}
    assert yours["pack +"] == "1"
    assert yours["fuse out"] == "3"
    assert any(not line.endswith("| -") for line in strip)
