"""The circuit model against an independent simulator that shares no code with it.

Here every fault is compared in one boat state; ``python -m tests.oracle`` compares all in all.
"""

from dataclasses import replace

import pytest

pytest.importorskip("neospice")

from assistant.circuit import Variant, build_network, make_solver, ready_state
from assistant.wiring import load_boat
from tests.oracle.campaign import Sort, Tally, campaign, compare
from tests.oracle.exceptions import MOST_UNSETTLED, unexcused
from tests.oracle.netlist import Case
from tests.oracle.simulate import simulate
from tests.support.boats import example_boats, read_catalogue

BOATS = example_boats()


@pytest.mark.parametrize("name", BOATS)
def test_every_fault_in_one_state_and_health_in_all(name: str) -> None:
    whole = Tally()
    for _, _, tally in campaign({name: BOATS[name]}, sparse=True):
        whole.add(tally)
    print(f"{name}: {whole.voltages} node voltages and {whole.conditions} conditions compared")
    assert [str(f) for f in unexcused(whole.findings)] == []
    unsettled = sum(f.sort is Sort.UNSETTLED for f in whole.findings)
    assert unsettled <= MOST_UNSETTLED * whole.variants
    assert whole.voltages > 50 * len(BOATS[name].parts)


LINEAR = """\
boat: Teal
parts:
  pack: {kind: lithium pack, cells: 3, capacity: 2 Ah}
  drive: {kind: forward drive, max: 13 V, cutoff: 9 V}
  motor: {kind: motor, rated: 12 V at 4 A, stall: 22 A}
  receiver: {kind: receiver}
  rudder: {kind: servo}
  second: {kind: servo}
runs:
  - [pack +, 16 AWG 10 cm, drive +]
  - [pack -, 16 AWG 10 cm, drive -]
  - [pack +, 16 AWG 10 cm, motor, 16 AWG 10 cm, drive M]
radio:
  controls: {throttle: lever, helm: stick}
  channels: {1: rudder, 2: drive, 3: second}
  mix: {1: {helm: 100 %}, 2: {throttle: 100 %}, 3: {helm: 100 %}}
"""


def test_a_linear_regulator_that_overheats_and_a_throttle_lever() -> None:
    """What no example boat has: a linear regulator, whose heat switches it off, and a lever on a one-way drive."""
    boat = load_boat(LINEAR, "teal.yaml", read_catalogue())
    whole = Tally()
    for _, _, tally in campaign({"teal": boat}, sparse=True):
        whole.add(tally)
    # Behind a bad joint the simulator itself may find no answer.
    assert [str(f) for f in whole.findings if f.sort is not Sort.UNANSWERED] == []
    assert len(whole.findings) <= 0.01 * whole.variants
    assert whole.restless > 50


def test_comparison_catches_a_joint_of_a_milliohm_too_much() -> None:
    """The comparison must be able to fail: the simulator gets another boat than the program."""
    boat = BOATS["dabchick"]
    joint = boat.parts["pack.+--fuse.in@1"]
    worse = replace(
        boat, parts={**boat.parts, joint.id: replace(joint, given={"ohm": 1.0 + joint.given.get("ohm", 0.0)})}
    )
    state = ready_state(boat).with_({"throttle": 1.0})
    solution = make_solver(build_network(boat)).solve(state, [Variant()])
    holds = tuple(solution.phase.conditions[:, 0].tolist())
    theirs = simulate(Case(build_network(worse), state, (), holds))
    assert max(abs(a - b) for a, b in zip(theirs, solution.phase.volts[:, 0], strict=True)) > 1e-3


def test_comparison_catches_a_condition_that_the_voltages_contradict() -> None:
    boat = BOATS["dabchick"]
    network = build_network(boat)
    solution = make_solver(network).solve(ready_state(boat), [Variant()])
    number = next(i for i, c in enumerate(network.conditions) if (c.part, c.name) == ("rudder", "alive"))
    solution.phase.conditions[number] = False
    tally = compare("dabchick", "ready", [Variant()], solution)
    assert Sort.INCONSISTENT in {f.sort for f in tally.findings}
