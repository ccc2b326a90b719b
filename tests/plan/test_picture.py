"""The picture of a boat: every lead once, with its size; branches where they leave; what the radio commands."""

import re

import pytest

from assistant.plan.picture import DRAWN, TYPED, picture
from assistant.wiring import Boat
from tests.plan.boats import boat_of, example

EXAMPLES = ("dabchick", "grebe", "pochard", "wigeon")

TWO_LAMPS = """
boat: Teal
parts:
  pack: {kind: nimh pack, cells: 6, capacity: 3.3 Ah}
  fuse: {kind: blade fuse, rating: 5 A}
  port: {kind: lamp, rated: 6 V at 0.2 A}
  starboard: {kind: lamp, rated: 6 V at 0.2 A}
runs:
  - [pack +, 14 AWG 10 cm, fuse, 20 AWG 10 cm, port +]
  - [fuse out, 1 mm2 10 cm, starboard +]
  - [port -, 20 AWG 10 cm, pack -]
  - [starboard -, 20 AWG 10 cm, pack -]
"""


def drawn(boat: Boat) -> list[str]:
    return [f"{line.first}{line.text}" for line in picture(boat, TYPED)]


def test_a_trainer_is_drawn_line_by_line() -> None:
    assert drawn(example("dabchick")) == [
        "pack + -14- fuse (15 A) -14- switch -14- drive +",
        "pack - -14- drive -",
        "drive A -16- pump +",
        "drive B -16- pump -",
        "channel 1 ~~ rudder (helm +100%)",
        "channel 2 ~~ drive (throttle +100%)",
    ]


def test_where_several_leave_each_starts_a_line_of_its_own() -> None:
    out, port, starboard, minus, *others = drawn(boat_of(TWO_LAMPS))
    assert out == "pack + -14- fuse (5 A)"
    assert port == "+-20- port +"
    assert starboard == "+-1mm²- starboard +"
    assert [minus, *others] == ["pack -", "+-20- port -", "+-20- starboard -"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_lead_is_drawn_once_and_no_lead_of_a_channel(name: str) -> None:
    boat = example(name)
    sizes = [size for line in drawn(boat) for size in re.findall(r"-([0-9][0-9.]*(?:mm²)?)-(?= )", line)]
    assert len(sizes) == sum(lead.cable is None for lead in boat.leads.values())


@pytest.mark.parametrize("name", EXAMPLES)
def test_drawn_strokes_say_what_typed_ones_do(name: str) -> None:
    boat = example(name)
    strokes = str.maketrans({"─": "-", "├": "+", "└": "+", "│": "|"})
    assert [f"{line.first}{line.text}".translate(strokes) for line in picture(boat, DRAWN)] == drawn(boat)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_broken_line_goes_on_below_where_it_began(name: str) -> None:
    for line in picture(example(name), TYPED):
        assert len(line.rest) >= len(line.first)
        assert set(line.rest) <= {" ", "|"}
