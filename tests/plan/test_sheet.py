"""The sheet of readings: all points, in the order of walking, with bands that hold and a supposed fault beside."""

import re
from functools import cache
from html.parser import HTMLParser

import numpy as np
import pytest

from assistant.catalogue import Reach
from assistant.circuit import CHEAP_METER, Fault, MeterFunction, build_network, last_digit
from assistant.diagnosis import Diagnosis
from assistant.errors import AnswerError
from assistant.plan import Sheet, html, markdown, readings_sheet, text_lines
from assistant.plan.expected import expected, readings_at, supposed_volts
from assistant.plan.suppose import supposed_fault
from assistant.plan.walk import walk
from assistant.wiring import Point, points_of, reach_of
from tests.plan.boats import SOUND, boat_of, but, example
from tests.plan.paper_walk import boat_with, diagnosis_of, knowledge

SUPPOSED = "2 ohm at plug at pack +"


@cache
def sheet(suppose: str = "") -> Sheet:
    return readings_sheet(diagnosis_of("dabchick"), knowledge(), suppose=suppose)


class Checker(HTMLParser):
    """Notes tags, and that each that is opened is closed in turn."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: set[str] = set()

    def handle_starttag(self, tag: str, attrs: object) -> None:  # noqa: ARG002 - the name is the parser's
        self.seen.add(tag)
        if tag not in {"meta", "br"}:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


@pytest.mark.parametrize("name", ["dabchick", "grebe"])
def test_every_point_a_probe_reaches_is_walked_once(name: str) -> None:
    boat = example(name)
    walked = [point for stretch in walk(boat).values() for point in stretch]
    assert len(walked) == len(set(walked))
    assert set(walked) == {p for p in points_of(boat) if reach_of(boat, p) is not Reach.SEALED}


def test_the_walk_goes_from_the_pack_to_the_load_and_back() -> None:
    labels = [row.label for stretch in sheet().stretches for row in stretch.rows]
    wanted = ["pack +", "fuse in", "fuse out", "switch in", "switch out", "drive +", "drive A", "pump +"]
    wanted += ["receiver batt+", "rudder s", "drive -"]
    assert [label for label in labels if label in wanted] == wanted


def test_states_that_no_meter_tells_apart_share_a_column() -> None:
    words = [column.words for column in sheet().columns]
    assert words[:2] == ["pack plugged in, all else off", "all on, sticks let go"]
    assert len(words) == len(set(words)) == 6


def test_healthy_boats_keep_the_bands() -> None:
    diagnosis = diagnosis_of("dabchick")
    found = expected(diagnosis)
    boats = [boat_with(diagnosis, (), f"band {n}") for n in range(12)]
    held = []
    for boat in boats:
        for state, bands in found.bands.items():
            for reading in readings_at(diagnosis, state, bands):
                shown, band = boat.read(reading), bands[reading.red]
                # The display rounds to its last digit, and so do the printed limits.
                rounding = 0.5 * float(last_digit(CHEAP_METER, MeterFunction.DC_VOLTS, np.array(abs(shown))))
                held.append(band.low - rounding <= shown <= band.high + rounding)
    assert sum(held) >= 0.98 * len(held)


def test_no_volts_behind_an_open_fuse_point_at_the_fuse() -> None:
    rows = {row.label: row for stretch in sheet().stretches for row in stretch.rows}
    assert any("fuse" in text and " none: " in text for text in rows["fuse out"].otherwise)
    assert all("fuse out" not in text for text in rows["fuse in"].otherwise)


def test_a_supposed_fault_shows_behind_it_and_not_before_it() -> None:
    rows = {row.label: row for stretch in sheet(SUPPOSED).stretches for row in stretch.rows}
    running = next(n for n, c in enumerate(sheet().columns) if "throttle fully forward" in c.words)
    assert not rows["pack +"].supposed[running][1]
    assert rows["fuse in"].supposed[running][1]
    assert "joint" in sheet(SUPPOSED).supposed or "plug at pack +" in sheet(SUPPOSED).supposed


def test_a_supposed_fault_that_never_rests_is_told_with_its_rate_and_where() -> None:
    """The drive's own feed breaks down as soon as it runs: it starts, beeps, and breaks down again."""
    told = sheet("2.2 ohm at fuse").supposed
    running = next(c.letter for c in sheet().columns if "throttle fully forward" in c.words)
    assert re.search(rf"goes on and off for ever, in .*{running}.* about every \d seconds", told), told
    assert "for ever" not in sheet("0.2 ohm at fuse").supposed


def test_a_supposed_open_fuse_leaves_nothing_behind_it() -> None:
    diagnosis = diagnosis_of("dabchick")
    points = [Point(part="fuse", terminal="in"), Point(part="fuse", terminal="out")]
    state = expected(diagnosis).states[1]
    volts = supposed_volts(diagnosis, Fault(part="fuse", mode="open"), state, points)
    assert volts[points[0]] > 7.0
    assert abs(volts[points[1]]) < 0.1


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("2 ohm at plug at pack +", Fault(part="pack.+--fuse.in@1", mode="poor", severity=2.0)),
        ("R47 at pack.+--fuse.in@1", Fault(part="pack.+--fuse.in@1", mode="poor", severity=0.47)),
        ("open at fuse", Fault(part="fuse", mode="open")),
        ("Dead at drive", Fault(part="drive", mode="dead")),
    ],
)
def test_a_supposed_fault_is_understood(text: str, fault: Fault) -> None:
    assert supposed_fault(example("dabchick"), text) == fault


@pytest.mark.parametrize(
    ("text", "mode"),
    [
        ("signal touches minus at channel 1 lead", "signal to minus"),
        ("signal and minus touching in rudder lead", "signal to minus"),
        ("signal shorted to plus in the lead of rudder", "signal to red"),
        ("red and minus cores touch at rudder cable", "supply shorted"),
        ("supply shorted on rudder lead", "supply shorted"),
    ],
)
def test_cores_that_touch_are_supposed_as_people_put_it(text: str, mode: str) -> None:
    fault = supposed_fault(example("dabchick"), text)
    assert (fault.part, fault.mode) == ("channel 1 lead", mode)


def test_cores_that_touch_without_saying_which_are_asked_back_with_the_choices() -> None:
    with pytest.raises(AnswerError, match="more than one fault") as refused:
        supposed_fault(example("dabchick"), "touching cores at rudder lead")
    assert refused.value.next_step == "name one of: supply shorted, signal to minus, signal to red"


@pytest.mark.parametrize(
    "place", ["screw at step-down out", "screw at step down out", "Screw at Step-Down  OUT"]
)
def test_a_place_is_known_with_and_without_the_hyphens_of_the_description(place: str) -> None:
    assert supposed_fault(example("grebe"), f"2 ohm at {place}").part == "step-down.out--relay.+@1"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2 ohm", "no place is named"),
        ("2 ohm at keel", "there is no such place"),
        ("2 ohm at channel", "more than one place"),
        ("sunk at fuse", "does not fail that way"),
    ],
)
def test_what_cannot_be_supposed_is_refused_with_what_can(text: str, said: str) -> None:
    with pytest.raises(AnswerError, match=said) as refused:
        supposed_fault(example("dabchick"), text)
    assert refused.value.next_step


def test_the_page_stands_alone_and_is_well_formed() -> None:
    for suppose in ("", SUPPOSED):
        checker = Checker()
        checker.feed(html(sheet(suppose)))
        assert checker.open == []
        assert checker.seen.isdisjoint({"script", "link", "img", "iframe"})


def test_a_hostile_name_is_only_text() -> None:
    boat = boat_of(but(("boat: Teal", 'boat: "<script>alert(1)</script> | a"')))
    hostile = readings_sheet(Diagnosis(build_network(boat)), knowledge())
    page, text = html(hostile), markdown(hostile)
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "<script" not in text
    assert boat_of(SOUND).name == "Teal"


def test_markdown_tables_have_a_cell_for_every_column() -> None:
    lines = [line for line in markdown(sheet(SUPPOSED)).splitlines() if line.startswith("|")]
    wanted = len(sheet().columns) + 2
    assert lines
    assert {len(re.split(r"(?<!\\)\|", line)) - 2 for line in lines} == {wanted}


def test_the_terminal_says_each_reading_once_for_states_that_agree() -> None:
    lines = list(text_lines(sheet()))
    at = next(i for i, (_, text) in enumerate(lines) if text == "switch out")
    assert lines[at + 1][0].split() == ["A"]
    assert [
        letter for first, _ in lines[at + 1 : at + 5] for letter in first.split() if letter in "ABCDEF"
    ] == [*"ABCDEF"]
