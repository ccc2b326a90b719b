"""From switching on to what stays: heat that switches a regulator off and on, circles that name all they take along."""

import numpy as np
import pytest

from assistant.catalogue import nominal_values
from assistant.circuit import (
    Fault,
    Network,
    Phase,
    Solution,
    Variant,
    build_network,
    make_solver,
    ready_state,
)
from assistant.circuit.network import Element
from assistant.wiring import Point, load_boat
from tests.support.boats import read_catalogue

CATALOGUE = read_catalogue()
BOAT = """\
boat: Teal
parts:
  pack: {{kind: lithium pack, cells: {cells}, capacity: 2 Ah, soc: 90 %}}
  drive: {{kind: forward drive, bec: 5.0 V at 1 A, bec type: {regulator}, max: 20 V, cutoff: 6 V}}
  motor: {{kind: motor, rated: 12 V at 4 A, stall: 22 A}}
  receiver: {{kind: receiver}}
  rudder: {{kind: servo, move: {move}}}
  second: {{kind: servo, move: {move}}}
runs:
  - [pack +, 16 AWG 10 cm, drive +]
  - [pack -, 16 AWG 10 cm, drive -]
  - [pack +, 16 AWG 10 cm, motor, 16 AWG 10 cm, drive M]
radio:
  controls: {{throttle: stick, helm: stick}}
  channels: {{1: rudder, 2: drive, 3: second}}
  mix: {{1: {{helm: 100 %}}, 2: {{throttle: 100 %}}, 3: {{helm: 100 %}}}}
"""


def solved(cells: int, regulator: str, move: str, *faults: Fault) -> Solution:
    """Return the boat with both servos held over."""
    boat = load_boat(BOAT.format(cells=cells, regulator=regulator, move=move), "teal.yaml", CATALOGUE)
    state = ready_state(boat).with_({"helm": 1.0})
    solution = make_solver(build_network(boat)).solve(state, [Variant(faults=faults)])
    assert not solution.failed[0]
    return solution


def alternating(solution: Solution) -> set[str]:
    conditions = solution.network.conditions
    return {f"{conditions[i].part} {conditions[i].name}" for i in np.flatnonzero(solution.restless[:, 0])}


def rail_v(network: Network, phase: Phase) -> float:
    plus, minus = (network.node(Point(part="receiver", terminal=f"batt{end}")) for end in "+-")
    return float(phase.volts[plus, 0] - phase.volts[minus, 0])


def regulator_of(network: Network) -> tuple[int, Element]:
    return next((i, e) for i, e in enumerate(network.elements) if (e.part, e.name) == ("drive", "bec"))


@pytest.mark.parametrize("cells", [2, 3, 4])
@pytest.mark.parametrize("move", ["100 mA", "130 mA", "180 mA", "250 mA", "300 mA"])
def test_a_linear_regulator_shuts_down_where_its_heat_would_carry_it_beyond_its_limit(
    cells: int, move: str
) -> None:
    """Heat = (Vin - Vout) * I (c): 50 K a watt from 30 degC, shut down at 150 degC, is 2.4 W.

    The same boat with the thermal limit out of reach tells how much the regulator would have to burn off.
    """
    solution = solved(cells, "linear", move)
    kind, given = solution.network.parts["drive"].kind, solution.network.parts["drive"].given
    values = nominal_values(kind, given)
    assert 30.0 + 2.4 * values["bec_heat"] == pytest.approx(values["bec_stop"])
    number, regulator = regulator_of(solution.network)
    free = solved(cells, "linear, bec heat: 1 K/W", move)
    vin, _, out = (free.phase.volts[n, 0] for n in regulator.nodes)
    watts = float((vin - out) * free.phase.amps[number, 0])
    assert ("drive hot" in alternating(solution)) is (watts > 2.4)


def test_an_overheated_regulator_has_two_phases_and_takes_the_radio_with_it() -> None:
    solution = solved(4, "linear", "250 mA")
    assert {"drive hot", "receiver alive", "rudder alive"} <= alternating(solution)
    volts = sorted(rail_v(solution.network, phase) for phase in (solution.phase, solution.other))
    assert volts == pytest.approx([0.0, 5.0], abs=0.1)


def test_a_switching_regulator_has_no_such_limit() -> None:
    solution = solved(4, "switching", "250 mA")
    assert not solution.restless.any()
    assert rail_v(solution.network, solution.phase) == pytest.approx(5.0, abs=0.1)


def test_a_servo_that_binds_heats_a_linear_regulator_until_it_shuts_down() -> None:
    assert not solved(2, "linear", "150 mA").restless.any()
    assert "drive hot" in alternating(solved(2, "linear", "150 mA", Fault("rudder", "binds", 1.0)))


def test_all_that_has_no_rest_is_named_also_what_comes_on_last() -> None:
    """Both servos come and go; the circle closes with the first that overheats the regulator."""
    named = alternating(solved(3, "linear", "300 mA"))
    assert {f"{servo} {what}" for servo in ("rudder", "second") for what in ("alive", "heard")} <= named
