"""Wiring descriptions: a good one is read whole, and every slip is found at its place."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.catalogue import Catalogue, Reach
from assistant.errors import MisuseError, Problem, WiringError
from assistant.quantities import awg_mm2
from assistant.wiring import Boat, ControlKind, JointKind, Point, load_boat
from tests.wiring.kinds import BOAT, KINDS, small_catalogue

CATALOGUE = small_catalogue()


def load(text: str = BOAT) -> Boat:
    return load_boat(text, "boat.yaml", CATALOGUE)


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(WiringError) as caught:
        load(text)
    return caught.value.problems


def point(text: str) -> Point:
    part, _, terminal = text.partition(".")
    return Point(part=part, terminal=terminal)


def test_good_boat_is_read_whole() -> None:
    boat = load()
    assert (boat.id, boat.name, boat.text) == ("little-grebe", "Little Grebe", BOAT)
    assert dict(boat.parts["pack"].given) == {"volts_v": 7.2}
    assert dict(boat.parts["port-pump"].given) == {"rated_v": 7.2, "rated_a": 6.0}
    assert dict(boat.usage) == {"throttle": 0.5}


def test_lead_is_a_wire_and_two_joints() -> None:
    boat = load()
    lead = boat.leads["pack.+--fuse.in"]
    assert lead.ends == (point("pack.+"), point("fuse.in"))
    assert lead.joints == (JointKind.PLUGGED, JointKind.CRIMPED)
    assert dict(boat.parts[lead.id].given) == pytest.approx({"area_mm2": awg_mm2(14), "length_m": 0.15})
    assert boat.parts[f"{lead.id}@1"].kind.name == "plugged joint"
    assert boat.parts[f"{lead.id}@2"].kind.name == "crimped joint"


def test_bare_part_is_entered_first_and_left_second() -> None:
    assert list(load().leads)[:2] == ["pack.+--fuse.in", "fuse.out--drive.+"]
    text = BOAT.replace("[pack +, 14 AWG 15 cm plug/crimped, fuse,", "[drive +, 14 AWG 15 cm, fuse,").replace(
        "2.5 mm2 200 mm, drive +]", "2.5 mm2 200 mm, pack +]"
    )
    assert list(load(text).leads)[:2] == ["drive.+--fuse.in", "fuse.out--pack.+"]


def test_sizes_in_mm2_and_soldered_unless_said_otherwise() -> None:
    lead = load().leads["fuse.out--drive.+"]
    assert lead.area_mm2 == pytest.approx(2.5)
    assert lead.length_m == pytest.approx(0.2)
    assert lead.joints == (JointKind.SOLDERED, JointKind.SOLDERED)


def test_part_with_one_main_terminal_is_entered_and_left_there() -> None:
    text = BOAT.replace("  rudder:", "  bus: {kind: bus}\n  rudder:").replace(
        "[pack -, 14 AWG 30 cm plug,", "[pack -, 14 AWG 30 cm plug, bus, 14 AWG 5 cm,"
    )
    assert {"pack.---bus.x", "bus.x--drive.-"} <= load(text).leads.keys()


def test_two_terminals_of_one_part_may_follow_each_other() -> None:
    text = BOAT.replace("crimped, fuse, 2.5", "crimped, fuse in, fuse out, 2.5")
    assert load(text).leads.keys() == load().leads.keys()


def test_channel_is_a_three_wire_lead() -> None:
    boat = load()
    cores = [lead for lead in boat.leads.values() if lead.cable == "channel 2"]
    assert [lead.id for lead in cores] == [
        "receiver.2s--drive.s",
        "receiver.2+--drive.r",
        "receiver.2---drive.b",
    ]
    assert all(lead.joints == (JointKind.PLUGGED, JointKind.PLUGGED) for lead in cores)
    assert all(lead.length_m == pytest.approx(0.2) for lead in cores)
    assert boat.leads["receiver.1s--rudder.s"].area_mm2 == pytest.approx(awg_mm2(26))


def test_radio_is_read() -> None:
    radio = load().radio
    assert radio.controls["helm"].kind is ControlKind.STICK
    channel = radio.channels[2]
    assert (channel.receiver, channel.device, channel.input) == ("receiver", "drive", "s")
    assert dict(channel.mix) == {"throttle": 1.0, "helm": -0.4}
    assert radio.channels[1].trim == pytest.approx(0.03)


def test_cut_red_wire_is_no_lead() -> None:
    boat = load(BOAT.replace("lead: 22 AWG 20 cm}", "cut: +}"))
    assert "receiver.2+--drive.r" not in boat.leads
    assert "receiver.2s--drive.s" in boat.leads


def test_device_without_supply_pin_has_two_cores() -> None:
    text = BOAT.replace("  rudder:", "  sounder: {kind: sounder}\n  rudder:")
    text = text.replace("channels: {1: rudder,", "channels: {3: sounder two, 1: rudder,").replace(
        "mix: {", "mix: {3: {helm: 1}, "
    )
    cores = [lead.id for lead in load(text).leads.values() if lead.cable == "channel 3"]
    assert cores == ["receiver.3s--sounder.c", "receiver.3---sounder.b"]


def test_receiver_can_have_a_pack_of_its_own() -> None:
    runs = "  - [cells +, 22 AWG 9 cm plug, receiver batt+]\n  - [cells -, 22 AWG 9 cm plug, receiver 4-]\n"
    text = BOAT.replace("  rudder:", "  cells: {kind: pack, volts: 4.8 V}\n  rudder:")
    text = text.replace("radio:", f"{runs}radio:")
    assert {"cells.+--receiver.batt+", "cells.---receiver.4-"} <= load(text).leads.keys()


def test_reach_of_one_terminal_and_of_all() -> None:
    one = load(BOAT.replace("7.2 V at 6 A}", "7.2 V at 6 A, reach: {+: sealed}}"))
    assert dict(one.parts["port-pump"].reach) == {"+": Reach.SEALED}
    both = load(BOAT.replace("7.2 V at 6 A}", "7.2 V at 6 A, reach: behind cover}"))
    assert dict(both.parts["port-pump"].reach) == {"+": Reach.BEHIND_COVER, "-": Reach.BEHIND_COVER}


@pytest.mark.parametrize(
    "written",
    [
        "rated: 7.2 V at 6 A",
        "rated: 6 A at 7.2 V",
        "rated v: 7.2, rated a: 6",
        "rated_v: 7200 mV, rated_a: 6000 mA",
        "rated: 7.2 V, rated a: 6",
        "rated: '7,2 V at 6 A'",
    ],
)
def test_values_by_name_with_or_without_unit(written: str) -> None:
    boat = load(BOAT.replace("rated: 7.2 V at 6 A", written))
    assert dict(boat.parts["port-pump"].given) == pytest.approx({"rated_v": 7.2, "rated_a": 6.0})


def test_word_of_choice() -> None:
    boat = load(BOAT.replace("7.2 V at 6 A}", "7.2 V at 6 A, suppressor: missing}"))
    assert boat.parts["port-pump"].given["suppressor"] == 1.0


# What is replaced in the good text, by what, and what must be found: code, and words of message or advice.
SLIPS = [
    ("boat: Little Grebe\n", "", "missing-key", "boat"),
    ("usage:", "useage:", "unknown-key", "usage"),
    ("{kind: fuse,", "{kind: fuze,", "choice", '"fuse"'),
    ("{kind: fuse,", "{kind: wire,", "choice", "wire"),
    ("{kind: drive}", "{}", "missing-key", "no kind"),
    ("  fuse: {", "  fuse--x: {", "id", "fuse--x"),
    ("rating: 15 A", "rateing: 15 A", "unknown-value", '"rating"'),
    ("rating: 15 A", "rating: 15 V", "quantity", "volts"),
    ("rating: 15 A", "rating: 150 A", "quantity", "100"),
    (", rating: 15 A", "", "missing-value", "rating"),
    ("rating: 15 A", "rating: 15 A, rating a: 10", "value-twice", "again"),
    ("7.2 V at 6 A", "7.2 V at 6 V", "quantity", "6 V"),
    ("7.2 V at 6 A", "7.2 at 6", "quantity", "fits no value"),
    ("7.2 V at 6 A", "7.2 V", "missing-value", "rated"),
    ("7.2 V at 6 A}", "7.2 V at 6 A, suppressor: fit}", "choice", "fitted"),
    ("7.2 V at 6 A}", "7.2 V at 6 A, reach: {x: sealed}}", "unknown-terminal", "x"),
    ("7.2 V at 6 A}", "7.2 V at 6 A, reach: open air}", "choice", "open"),
    ("[pack +,", "[pak +,", "unknown-part", '"pack"'),
    ("[pack +,", "[pack plus,", "unknown-terminal", '"plus"'),
    ("[pack +,", "[pack + x,", "terminal", "part and terminal"),
    ("[pack +,", "[pack,", "bare-part", "pack +, pack -"),
    ("crimped, fuse,", "crimped, fuse foo,", "unknown-terminal", '"foo"'),
    ("200 mm, drive +]", "200 mm, drive +, 14 AWG 5 cm]", "run-order", "ends with a lead"),
    ("- [pack +,", "- [14 AWG 5 cm, pack +,", "run-order", "starts with a lead"),
    ("plug/crimped, fuse,", "plug/crimped, 14 AWG 2 cm, fuse,", "run-order", "two leads in a row"),
    ("plug/crimped, fuse,", "plug/crimped, fuse, rudder s,", "run-order", "no lead between"),
    ("[pack -, 14 AWG 30 cm plug, drive -]", "[pack -, drive -]", "short-run", "2 entries"),
    ("  - [drive A,", "  - 14 AWG 5 cm\n  - []\n  - [drive A,", "short-run", "0 entries"),
    ("[pack +, 14 AWG 15 cm plug/crimped, fuse,", "[fuse,", "bare-part", '"fuse in" or "fuse out"'),
    ("14 AWG 30 cm plug", "14 AWG 30 cm plgu", "unknown-joint", '"plug"'),
    ("14 AWG 30 cm plug", "14 AWG plug", "lead", "15 cm"),
    ("14 AWG 30 cm plug", "14 AWG 30 V plug", "lead", "volts"),
    ("14 AWG 30 cm plug", "99 AWG 30 cm plug", "lead", "gauge"),
    ("14 AWG 30 cm plug", "14 AWG 300 m plug", "lead", "25"),
    ("14 AWG 30 cm plug", "14 AWG 30 cm plug/crimp/plug", "lead", "3 joints"),
    ("port-pump -]", "port-pump -]\n  - [drive -, 14 AWG 9 cm, pack -]", "duplicate-lead", "line 11"),
    ("port-pump -]", "port-pump -]\n  - [drive -, 14 AWG 9 cm, drive -]", "loop", "itself"),
    ("  rudder:", "  spare: {kind: servo}\n  rudder:", "unwired", '"spare"'),
    ("  - [drive B, 16 AWG 12 cm screwed, port-pump -]\n", "", "unwired", '"port-pump -"'),
    ("throttle: stick", "throttle: knob", "choice", "stick"),
    ("throttle: stick", "transmitter: stick, throttle: stick", "id", "another name"),
    ("{1: rudder,", "{1: ruder,", "unknown-part", '"rudder"'),
    ("{1: rudder,", "{1: fuse,", "no-input", "no signal input"),
    ("{1: rudder,", "{1: rudder t,", "unknown-input", '"t"'),
    ("{1: rudder,", "{19: drive, 1: rudder,", "quantity", "18"),
    ("{1: rudder,", "{1: rudder, 01: drive,", "duplicate-channel", "again"),
    ("{1: rudder,", "{1: rudder, 3: rudder,", "duplicate-channel", "both go to"),
    ("to: drive, lead", "to: drive, cut: s, lead", "choice", "s"),
    ("lead: 22 AWG 20 cm", "lead: thin", "lead", "thin"),
    ("1: {helm: 100 %}, ", "", "missing-mix", "channel 1"),
    ("1: {helm: 100 %}", "1: {hlem: 100 %}", "unknown-control", '"helm"'),
    ("1: {helm: 100 %}", "1: {helm: 100 V}", "quantity", "volts"),
    ("1: {helm: 100 %}", "1: {}", "missing-mix", "empty"),
    ("1: {helm: 100 %}", "1: {helm: 100 %}, 7: {helm: 100 %}", "unknown-channel", "7"),
    ("trim: {1: 3 %}", "trim: {1: 80 %}", "quantity", "50"),
    ("usage: {throttle", "usage: {throtle", "unknown-control", '"throttle"'),
    ("usage: {throttle: 30 min}", "usage: {throttle: 90 min}", "quantity", "20 min"),
    ("  receiver: {kind: receiver}\n", "", "receiver", "no receiver"),
    ("  receiver:", "  second: {kind: receiver}\n  receiver:", "receiver", "second, receiver"),
]


# Sorts of slip that cannot but bring others: a name that is gone, a run that falls apart.
FOLLOWED = ("bare-part", "duplicate-channel", "id", "receiver", "run-order", "short-run")


@pytest.mark.parametrize(("right", "wrong", "code", "words"), SLIPS)
def test_slip_is_found_at_its_place(right: str, wrong: str, code: str, words: str) -> None:
    assert BOAT.count(right) >= 1
    text = BOAT.replace(right, wrong, 1)
    found = problems_of(text)
    fitting = [
        problem for problem in found if problem.code == code and words in f"{problem.what} {problem.mend}"
    ]
    assert fitting, found
    assert len(found) == 1 or code in FOLLOWED, found


def test_problem_stands_where_the_wrong_text_does() -> None:
    text = BOAT.replace("plug, drive -]", "plug, drve -]")
    (problem,) = problems_of(text)
    assert text.split("\n")[problem.line - 1][problem.column - 1 :].startswith("drve -")


def test_sections_are_read_on_after_a_problem() -> None:
    text = (
        BOAT.replace("rating: 15 A", "rating: 15 V")
        .replace("drive +]", "drve +]")
        .replace("helm: 100 %", "hlm: 1")
    )
    assert {problem.code for problem in problems_of(text)} == {"quantity", "unknown-part", "unknown-control"}


def test_part_with_a_problem_is_not_reported_again_where_it_is_used() -> None:
    assert [problem.code for problem in problems_of(BOAT.replace("{kind: drive}", "{kind: drvie}"))] == [
        "choice"
    ]


def test_several_inputs_must_be_told_apart() -> None:
    text = BOAT.replace("  rudder:", "  sounder: {kind: sounder}\n  rudder:").replace(
        "{1: rudder,", "{3: sounder, 1: rudder,"
    )
    codes = {problem.code: problem.mend for problem in problems_of(text)}
    assert "sounder one, sounder two" in codes["input"]


def test_second_receiver_is_named_by_its_channel() -> None:
    text = BOAT.replace("  receiver:", "  second: {kind: receiver}\n  receiver:")
    text = text.replace("1: rudder", "1: {to: rudder, receiver: second}").replace(
        "to: drive,", "to: drive, receiver: receiver,"
    )
    assert load(text).radio.channels[1].receiver == "second"


def test_catalogue_without_lead_kinds_is_the_callers_mistake() -> None:
    with pytest.raises(MisuseError, match="soldered joint"):
        load_boat(BOAT, "boat.yaml", Catalogue(kinds={"servo": CATALOGUE.kinds["servo"]}))


@pytest.mark.parametrize(
    "text", ["", "boat: x", "- a", "boat: [", "parts: {}\nruns: []\nboat: x", "boat: x\nparts: 3\nruns: 4"]
)
def test_hopeless_texts_are_wiring_errors(text: str) -> None:
    assert problems_of(text)


WORDS = st.sampled_from(
    [
        "[",
        "]",
        "{",
        "}",
        ":",
        ",",
        " ",
        "\n",
        "-",
        "+",
        "pack +",
        "fuse",
        "14 AWG 15 cm",
        "plug",
        "AWG 5",
        "'",
        "0",
        "9" * 30,
        "½",
        "²",
    ]
)


def assert_placed(error: WiringError) -> None:
    assert error.problems
    assert all(
        problem.file == "boat.yaml" and problem.line > 0 < problem.column for problem in error.problems
    )


@given(st.integers(0, len(BOAT)), st.integers(0, 60), st.lists(WORDS, max_size=4).map("".join))
def test_any_damage_gives_a_boat_or_a_wiring_error(start: int, length: int, patch: str) -> None:
    damaged = BOAT[:start] + patch + BOAT[start + length :]
    try:
        boat = load(damaged)
    except WiringError as error:
        assert_placed(error)
        return
    assert {end.part for lead in boat.leads.values() for end in lead.ends} <= boat.parts.keys()


@given(st.text(max_size=200))
def test_any_text_gives_a_boat_or_a_wiring_error(text: str) -> None:
    with pytest.raises(WiringError):
        load(text)


def test_every_test_kind_is_used_by_name() -> None:
    assert KINDS.keys() <= CATALOGUE.kinds.keys()
