"""How often something rattles or restarts, against the parts' own times added up by hand."""

from math import log

import numpy as np
import pytest

from assistant.catalogue import nominal_values
from assistant.circuit import Network, Variant, build_network, make_solver, ready_state
from assistant.wiring import load_boat
from tests.circuit.test_rounds import BOAT as HOT
from tests.circuit.test_rounds import regulator_of, solved
from tests.circuit.test_solve import BROWNOUT
from tests.support.bench import Bench, Item, resistor, source
from tests.support.boats import read_catalogue

FIRST = np.zeros(1, dtype=np.intp)


def value(network: Network, part: str, name: str) -> float:
    return nominal_values(network.parts[part].kind, network.parts[part].given)[name]


def turn_s(text: str, **set_to: float) -> tuple[Network, float]:
    boat = load_boat(text, "teal.yaml", read_catalogue())
    solver = make_solver(build_network(boat))
    solution = solver.solve(ready_state(boat).with_(set_to), [Variant()])
    return solver.network, float(solver.turns_s(solution, [Variant()], FIRST)[0])


@pytest.mark.parametrize(("times", "expected"), [("", 0.015), (", closing: 30 ms, opening: 20 ms", 0.05)])
def test_a_relay_that_breaks_its_own_feed_buzzes_by_its_operate_and_release_times(
    times: str, expected: float
) -> None:
    relay = Item(
        kind="relay", values=f"coil: 12 V{times}", nets={"coil+": "c", "coil-": "0", "com": "a", "nc": "c"}
    )
    bench = Bench.of(supply=source("a", "0", 12.0, 0.1), relay=relay, lamp=resistor("c", "0", 1e3))
    assert bench.solver.turns_s(bench.solution, [Variant()], FIRST) == pytest.approx(expected)


def test_what_comes_to_rest_has_no_rate() -> None:
    relay = Item(kind="relay", values="coil: 12 V", nets={"coil+": "a", "coil-": "0", "com": "a", "no": "c"})
    bench = Bench.of(supply=source("a", "0", 12.0, 0.1), relay=relay, lamp=resistor("c", "0", 1e3))
    assert np.isnan(bench.solver.turns_s(bench.solution, [Variant()], FIRST)).all()


def test_a_receiver_that_browns_out_comes_back_after_its_start_and_the_servo_s() -> None:
    """Down after the capacitors of servo or receiver, up after the start, pulses heard after two frames."""
    network, found = turn_s(BROWNOUT.format(ohm=20.0), helm=1.0)
    start_s, hold_s = value(network, "receiver", "restart_s"), value(network, "receiver", "hold_s")
    assert found == pytest.approx(hold_s + start_s + 0.04, abs=0.011)


@pytest.mark.parametrize(("start", "expected"), [("0.5 s", 0.55), ("8 s", 8.05)])
def test_a_slower_receiver_restarts_more_slowly(start: str, expected: float) -> None:
    text = BROWNOUT.format(ohm=20.0).replace("kind: receiver", f"kind: receiver, restart: {start}")
    assert turn_s(text, helm=1.0)[1] == pytest.approx(expected, abs=0.011)


def test_a_low_voltage_cut_off_cuts_and_recovers_in_its_own_times() -> None:
    text = """\
boat: Teal
parts:
  pack: {kind: nimh pack, cells: 6, capacity: 2 Ah}
  joint: {kind: resistor, body: 0.5 ohm}
  drive: {kind: forward drive, cutoff: 6 V, cut: 0.5 s, recover: 2 s}
  motor: {kind: motor, rated: 7.2 V at 6 A, stall: 30 A}
  receiver: {kind: receiver}
runs:
  - [pack +, 16 AWG 10 cm, joint, 16 AWG 10 cm, drive +]
  - [pack -, 16 AWG 10 cm, drive -]
  - [drive +, 16 AWG 10 cm, motor, 16 AWG 10 cm, drive M]
radio:
  controls: {throttle: stick}
  channels: {2: drive}
  mix: {2: {throttle: 100 %}}
"""
    assert turn_s(text, throttle=1.0)[1] == pytest.approx(2.5)


def test_a_regulator_too_hot_cools_by_its_time_constant_and_heats_again() -> None:
    """Cooling from 150 to 130 degC in air of 30: tau ln(120/100); heating towards heat times watts above the air."""
    network, found = turn_s(HOT.format(cells=3, regulator="linear", move="300 mA"), helm=1.0)
    number, regulator = regulator_of(network)
    running = solved(3, "linear, bec heat: 1 K/W", "300 mA").phase
    vin, _, out = (running.volts[n, 0] for n in regulator.nodes)
    ends_k = value(network, "drive", "bec_heat") * (vin - out) * running.amps[number, 0]
    tau = value(network, "drive", "warm_s")
    cooling, heating = tau * log(120 / 100), tau * log((ends_k - 100) / (ends_k - 120))
    assert found == pytest.approx(cooling + value(network, "receiver", "restart_s") + heating, abs=0.3)


def test_rates_of_many_variants_are_those_of_each_alone() -> None:
    boat = load_boat(BROWNOUT.format(ohm=20.0), "teal.yaml", read_catalogue())
    solver = make_solver(build_network(boat))
    state = ready_state(boat).with_({"helm": 1.0})
    variants = [Variant(draw=d) for d in range(6)]
    solution = solver.solve(state, variants, draws=5)
    together = solver.turns_s(solution, variants, np.arange(6), draws=5)
    assert np.isfinite(together).sum() >= 3
    for column, variant in enumerate(variants):
        alone = solver.turns_s(solution, [variant], np.array([column]), draws=5)[0]
        assert alone == pytest.approx(together[column], nan_ok=True)
