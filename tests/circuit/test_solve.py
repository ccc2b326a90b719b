"""Steady states: the simplest circuits, laws that hold for every circuit, and what alternates for ever."""

from collections.abc import Mapping
from dataclasses import replace
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from assistant.catalogue import Group
from assistant.circuit import (
    Fault,
    Solution,
    Variant,
    build_network,
    make_solver,
    ready_state,
    rest_state,
    working_states,
)
from assistant.errors import CircuitError
from assistant.wiring import Point, load_boat
from tests.circuit.networks import circuits, diodes, draws, motors, named, ohms
from tests.support.bench import CATALOGUE, GROUND, Bench, Item, bench_boat, diode, draw, resistor, source
from tests.support.boats import example_boats

LEAK_S = 1e-9


def test_one_resistor_without_a_source_has_no_volts() -> None:
    bench = Bench.of(r=resistor("a", "0", 10.0))
    assert np.abs(bench.phase.volts).max() == 0.0
    assert np.abs(bench.phase.amps).max() == 0.0


def test_empty_bench() -> None:
    bench = Bench(bench_boat({}))
    assert bench.phase.volts.shape == (len(bench.network.nodes), 1)
    assert np.abs(bench.phase.volts).max() == 0.0


def test_boat_without_a_pack_is_refused() -> None:
    text = "boat: Teal\nparts: {lamp: {kind: lamp, rated: 6 V at 1 A}, node: {kind: splice}}\n"
    text += "runs: [[node, 16 AWG 10 cm, lamp +], [node, 16 AWG 10 cm, lamp -]]\n"
    with pytest.raises(CircuitError, match="no pack"):
        build_network(load_boat(text, "teal.yaml", CATALOGUE))


def test_floating_island_keeps_its_own_volts_and_stays_near_the_reference() -> None:
    bench = Bench.of(
        here=source("a", "0", 12.0, 1.0),
        there=source("b", "c", 6.0, 1.0),
        load=resistor("b", "c", 5.0),
    )
    assert bench.volts("b", "c") == pytest.approx(5.0, rel=1e-4)
    assert -5.1 <= bench.volts("c") <= 0.0 <= bench.volts("b") <= 5.1


def test_loop_of_two_sources_carries_what_their_resistances_allow() -> None:
    bench = Bench.of(one=source("a", "0", 12.6, 0.02), other=source("a", "0", 11.4, 0.03))
    assert bench.amps("other") == pytest.approx(1.2 / 0.05, rel=1e-3)
    assert bench.volts("a") == pytest.approx(12.6 - 24.0 * 0.02, rel=1e-3)


def residuals(bench: Bench) -> NDArray[np.float64]:
    """Return what leaves each node, in amps; the reference takes what leaks and is left out."""
    volts, amps = bench.phase.volts[:, 0], bench.phase.amps[:, 0]
    sums = LEAK_S * volts
    for element, current in zip(bench.network.elements, amps, strict=True):
        sums[element.nodes[0]] += current
        sums[element.nodes[1]] -= current
    return np.asarray(sums[:-1])


@settings(max_examples=60)
@given(circuits(diodes, draws, motors))
def test_currents_at_every_node_sum_to_nothing(items: Mapping[str, Item]) -> None:
    bench = Bench(bench_boat(items))
    largest = np.abs(bench.phase.amps).max()
    # Voltages stand still within 0.1 microvolt, and a diode's slope is its current over 45 mV.
    assert np.abs(residuals(bench)).max() <= 1e-6 + 1e-7 / 0.045 * 1.5 * largest


@settings(max_examples=30)
@given(circuits(diodes, motors), st.randoms(use_true_random=False))
def test_order_of_description_changes_nothing(items: Mapping[str, Item], chance: Random) -> None:
    names = list(items)
    chance.shuffle(names)
    one, other = Bench(bench_boat(items)), Bench(bench_boat({name: items[name] for name in names}))
    nets = sorted({net for item in items.values() for net in item.nets.values()})
    assert [one.volts(net) for net in nets] == pytest.approx(
        [other.volts(net) for net in nets], rel=1e-5, abs=1e-5
    )


@settings(max_examples=30)
@given(
    st.lists(
        st.tuples(st.lists(st.sampled_from("0abcd"), min_size=2, max_size=2, unique=True), ohms(0.1, 1e4)),
        min_size=1,
        max_size=8,
    )
)
def test_a_linear_network_passes_both_ways_alike(found: list[tuple[list[str], float]]) -> None:
    """Reciprocity: the current at one port from a volt at the other is the same with ports exchanged."""
    resistors = named([resistor(first, second, ohm) for (first, second), ohm in found])

    def current(volts_a: float, volts_b: float, at: str) -> float:
        ports = {"one": source("a", "0", volts_a, 1.0), "two": source("c", "d", volts_b, 1.0)}
        return Bench(bench_boat({**resistors, **ports})).amps(at)

    assert current(1.0, 0.0, "two") == pytest.approx(current(0.0, 1.0, "one"), rel=1e-6, abs=1e-9)


@settings(max_examples=20)
@given(circuits(), st.floats(0.5, 3.0))
def test_a_linear_network_scales(items: Mapping[str, Item], factor: float) -> None:

    def with_emf(volts: float) -> Bench:
        inner = {name: item.values.split(", ")[-1] for name, item in items.items()}
        changed = {
            n: replace(i, values=f"emf: {volts!r}, {inner[n]}")
            for n, i in items.items()
            if i.kind == "test source"
        }
        return Bench(bench_boat({**items, **changed}))

    once, scaled = with_emf(1.0), with_emf(factor)
    np.testing.assert_allclose(scaled.phase.volts, factor * once.phase.volts, rtol=1e-5, atol=1e-5)


def test_variants_solved_together_are_those_solved_alone() -> None:
    boat = bench_boat(
        {
            "pack": Item(kind="nimh pack", values="cells: 6, capacity: 3 Ah", nets={"+": "a", "-": "0"}),
            "motor": Item(kind="motor", values="rated: 7.2 V at 6 A", nets={"+": "a", "-": "b"}),
            "d": diode("b", "c", 0.8, 3.0, 0.045),
            "load": draw("a", "c", 0.5, 3.0),
            "r": resistor("c", "0", 0.05),
        }
    )
    network = build_network(boat)
    solver = make_solver(network)
    faults = [Fault("motor", mode) for mode in ("stalled", "open")] + [Fault("pack", "flat", 0.04)]
    variants = [Variant(), *(Variant(faults=(f,)) for f in faults), Variant(faults=tuple(faults[1:]), draw=3)]
    together = solver.solve(ready_state(boat), variants, draws=4)
    for column, variant in enumerate(variants):
        alone = solver.solve(ready_state(boat), [variant], draws=4)
        np.testing.assert_allclose(together.phase.volts[:, column], alone.phase.volts[:, 0], atol=1e-6)


# What alternates for ever.


def alternating(solution: Solution) -> set[str]:
    """Return which conditions of the only variant alternate."""
    conditions = solution.network.conditions
    return {f"{conditions[c].part} {conditions[c].name}" for c in np.flatnonzero(solution.restless[:, 0])}


def test_boat_states_solved_together_are_those_solved_alone() -> None:
    boat = example_boats()["dabchick"]
    network = build_network(boat)
    solver = make_solver(network)
    variants = [
        Variant(),
        Variant(faults=(Fault("fuse", "open"),)),
        Variant(faults=(Fault("pump", "stalled"),)),
    ]
    ready = ready_state(boat)
    states = [
        rest_state(boat),
        ready,
        ready.with_({"throttle": 1.0}),
        ready.with_({"throttle": -1.0, "helm": 0.5}),
    ]
    together = solver.solve_each(states, variants)
    assert [solution.state for solution in together] == states
    for solution in together:
        alone = solver.solve(solution.state, variants)
        assert np.abs(solution.phase.volts - alone.phase.volts).max() < 1e-6
        assert (solution.phase.conditions == alone.phase.conditions).all()
        assert (solution.phase.travel == alone.phase.travel).all()


def test_no_variants_give_no_columns() -> None:
    boat = example_boats()["dabchick"]
    solver = make_solver(build_network(boat))
    assert solver.solve(ready_state(boat), []).phase.volts.shape == (len(solver.network.nodes), 0)
    assert [s.failed.shape for s in solver.solve_each([rest_state(boat), ready_state(boat)], [])] == [
        (0,),
        (0,),
    ]


def test_relay_that_breaks_its_own_feed_rattles() -> None:
    relay = Item(kind="relay", values="coil: 12 V", nets={"coil+": "c", "coil-": "0", "com": "a", "nc": "c"})
    bench = Bench.of(supply=source("a", "0", 12.0, 0.1), relay=relay, lamp=resistor("c", "0", 1e3))
    assert alternating(bench.solution) == {"relay pulled"}
    fed = [float(phase.volts[bench.node("c"), 0]) for phase in (bench.solution.phase, bench.solution.other)]
    assert sorted(fed) == pytest.approx([0.0, 12.0], abs=0.02)


def test_relay_fed_past_its_contact_settles() -> None:
    relay = Item(kind="relay", values="coil: 12 V", nets={"coil+": "a", "coil-": "0", "com": "a", "nc": "c"})
    bench = Bench.of(supply=source("a", "0", 12.0, 0.1), relay=relay, lamp=resistor("c", "0", 1e3))
    assert alternating(bench.solution) == set()
    assert abs(bench.volts("c")) < 1e-3


def test_a_relay_holds_where_it_would_not_pull_in() -> None:
    """It pulls in at the unloaded supply; the load that it makes then leaves 5 V, which hold but would not pull in."""
    relay = Item(kind="relay", values="coil: 12 V", nets={"coil+": "a", "coil-": "0", "com": "a", "no": "c"})
    bench = Bench.of(supply=source("a", "0", 12.0, 10.0), relay=relay, load=resistor("c", "0", 7.0))
    assert alternating(bench.solution) == set()
    assert bench.volts("a") == pytest.approx(4.9, abs=0.1)


def test_variants_solved_in_pieces_are_those_solved_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    boat = example_boats()["dabchick"]
    solver = make_solver(build_network(boat))
    variants = [
        Variant(faults=(Fault("fuse", "corroded", ohm),)) for ohm in (0.1, 0.5, 1.0, 3.0, 10.0, 30.0, 90.0)
    ]
    once = solver.solve(ready_state(boat), variants, draws=1)
    monkeypatch.setattr(type(solver), "_chunk", lambda _: 3)
    pieces = solver.solve(ready_state(boat), variants, draws=1)
    np.testing.assert_allclose(pieces.phase.volts, once.phase.volts, atol=1e-6)
    assert (pieces.phase.conditions == once.phase.conditions).all()


def test_what_touches_in_a_fault_alone_is_left_out_where_it_does_not_touch(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The structure of the sound boat gives what the whole one gives, and what it has no place for is not put there."""
    boat = example_boats()["dabchick"]
    solver, state = make_solver(build_network(boat)), ready_state(boat)
    touching = [Variant(faults=(Fault("channel 1 lead", "signal to minus", ohm),)) for ohm in (0.1, 1.0)]
    joints = [Variant(faults=(Fault("fuse", "corroded", ohm),)) for ohm in (0.1, 1.0, 10.0)]
    assert solver.frame_of(joints) is solver.lean
    assert solver.frame_of([*joints, *touching]) is solver.frame
    assert solver.lean.core.entries < solver.frame.core.entries
    variants = [Variant(), touching[0], *joints, touching[1]]
    whole, whole_survey = solver.solve(state, variants), solver.survey(state, variants)
    monkeypatch.setattr(type(solver), "_chunk", lambda _: 3)
    apart, apart_survey = solver.solve(state, variants), solver.survey(state, variants)
    assert (whole.phase.conditions == apart.phase.conditions).all()
    np.testing.assert_allclose(apart.phase.volts, whole.phase.volts, atol=1e-6)
    signal, every = np.arange(len(solver.network.nodes)), np.arange(len(variants))
    volts = whole_survey.phase.volts_at(signal, every)
    np.testing.assert_allclose(apart_survey.phase.volts_at(signal, every), volts, atol=1e-6)
    np.testing.assert_allclose(volts, whole.phase.volts, atol=1e-6)


BROWNOUT = """\
boat: Teal
parts:
  pack: {{kind: nimh pack, cells: 4, capacity: 2 Ah}}
  joint: {{kind: resistor, body: {ohm} ohm}}
  receiver: {{kind: receiver}}
  servo: {{kind: servo}}
runs:
  - [pack +, 20 AWG 10 cm, joint, 20 AWG 10 cm, receiver batt+]
  - [pack -, 20 AWG 10 cm, receiver batt-]
radio:
  controls: {{helm: stick}}
  channels: {{1: servo}}
  mix: {{1: {{helm: 100 %}}}}
"""


@pytest.mark.parametrize(
    ("ohm", "helm", "restarts"), [(0.1, 1.0, False), (20.0, 0.0, False), (20.0, 1.0, True)]
)
def test_receiver_on_a_weak_supply_restarts_when_the_servo_moves(
    ohm: float, helm: float, restarts: bool
) -> None:
    boat = load_boat(BROWNOUT.format(ohm=ohm), "teal.yaml", CATALOGUE)
    network = build_network(boat)
    solution = make_solver(network).solve(ready_state(boat).with_({"helm": helm}), [Variant()])
    assert not solution.failed[0]
    assert ("receiver alive" in alternating(solution)) is restarts
    supply = network.node(Point(part="receiver", terminal="batt+"))
    volts = sorted(float(phase.volts[supply, 0]) for phase in (solution.phase, solution.other))
    if restarts:
        assert volts[0] < 3.2
        assert volts[1] > 3.5
    else:
        assert volts[0] == pytest.approx(volts[1])
        assert volts[0] > 3.5


def test_ground_is_the_reference() -> None:
    bench = Bench.of(battery=source("a", "0", 9.0, 1.0))
    assert bench.node(GROUND) == len(bench.network.nodes) - 1


@pytest.mark.parametrize("name", ["dabchick", "wigeon"])
def test_joints_of_any_ohms_settle_in_every_state(name: str) -> None:
    boat = example_boats()[name]
    network = build_network(boat)
    joints = [part.id for part in network.parts.values() if "poor" in part.kind.faults]
    variants = [
        Variant(faults=(Fault(part=joint, mode="poor", severity=ohm),), draw=draw)
        for joint in joints
        for ohm in (7.2, 41.6, 74.7)
        for draw in range(4)
    ]
    solver = make_solver(network)
    failed = [
        (str(state), variants[int(i)])
        for state in working_states(boat)
        for i in np.flatnonzero(solver.solve(state, variants, draws=3).failed)
    ]
    assert not failed


def test_what_does_not_settle_is_named() -> None:
    boat = example_boats()["grebe"]
    solver = make_solver(build_network(boat))
    # Beside the border where the pack just no longer carries converter, servo and both regulators together.
    unsettled = Variant(faults=(Fault(part="main-fuse", mode="clip", severity=2.989330270867626),))
    at_border = [s for s in working_states(boat) if s.get("steer") and solver.solve(s, [unsettled]).failed[0]]
    assert at_border
    places = solver.unsettled(at_border[0], unsettled)
    assert places
    assert all(boat.parts[point.part].kind.group is not Group.PACK for point in places)
    assert solver.unsettled(at_border[0], Variant()) == ()
