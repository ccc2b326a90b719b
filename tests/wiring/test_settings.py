"""What a hand can set."""

from assistant.wiring import SettingSort, load_boat, settings_of
from tests.wiring.kinds import BOAT, small_catalogue


def test_plug_transmitter_and_controls_in_this_order() -> None:
    settings = settings_of(load_boat(BOAT, "boat.yaml", small_catalogue()))
    assert [setting.id for setting in settings] == ["pack.plugged", "transmitter", "throttle", "helm"]
    plug, transmitter, throttle, _ = settings
    assert (plug.sort, plug.rest, plug.off_word, plug.on_word) == (
        SettingSort.PART,
        0.0,
        "unplugged",
        "plugged in",
    )
    assert (transmitter.low, transmitter.high) == (0.0, 1.0)
    assert (throttle.low, throttle.rest, throttle.high, throttle.steps) == (-1.0, 0.0, 1.0, False)


def test_switch_rests_off_and_has_two_places() -> None:
    boat = load_boat(BOAT.replace("throttle: stick", "throttle: switch"), "boat.yaml", small_catalogue())
    throttle = next(setting for setting in settings_of(boat) if setting.id == "throttle")
    assert (throttle.rest, throttle.steps) == (-1.0, True)


def test_boat_without_radio_has_no_transmitter() -> None:
    text = """\
boat: Teal
parts: {pack: {kind: pack, volts: 6 V}, pump: {kind: pump, rated: 6 V at 1 A}}
runs:
  - [pack +, 20 AWG 10 cm plug, pump +]
  - [pack -, 20 AWG 10 cm plug, pump -]
"""
    boat = load_boat(text, "boat.yaml", small_catalogue())
    assert [setting.id for setting in settings_of(boat)] == ["pack.plugged"]
