"""From sticks to travel: mix, trim, one-way devices, ends, and lost signals."""

import pytest

from assistant.circuit import Fault, Phase, Variant, build_network, make_solver, ready_state
from assistant.wiring import Point, load_boat
from tests.support.boats import read_catalogue

CATALOGUE = read_catalogue()
BOAT = """\
boat: Teal
parts:
  pack: {kind: nimh pack, cells: 4, capacity: 2 Ah}
  receiver: {kind: receiver}
  port: {kind: servo}
  starboard: {kind: servo}
  relay: {kind: relay module, supply: receiver}
runs:
  - [pack +, 20 AWG 10 cm, receiver batt+]
  - [pack -, 20 AWG 10 cm, receiver batt-]
radio:
  controls: {throttle: stick, helm: stick, power: switch}
  channels: {1: port, 2: starboard, 3: relay}
  mix: {1: {throttle: 100 %, helm: 60 %}, 2: {throttle: 100 %, helm: -60 %}, 3: {power: 100 %}}
  trim: {2: 5 %}
"""
LOADED = load_boat(BOAT, "teal.yaml", CATALOGUE)
NETWORK = build_network(LOADED)
SOLVER = make_solver(NETWORK)


def solved(sticks: dict[str, float], *faults: Fault) -> Phase:
    state = ready_state(LOADED).with_({"power": -1.0} | sticks)
    solution = SOLVER.solve(state, [Variant(faults=faults)])
    assert not solution.failed[0]
    return solution.phase


def travel(part: str, sticks: dict[str, float], *faults: Fault) -> float:
    (number,) = [i for i, given in enumerate(NETWORK.inputs) if given.part == part]
    return float(solved(sticks, *faults).travel[number, 0])


@pytest.mark.parametrize(
    ("throttle", "helm", "port", "starboard"),
    [
        (0.0, 0.0, 0.0, 0.05),
        (0.5, 0.0, 0.5, 0.55),
        (0.2, 0.5, 0.5, -0.05),
        (1.0, 1.0, 1.0, 0.45),
        (-1.0, -1.0, -1.0, -0.35),
        (1.0, -1.0, 0.4, 1.0),
    ],
)
def test_mix_and_trim_add_up_to_full_travel_at_most(
    throttle: float, helm: float, port: float, starboard: float
) -> None:
    sticks = {"throttle": throttle, "helm": helm}
    assert travel("port", sticks) == pytest.approx(port)
    assert travel("starboard", sticks) == pytest.approx(starboard)


@pytest.mark.parametrize(("power", "told"), [(-1.0, 0.0), (0.0, 0.5), (1.0, 1.0)])
def test_one_way_device_counts_from_nothing(power: float, told: float) -> None:
    assert travel("relay", {"power": power}) == pytest.approx(told)


@pytest.mark.parametrize(
    "fault",
    [
        Fault("receiver", "not bound"),
        Fault("receiver", "dead"),
        Fault("receiver.1s--port.s", "broken"),
        Fault("port", "wet", 50.0),
    ],
)
def test_without_valid_pulses_a_device_does_what_its_kind_says(fault: Fault) -> None:
    assert travel("port", {"throttle": 1.0}, fault) == 0.0


def test_transmitter_off_is_a_lost_signal() -> None:
    assert travel("port", {"throttle": 1.0, "transmitter": 0.0}) == 0.0


def test_relay_pulls_in_above_its_mark_alone() -> None:
    pulled = next(i for i, c in enumerate(NETWORK.conditions) if (c.part, c.name) == ("relay", "pulled"))
    states = [bool(solved({"power": power}).conditions[pulled, 0]) for power in (-1.0, 0.0, 1.0)]
    assert states == [False, False, True]


def test_pulse_is_a_share_of_the_frame() -> None:
    """Mean volts at the pin follow the pulse width: 1.0, 1.5 and 2.0 ms of 20 ms."""
    pin, minus = (NETWORK.node(Point(part="receiver", terminal=name)) for name in ("1s", "batt-"))
    phases = (solved({"throttle": throttle}) for throttle in (-1.0, 0.0, 1.0))
    means = [float(phase.volts[pin, 0] - phase.volts[minus, 0]) for phase in phases]
    assert means == pytest.approx([1e-3 * mean for mean in (165.0, 247.5, 330.0)], rel=0.02)


@pytest.mark.parametrize(
    ("fault", "throttle", "helm", "port", "starboard"),
    [
        (Fault("channel 1", "reversed"), 0.2, 0.5, -0.5, -0.05),
        (Fault("channel 1", "trim up", 0.3), 0.0, 0.0, 0.3, 0.05),
        (Fault("channel 1", "trim down", 0.3), 0.0, 0.0, -0.3, 0.05),
        (Fault("channel 1", "short travel", 0.5), 0.4, 0.0, 0.2, 0.45),
        (Fault("channel 1", "wrong socket"), 1.0, 0.0, 0.0, 1.0),
        (Fault("channel 1", "mix reversed"), 0.2, 0.5, -0.1, -0.05),
        (Fault("channel 1", "mix missing"), 0.2, 0.5, 0.2, -0.05),
        (Fault("channels 1 and 2", "swapped"), 0.2, 0.5, -0.05, 0.5),
        (Fault("model memory", "wrong model"), 0.2, 0.5, 0.2, 0.5),
    ],
)
def test_what_is_set_or_plugged_wrongly_about_the_radio(
    fault: Fault, throttle: float, helm: float, port: float, starboard: float
) -> None:
    sticks = {"throttle": throttle, "helm": helm}
    assert travel("port", sticks, fault) == pytest.approx(port)
    assert travel("starboard", sticks, fault) == pytest.approx(starboard)


def test_swapped_plugs_cross_one_way_devices_too() -> None:
    """The relay on the helm's channel: half travel with the stick let go, nothing when it is held over to one side."""
    swapped = Fault("channels 1 and 3", "swapped")
    told = [travel("relay", {"helm": helm, "throttle": helm}, swapped) for helm in (-1.0, 0.0, 1.0)]
    assert told == pytest.approx([0.0, 0.5, 1.0])
    assert travel("port", {"power": 1.0}, swapped) == pytest.approx(1.0)


def test_a_stored_fail_safe_moves_devices_only_without_the_transmitter() -> None:
    """Full astern on a drive with reverse was meant as idle; with the transmitter on it is not seen."""
    stored = Fault("receiver", "fail-safe astern")
    assert travel("port", {"throttle": 0.0}, stored) == pytest.approx(0.0)
    assert travel("port", {"throttle": 0.0, "transmitter": 0.0}, stored) == pytest.approx(-1.0)
    assert travel("port", {"throttle": 0.0, "transmitter": 0.0}) == pytest.approx(0.0)


DRIVEN = """\
boat: Teal
parts:
  pack: {{kind: nimh pack, cells: 6, capacity: 2 Ah}}
  drive: {{kind: {drive}, bec: 5.0 V at 2 A}}
  motor: {{kind: motor, rated: 7.2 V at 4 A, stall: 22 A}}
  receiver: {{kind: receiver}}
runs:
  - [pack +, 16 AWG 10 cm, drive +]
  - [pack -, 16 AWG 10 cm, drive -]
  - {motor}
radio:
  controls: {{throttle: {control}, helm: stick}}
  channels: {{1: drive}}
  mix: {{1: {{throttle: 100 %, helm: 50 %}}}}
"""
BOTH_WAYS = ("reversing drive", "[drive A, 16 AWG 10 cm, motor, 16 AWG 10 cm, drive B]")
ONE_WAY = ("forward drive", "[pack +, 16 AWG 10 cm, motor, 16 AWG 10 cm, drive M]")


def driven(drive: tuple[str, str], control: str, fault: Fault | None, throttle: float) -> tuple[float, bool]:
    """Return the volts over the motor of a boat, and whether its drive is armed."""
    text = DRIVEN.format(drive=drive[0], motor=drive[1], control=control)
    boat = load_boat(text, "teal.yaml", CATALOGUE)
    network = build_network(boat)
    faults = () if fault is None else (fault,)
    state = ready_state(boat).with_({"throttle": throttle})
    solution = make_solver(network).solve(state, [Variant(faults=faults)])
    assert not solution.failed[0]
    assert not solution.restless.any()
    armed = next(i for i, c in enumerate(network.conditions) if c.name == "armed")
    plus, minus = (network.node(Point(part="motor", terminal=name)) for name in "+-")
    volts = solution.phase.volts[plus, 0] - solution.phase.volts[minus, 0]
    return float(volts), bool(solution.phase.conditions[armed, 0])


@pytest.mark.parametrize("drive", [BOTH_WAYS, ONE_WAY])
@pytest.mark.parametrize("control", ["stick", "lever"])
def test_a_drive_that_saw_neutral_follows_the_stick(drive: tuple[str, str], control: str) -> None:
    volts, armed = driven(drive, control, None, 0.0)
    assert armed
    assert volts == pytest.approx(0.0, abs=0.05)
    volts, armed = driven(drive, control, None, 1.0)
    assert armed
    assert volts > 6.0


@pytest.mark.parametrize(
    ("drive", "fault", "arms"),
    [
        (BOTH_WAYS, Fault("channel 1", "trim up", 0.15), True),
        (BOTH_WAYS, Fault("channel 1", "trim up", 0.3), False),
        (BOTH_WAYS, Fault("channel 1", "trim down", 0.3), False),
        (ONE_WAY, Fault("channel 1", "trim up", 0.12), True),
        (ONE_WAY, Fault("channel 1", "trim up", 0.18), False),
        (ONE_WAY, Fault("channel 1", "trim down", 0.4), True),
        (BOTH_WAYS, Fault("channel 1", "reversed"), True),
    ],
)
@pytest.mark.parametrize("throttle", [0.0, 1.0])
def test_a_trim_beyond_the_neutral_band_leaves_the_drive_dead(
    drive: tuple[str, str], fault: Fault, arms: bool, throttle: float
) -> None:
    """Within the band the motor creeps with the stick let go; beyond it nothing moves it."""
    volts, armed = driven(drive, "stick", fault, throttle)
    assert armed is arms
    if not arms:
        assert volts == pytest.approx(0.0, abs=0.05)
    elif throttle == 0.0 and fault.mode == "trim up":
        assert volts > 0.3


def test_a_reversed_channel_keeps_a_drive_for_one_direction_from_arming_on_a_lever() -> None:
    """With the lever down it is told full ahead: it waits, and pulling the lever up is its idle."""
    reversed_channel = Fault("channel 1", "reversed")
    volts, armed = driven(ONE_WAY, "lever", reversed_channel, -1.0)
    assert not armed
    assert volts == pytest.approx(0.0, abs=0.05)
    assert driven(BOTH_WAYS, "lever", reversed_channel, 0.0)[1]


def test_the_sticks_of_the_moment_do_not_disarm() -> None:
    """What counts is where the sticks stood when power came up: let go."""
    assert all(driven(BOTH_WAYS, "stick", None, throttle)[1] for throttle in (-1.0, -0.3, 0.3, 1.0))


def pin_v(phase: Phase, first: str, second: str) -> float:
    one, other = (Point(part="port", terminal=name) for name in (first, second))
    return float(phase.volts[NETWORK.node(one), 0] - phase.volts[NETWORK.node(other), 0])


def is_on(phase: Phase, part: str, name: str) -> bool:
    numbers = [i for i, c in enumerate(NETWORK.conditions) if (c.part, c.name) == (part, name)]
    return bool(phase.conditions[numbers[0], 0])


@pytest.mark.parametrize("ohm", [0.02, 0.5, 10.0])
def test_a_signal_that_touches_minus_or_red_brings_no_pulses_and_leaves_the_neighbours_alone(
    ohm: float,
) -> None:
    """Behind the receiver's 470 ohm the line lies at the rail that it touches: by divider, 2 % off at most."""
    low = solved({"throttle": 1.0}, Fault("channel 1 lead", "signal to minus", ohm))
    high = solved({"throttle": 1.0}, Fault("channel 1 lead", "signal to red", ohm))
    assert pin_v(low, "s", "b") == pytest.approx(0.33 * ohm / (470 + ohm), abs=2e-3)
    assert pin_v(high, "s", "b") == pytest.approx(pin_v(high, "r", "b"), rel=0.03)
    for phase in (low, high):
        assert not is_on(phase, "port", "heard")
        assert is_on(phase, "starboard", "heard")
        assert is_on(phase, "receiver", "alive")


def test_red_that_touches_minus_takes_receiver_and_servos_down() -> None:
    """4 cells of some 5 mohm give tens of amperes through wires of some 40 mohm each way: nothing is left."""
    phase = solved({}, Fault("channel 1 lead", "supply shorted", 0.02))
    assert pin_v(phase, "r", "b") < 1.5
    assert not is_on(phase, "port", "alive")


def test_pulses_still_count_through_a_bridge_that_leaves_most_of_their_height() -> None:
    """10 kohm to red against 470 ohm: 95 % of the swing is left."""
    wet = solved({"throttle": 1.0}, Fault("channel 1 lead", "signal to red", 10_000.0))
    assert is_on(wet, "port", "heard")
