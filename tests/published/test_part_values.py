"""Part kinds against data sheets, standards and published measurements.

Each test names its source and status: s (seen in a copy of the source), m (from memory of the source), c (computed
from such values), p (common practice, no source).
"""

import math

import numpy as np
import pytest

from assistant.catalogue import Kind, nominal_values
from assistant.circuit import BoatState, Fault, Variant, build_network, make_solver, ready_state
from assistant.wiring import Point, load_boat
from tests.support.bench import (
    CATALOGUE,
    LEADS_OHM,
    LEAST_OHM,
    Bench,
    Item,
    bench_boat,
    diode,
    draw,
    resistor,
    source,
)

KINDS = CATALOGUE.kinds


def kind(name: str) -> Kind:
    return KINDS[name]


# Packs: state of charge in per cent against resting volts of a cell.

LITHIUM = {100: 4.200, 90: 4.088, 80: 3.994, 70: 3.909, 60: 3.836, 50: 3.793, 40: 3.762, 30: 3.733, 20: 3.695}
LITHIUM_LOW = {10: 3.640, 5: 3.542, 0: 3.000}
LEAD_ACID = dict(
    zip(range(100, -1, -10), (2.12, 2.09, 2.07, 2.05, 2.03, 2.01, 1.99, 1.98, 1.97, 1.96, 1.95), strict=True)
)
NIMH = dict(
    zip(range(100, -1, -10), (1.40, 1.30, 1.28, 1.27, 1.26, 1.25, 1.24, 1.23, 1.21, 1.15, 1.00), strict=True)
)


@pytest.mark.parametrize(
    ("name", "column"),
    [("lithium pack", LITHIUM | LITHIUM_LOW), ("lead acid pack", LEAD_ACID), ("nimh pack", NIMH)],
)
def test_resting_volts_of_a_cell(name: str, column: dict[int, float]) -> None:
    """Lithium: Ai et al., J. Electrochem. Soc. 167 013512 (c); lead-acid, NiMH: table of an open firmware (s)."""
    curve = kind(name).curves["rest_v"]
    assert {percent: float(curve(percent / 100)) for percent in column} == pytest.approx(column)


@pytest.mark.parametrize(("percent", "volts"), [(100, 12.6), (75, 12.4), (50, 12.2), (25, 12.0), (0, 11.6)])
def test_resting_volts_of_a_12_volt_block(percent: int, volts: float) -> None:
    """Resting 12 V lead-acid block (s): two published tables differ by up to 0.15 V, so they only meet roughly."""
    values = f"cells: 6, capacity: 7 Ah, soc: {percent} %"
    bench = Bench.of(
        block=Item(kind="lead acid pack", values=values, nets={"+": "a", "-": "0"}),
        load=resistor("a", "0", 1e5),
    )
    assert bench.volts("a") == pytest.approx(volts, abs=0.16)


@pytest.mark.parametrize(
    ("name", "ah", "least_ohm", "most_ohm"),
    [("lithium pack", 5.0, 1e-3, 4e-3), ("nimh pack", 3.3, 5e-3, 6.5e-3)],
)
def test_inner_resistance_of_a_cell(name: str, ah: float, least_ohm: float, most_ohm: float) -> None:
    """High-rate lithium 1 to 4 milliohm new (s); NiMH of sub-C size 5 to 6 milliohm (p)."""
    values = nominal_values(kind(name), {"cells": 1.0, "capacity_ah": ah})
    assert least_ohm <= values["cell_ohm"] <= most_ohm


def test_inner_resistance_of_a_lead_acid_block() -> None:
    """12 V, 7 Ah: 20 to 30 milliohm (m)."""
    values = nominal_values(kind("lead acid pack"), {"cells": 6.0, "capacity_ah": 7.0})
    assert 0.020 <= 6 * values["cell_ohm"] <= 0.030


def test_run_time() -> None:
    """5 Ah at 10 A last 30 min (c), 40 min the two of them side by side at 15 A: they share the load evenly."""
    pack = Item(kind="lithium pack", values="cells: 3, capacity: 5 Ah", nets={"+": "a", "-": "0"})
    one = Bench.of(pack=pack, load=draw("a", "0", 10.0, 3.0))
    two = Bench.of(left=pack, right=pack, load=draw("a", "0", 15.0, 3.0))
    assert 60.0 * 5.0 / -one.amps("pack", "stack") == pytest.approx(30.0, rel=1e-4)
    assert [60.0 * 5.0 / -two.amps(p, "stack") for p in ("left", "right")] == pytest.approx(
        [40.0, 40.0], rel=1e-4
    )


# Fuses and relays.

COLD_MOHM = {
    1: 123,
    2: 53.5,
    3: 31.1,
    5: 17.9,
    7.5: 10.9,
    10: 7.70,
    15: 4.80,
    20: 3.38,
    25: 2.52,
    30: 1.97,
    40: 1.44,
}


@pytest.mark.parametrize("rating_a", COLD_MOHM)
def test_cold_resistance_of_blade_fuses(rating_a: float) -> None:
    """Data sheets of ISO 8820-3 fuses (m; 10, 15 and 40 A s)."""
    values = nominal_values(kind("blade fuse"), {"rating_a": rating_a})
    assert 1e3 * values["link_ohm"] == pytest.approx(COLD_MOHM[rating_a])


RELAYS = {(5.0, 55.0), (12.0, 320.0)}


@pytest.mark.parametrize("name", ["relay", "relay module"])
@pytest.mark.parametrize(("coil_v", "coil_ohm"), sorted(RELAYS))
def test_power_relay_keeps_within_its_data_sheet(name: str, coil_v: float, coil_ohm: float) -> None:
    """Generic 450 mW power relays (s; 12 V coil c): coil ±10 %, must operate at 75 %, must release at 10 %."""
    spec = kind(name).values
    values = nominal_values(kind(name), {"coil_v": coil_v})
    assert values["coil_ohm"] == pytest.approx(coil_ohm, rel=0.02)
    assert spec["coil_ohm"].tolerance == pytest.approx(0.10)
    assert values["pull_in_v"] * (1 + spec["pull_in_v"].tolerance) <= 0.75 * coil_v
    assert values["release_v"] * (1 - spec["release_v"].tolerance) >= 0.10 * coil_v
    assert values["contact_ohm"] * (1 + spec["contact_ohm"].tolerance) <= 0.050


@pytest.mark.parametrize(("share", "pulls"), [(0.10, False), (0.75, True), (0.80, True), (1.10, True)])
def test_power_relay_operates_where_it_must(share: float, pulls: bool) -> None:
    """Must operate at 75 % (s), class 1 range 80 to 110 % (IEC 61810-1, m): every relay within tolerance."""
    boat = bench_boat(
        {
            "supply": source("a", "0", 12.0 * share),
            "relay": Item(
                kind="relay", values="coil: 12 V", nets={"coil+": "a", "coil-": "0", "com": "a", "no": "b"}
            ),
            "lamp": resistor("b", "0", 100.0),
        }
    )
    network = build_network(boat)
    solution = make_solver(network).solve(BoatState.of({}), [Variant(draw=d) for d in range(65)], draws=64)
    number = next(i for i, c in enumerate(network.conditions) if (c.part, c.name) == ("relay", "pulled"))
    assert (solution.phase.conditions[number] == pulls).all()


# Diodes and lights.


def test_diode_behind_a_resistor() -> None:
    """12 V, 470 ohm, saturation 1e-14 A at 300.15 K: 0.7372786 V (c, solved by hand and by another simulator)."""
    thermal_v = 1.380649e-23 * 300.15 / 1.602176634e-19
    point_a = 1e-14 * math.expm1(0.7 / thermal_v)
    bench = Bench.of(
        supply=source("a", "0", 12.0), r=resistor("a", "b", 470.0), d=diode("b", "0", 0.7, point_a, thermal_v)
    )
    assert bench.volts("b") - LEADS_OHM * bench.amps("r") == pytest.approx(0.7372786, abs=1e-7)


@pytest.mark.parametrize(("supply_v", "leds", "ohm"), [(6.0, 1, 220.0), (24.0, 1, 1120.0), (24.0, 3, 960.0)])
def test_led_resistor(supply_v: float, leds: int, ohm: float) -> None:
    """Kuphaldt, Lessons in Electric Circuits vol. III (m, recomputed): 1.6 V at 20 mA."""
    values = f"leds: {leds}, led: 1.6 V at 20 mA, supply: {supply_v} V"
    bench = Bench.of(
        supply=source("a", "0", supply_v),
        lights=Item(kind="led string", values=values, nets={"+": "a", "-": "0"}),
    )
    given = bench.boat.parts["lights"].given
    assert nominal_values(kind("led string"), given)["series_ohm"] == pytest.approx(ohm)
    assert bench.amps("lights", "chain") == pytest.approx(0.020, rel=1e-4)


@pytest.mark.parametrize(("name", "low", "high"), [("silicon", 0.8, 1.1), ("schottky", 0.2, 0.55)])
def test_diode_drop_at_its_rating(name: str, low: float, high: float) -> None:
    """Silicon 0.8 to 1.1 V, Schottky 0.2 to 0.55 V at rated current (m), the whole tolerance of the kind."""
    spec = kind("diode").values["drop_v"]
    drop_v = spec.choices[name]
    assert low <= drop_v * (1 - spec.tolerance)
    assert drop_v * (1 + spec.tolerance) <= high


# Regulators.


def step_down(supply: float, load: Item) -> Bench:
    """Return a 5 V, 3 A step-down module between a stiff supply and a load on net ``b``."""
    module = Item(
        kind="step-down module", values="set: 5.0 V, rating: 3 A", nets={"in": "a", "gnd": "0", "out": "b"}
    )
    return Bench.of(supply=source("a", "0", supply), module=module, load=load)


def test_regulator_holds_its_output() -> None:
    """Common 150 kHz 3 A converter (s): 4.8 to 5.2 V at 25 °C, 4.75 to 5.25 V over temperature, from 0.5 to 3 A."""
    spec = kind("step-down module").values["set_v"]
    light = step_down(11.1, draw("b", "0", 0.5, 3.0)).volts("b")
    assert light * (1 - spec.tolerance) >= 4.75
    assert light * (1 + spec.tolerance) <= 5.25
    assert 4.75 <= step_down(11.1, draw("b", "0", 3.0, 3.0)).volts("b") <= 5.25


def test_regulator_without_headroom() -> None:
    """Common 150 kHz 3 A converter (s): 1.16 V typical drop at full duty."""
    assert 5.5 - step_down(5.5, resistor("b", "0", 1e4)).volts("b") == pytest.approx(1.16, abs=0.01)


def test_regulator_limits_its_current() -> None:
    """Common 150 kHz 3 A converter (s): limit 4.5 A, 3.6 to 6.9."""
    bench = step_down(11.1, resistor("b", "0", 0.5))
    assert bench.amps("module", "buck") == pytest.approx(4.5, abs=0.01)
    assert bench.volts("b") == pytest.approx(2.25, abs=0.01)


@pytest.mark.parametrize(("supply_v", "ohm"), [(11.1, 0.5), (11.1, 0.1), (7.2, 0.8)])
def test_regulator_in_its_limit_takes_no_more_power_than_it_gives_over_its_efficiency(
    supply_v: float, ohm: float
) -> None:
    """Power in = power out over the efficiency (c): 4.5 A into 0.5 ohm is 10.1 W, not the 22.5 W of a standing 5 V."""
    bench = step_down(supply_v, resistor("b", "0", ohm))
    idle = step_down(supply_v, resistor("b", "0", 1e6))
    values = nominal_values(kind("step-down module"), bench.boat.parts["module"].given)
    limit_a = values["limit_a"]
    assert bench.amps("module", "buck") == pytest.approx(limit_a, abs=0.01)
    given_w = limit_a * (bench.volts("b") + limit_a * values["pass_ohm"])
    more_a = -bench.amps("supply") + idle.amps("supply")
    assert more_a * supply_v == pytest.approx(given_w / 0.85, rel=5e-3)


def test_linear_regulator_in_its_limit_takes_what_it_gives() -> None:
    values = "bec: 5.0 V at 1 A, bec type: linear, bec stop: 200 degC, bec heat: 1 K/W"
    drive = Item(kind="forward drive", values=values, nets={"+": "a", "-": "0", "r": "b"})
    idle = Bench.of(supply=source("a", "0", 9.6), drive=drive)
    shorted = Bench.of(supply=source("a", "0", 9.6), drive=drive, load=resistor("b", "0", 0.2))
    assert -shorted.amps("supply") + idle.amps("supply") == pytest.approx(1.0, abs=2e-3)


def test_regulator_at_no_load() -> None:
    """Common 150 kHz 3 A converter (s): quiescent 5 mA; the program adds bleeders of the input and the output."""
    assert -step_down(11.1, resistor("b", "0", 1e6)).amps("supply") == pytest.approx(5e-3, rel=0.5)


def test_linear_regulator_takes_what_it_gives() -> None:
    """Heat = (Vin - Vout) · I (c): input and output current are equal."""
    values = "bec: 5.0 V at 1 A, bec type: linear"
    drive = Item(kind="forward drive", values=values, nets={"+": "a", "-": "0", "r": "b"})
    idle = Bench.of(supply=source("a", "0", 9.6), drive=drive)
    loaded = Bench.of(supply=source("a", "0", 9.6), drive=drive, load=draw("b", "0", 0.8, 3.0))
    assert -loaded.amps("supply") + idle.amps("supply") == pytest.approx(0.8, abs=2e-3)


# Motors.


def motor(volts: float, values: str, *faults: Fault) -> Bench:
    """Return a motor at stiff volts."""
    item = Item(kind="motor", values=values, nets={"+": "a", "-": "0"})
    return Bench(bench_boat({"supply": source("a", "0", volts), "motor": item}), faults)


@pytest.mark.parametrize(
    ("rated_v", "rated_a", "stall_a", "ohm"),
    [(12.0, 10.0, 84.0, 0.143), (6.0, 0.6, 3.5, 1.7)],
)
def test_stall_current(rated_v: float, rated_a: float, stall_a: float, ohm: float) -> None:
    """Size 550 at 12 V and size 260 at 6 V, stall and winding (s; 0.143 ohm c): stall current is V/R."""
    values = f"rated: {rated_v} V at {rated_a} A, stall: {stall_a} A"
    stalled = motor(rated_v, values, Fault("motor", "stalled"))
    assert stalled.amps("motor", "winding") == pytest.approx(stall_a, rel=0.01)
    given = stalled.boat.parts["motor"].given
    assert nominal_values(kind("motor"), given)["winding_ohm"] == pytest.approx(ohm, rel=0.01)


def test_motor_draws_its_rating() -> None:
    """Size 540 at 7.2 V (m): 12 A loaded, and between 1.5 and 2.4 A when it runs all but free."""
    values = "rated: 7.2 V at 12 A, stall: 70 A"
    loaded = motor(7.2, values)
    assert loaded.amps("motor", "winding") == pytest.approx(12.0, rel=0.02)
    idle_a = nominal_values(kind("motor"), loaded.boat.parts["motor"].given)["idle_a"]
    assert 1.5 <= idle_a <= 2.4


def test_motor_speed_and_current_at_half_volts() -> None:
    """V = I·R + ke·ω with torque kt·I (s): solved by hand for friction and a load that rises with speed squared."""
    bench = motor(3.6, "rated: 7.2 V at 12 A, stall: 70 A")
    values = nominal_values(kind("motor"), bench.boat.parts["motor"].given)
    ohm, idle_a = values["winding_ohm"], values["idle_a"]
    rated_emf = 7.2 - 12.0 * ohm
    outside_ohm = 0.001 + LEADS_OHM + LEAST_OHM
    a, b = (12.0 - idle_a) / rated_emf**2 * ohm, 1.0
    c = idle_a * ohm - (3.6 - outside_ohm * bench.amps("motor", "winding"))
    emf = (-b + math.sqrt(b**2 - 4 * a * c)) / (2 * a)
    assert bench.amps("motor", "winding") == pytest.approx(idle_a + a / ohm * emf**2, rel=1e-4)


# Signals.

RADIO = """\
boat: Teal
parts:
  pack: {{kind: nimh pack, cells: 4, capacity: 2 Ah}}
  receiver: {{kind: receiver, logic: {logic_v} V}}
  servo: {{kind: servo}}
runs:
  - [pack +, 20 AWG 10 cm, receiver batt+]
  - [pack -, 20 AWG 10 cm, receiver batt-]
radio:
  controls: {{helm: stick}}
  channels: {{1: servo}}
  mix: {{1: {{helm: 100 %}}}}
"""


@pytest.mark.parametrize(
    ("logic_v", "millivolts"), [(3.3, (165.0, 248.0, 330.0)), (5.0, (250.0, 375.0, 500.0))]
)
def test_mean_of_a_servo_signal(logic_v: float, millivolts: tuple[float, float, float]) -> None:
    """50 Hz, 1.0, 1.5 and 2.0 ms (c).

    One per cent is lost in the receiver's own resistance against the servo's input, and a millivolt where the current
    of the servo returns.
    """
    boat = load_boat(RADIO.format(logic_v=logic_v), "teal.yaml", CATALOGUE)
    network = build_network(boat)
    solver = make_solver(network)
    signal, minus = (network.node(Point(part="receiver", terminal=pin)) for pin in ("1s", "1-"))
    for helm, expected in zip((-1.0, 0.0, 1.0), millivolts, strict=True):
        phase = solver.solve(ready_state(boat).with_({"helm": helm}), [Variant()]).phase
        shown = 1e3 * float(np.diff(phase.volts[[minus, signal], 0])[0])
        assert expected * 0.985 - 1.0 <= shown <= expected


def test_receiver_and_servo_values() -> None:
    """Receiver minimum about 3.5 V, brown-out 3.0 to 3.6 V (m); servo idle 6 to 8 mA, stall 0.6 to 1.2 A (s)."""
    receiver, servo = nominal_values(kind("receiver"), {}), nominal_values(kind("servo"), {})
    assert receiver["start_v"] == pytest.approx(3.5)
    assert 3.0 <= receiver["brownout_v"] <= 3.6
    assert 0.006 <= servo["idle_a"] <= 0.008
    assert 0.6 <= servo["stall_a"] <= 1.2
