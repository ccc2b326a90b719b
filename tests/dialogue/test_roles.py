"""Roles found in the wiring, and the controls that make a part go."""

import pytest

from assistant.catalogue import Group
from assistant.circuit import is_unplugged, ready_state, rest_state
from assistant.dialogue.graph import Base, Occasion, PointSpec, StateSpec
from assistant.dialogue.roles import feeding, feeds_of, point_of
from assistant.dialogue.states import (
    changes_between,
    controls_for,
    occasions_of,
    state_of,
    unplugged,
)
from assistant.documents import Mark
from assistant.wiring import Point, load_boat
from tests.dialogue.boats import boat, catalogue

MARK = Mark(file="test", line=1, column=1)

SWITCHED_MINUS = """
boat: Smew
parts:
  pack: {kind: nimh pack, cells: 6, capacity: 3 Ah}
  drive: {kind: forward drive}
  pump: {kind: pump motor, rated: 7.2 V at 6 A, stall: 28 A}
  receiver: {kind: receiver}
runs:
  - [pack +, 14 AWG 10 cm, drive +]
  - [pack -, 14 AWG 10 cm, drive -]
  - [drive +, 14 AWG 10 cm, pump +]
  - [drive M, 14 AWG 10 cm, pump -]
radio:
  controls: {throttle: stick}
  channels: {1: drive}
  mix: {1: {throttle: 100 %}}
"""


BARE_RELAY = """
boat: Smew
parts:
  pack: {kind: nimh pack, cells: 6, capacity: 3 Ah}
  module: {kind: relay module}
  relay: {kind: relay, coil: 7.2 V}
  pump: {kind: pump motor, rated: 7.2 V at 6 A, stall: 28 A}
  receiver: {kind: receiver}
runs:
  - [pack +, 14 AWG 10 cm, relay com]
  - [relay no, 14 AWG 10 cm, pump +]
  - [pump -, 14 AWG 10 cm, pack -]
  - [pack +, 22 AWG 10 cm, module +]
  - [pack -, 22 AWG 10 cm, module -]
  - [pack +, 22 AWG 10 cm, module com]
  - [module no, 22 AWG 10 cm, relay coil+]
  - [relay coil-, 22 AWG 10 cm, pack -]
radio:
  controls: {power: switch}
  channels: {1: module}
  mix: {1: {power: 100 %}}
"""


@pytest.mark.parametrize(
    ("name", "part", "group", "found"),
    [
        ("dabchick", "pump", Group.DRIVE, ("drive",)),
        ("dabchick", "pump", Group.FUSE, ("fuse",)),
        ("grebe", "starboard-pump", Group.DRIVE, ("starboard-drive",)),
        ("grebe", "port-pump", Group.FUSE, ("port-fuse", "main-fuse")),
        ("grebe", "relay", Group.CONVERTER, ("step-down",)),
        ("grebe", "mast-lamp", Group.RELAY, ("relay",)),
        ("dabchick", "pack", Group.FUSE, ()),
    ],
)
def test_the_nearest_of_a_group_on_the_feed(
    name: str, part: str, group: Group, found: tuple[str, ...]
) -> None:
    assert feeding(boat(name), part, group) == found


def test_a_feed_leads_from_pack_to_part() -> None:
    feed = feeds_of(boat("dabchick"), "pump")[0]
    assert feed.points[0] == Point(part="pack", terminal="+")
    assert feed.points[-1].part == "pump"
    described = [part for part in feed.parts if part not in boat("dabchick").leads]
    assert described == ["pack", "fuse", "switch", "drive", "pump"]


def test_a_motor_on_a_permanent_positive_finds_its_drive_on_the_return() -> None:
    smew = load_boat(SWITCHED_MINUS, "smew.yaml", catalogue())
    assert feeding(smew, "pump", Group.DRIVE) == ("drive",)
    assert controls_for(smew, "pump") == {"throttle": 1.0}


def test_what_triggers_the_feed_is_commanded_too() -> None:
    smew = load_boat(BARE_RELAY, "smew.yaml", catalogue())
    assert controls_for(smew, "pump") == {"power": 1.0}


@pytest.mark.parametrize(
    ("name", "part", "controls"),
    [
        ("dabchick", "pump", {"throttle": 1.0}),
        ("dabchick", "rudder", {"helm": 1.0}),
        ("dabchick", "receiver", {}),
        ("grebe", "port-pump", {"throttle": 1.0, "power": 1.0}),
        ("grebe", "relay", {"power": 1.0}),
        ("grebe", "mast-lamp", {"power": 1.0}),
        ("grebe", "rudder", {"steer": 1.0}),
    ],
)
def test_the_controls_that_make_a_part_go(name: str, part: str, controls: dict[str, float]) -> None:
    assert controls_for(boat(name), part) == controls


def test_spare_pins_are_those_of_a_free_socket() -> None:
    spec = PointSpec(role="receiver", terminal="spare+")
    assert point_of(boat("dabchick"), spec, {"receiver": ("receiver",)}) == Point(
        part="receiver", terminal="3+"
    )
    assert point_of(boat("dabchick"), spec, {"receiver": ()}) is None
    none_such = PointSpec(role="receiver", terminal="coil+")
    assert point_of(boat("dabchick"), none_such, {"receiver": ("receiver",)}) is None


def test_states_from_words_of_roles() -> None:
    grebe = boat("grebe")
    spec = StateSpec(name="running", base=Base.READY, run=("pump",), mark=MARK)
    state = state_of(grebe, spec, {"pump": ("port-pump",)})
    assert (state.get("throttle"), state.get("power"), state.get("pack.plugged")) == (1.0, 1.0, 1.0)
    at_rest = state_of(grebe, StateSpec(name="off", base=Base.REST, run=(), mark=MARK), {})
    assert is_unplugged(grebe, at_rest)
    assert is_unplugged(grebe, unplugged(grebe))


def test_switching_off_is_the_way_back() -> None:
    dabchick = boat("dabchick")
    running = ready_state(dabchick).with_({"throttle": 1.0})
    on = [change.setting for change in changes_between(dabchick, rest_state(dabchick), running)]
    off = [change.setting for change in changes_between(dabchick, running, rest_state(dabchick))]
    assert on == ["transmitter", "pack.plugged", "switch.closed", "throttle"]
    assert off == on[::-1]


def test_occasions_of_energising_changes_only() -> None:
    dabchick = boat("dabchick")
    running = ready_state(dabchick).with_({"throttle": 1.0})
    on = changes_between(dabchick, rest_state(dabchick), running)
    off = changes_between(dabchick, running, rest_state(dabchick))
    assert set(occasions_of(dabchick, on)) == {Occasion.PLUG_IN, Occasion.SWITCH_ON, Occasion.RUN}
    assert not set(occasions_of(dabchick, off))


def test_switched_off_is_plugged_in_with_every_switch_off() -> None:
    off = state_of(boat("dabchick"), StateSpec(name="off", base=Base.PLUGGED, run=(), mark=MARK), {})
    assert {key for key, value in off.pairs if value} == {"pack.plugged", "transmitter"}


@pytest.mark.parametrize(
    ("name", "part", "ahead", "astern"),
    [
        ("dabchick", "pump", {"throttle": 1.0}, {"throttle": -1.0}),
        ("grebe", "port-pump", {"throttle": 1.0, "power": 1.0}, {"throttle": -1.0, "power": 1.0}),
        ("wigeon", "port-ahead", {"throttle": 1.0}, {"throttle": -1.0}),
        ("wigeon", "port-astern", {"throttle": -1.0}, {"throttle": 1.0}),
        ("pochard", "bilge-pump", {"bilge": 1.0}, {"bilge": 1.0}),
    ],
)
def test_ahead_and_astern_are_told_by_the_mix_or_by_the_circuit(
    name: str, part: str, ahead: dict[str, float], astern: dict[str, float]
) -> None:
    """A pump that shares its drive, each on one output, goes where its output is pulled."""
    for spec, wanted in (
        (StateSpec(name="go", base=Base.READY, run=("pump",), mark=MARK), ahead),
        (StateSpec(name="back", base=Base.READY, run=(), astern=("pump",), mark=MARK), astern),
    ):
        state = state_of(boat(name), spec, {"pump": (part,)})
        assert {control: state.get(control) for control in wanted} == wanted


@pytest.mark.parametrize(
    ("part", "pack"),
    [("motor", "upper-block"), ("bilge-pump", "lower-block"), ("receiver", "receiver-pack")],
)
def test_a_regulator_is_no_way_back_into_the_main_circuit(part: str, pack: str) -> None:
    assert feeding(boat("pochard"), part, Group.PACK)[0] == pack
