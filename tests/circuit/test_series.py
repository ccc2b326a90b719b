"""A meter on current: where it can be put in, and the linear reckoning against the boat solved with the meter in it."""

from functools import cache
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.circuit import (
    CHEAP_METER,
    BoatState,
    CurrentRange,
    Fault,
    Measurement,
    MeterFunction,
    MeterProfile,
    Network,
    Solver,
    Variant,
    amps_shown,
    around_ohm,
    build_network,
    gap_between,
    gaps_of,
    half_width,
    last_digit,
    make_solver,
    ready_state,
    working_states,
)
from assistant.diagnosis.cells import plain_cells
from assistant.diagnosis.signs import SignModel
from assistant.diagnosis.table import StateTable
from assistant.drill.metering import with_meter
from assistant.drill.virtual import VirtualBoat
from tests.support.boats import example_boats

STATES = ("ready", "ahead")


@cache
def solver_of(name: str) -> Solver:
    return make_solver(build_network(example_boats()[name]))


def state_of(network: Network, name: str) -> BoatState:
    return ready_state(network.boat) if name == "ready" else working_states(network.boat)[0]


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("name", ["dabchick", "grebe"])
def test_the_current_reckoned_is_that_of_the_boat_solved_with_the_meter_in_it(name: str, state: str) -> None:
    solver = solver_of(name)
    network = solver.network
    there = state_of(network, state)
    cells = plain_cells((Variant(),), 1)
    table = StateTable(solver, cells, there, CHEAP_METER, SignModel(network, cells.variants, 0))
    nominal = VirtualBoat(solver, (), Random(1))
    nominal._draw = 0
    small, large = CHEAP_METER.currents
    told = 0
    for gap in gaps_of(network.boat):
        what = Measurement(function=MeterFunction.DC_AMPS, red=gap.red, black=gap.black, state=there)
        amps = float(table.shown([what]).values[0, 0, 0])
        if not np.isnan(amps):
            chosen = small if abs(amps) < 0.95 * small.full_a else large
            assert amps == pytest.approx(nominal.amps_in_series(what, chosen.ohm), rel=0.03, abs=0.006)
            told += abs(amps) > 0.01
    assert told >= 3


def test_gaps_are_pulled_fuses_and_plugs_and_screws_never_solder() -> None:
    boat = example_boats()["grebe"]
    gaps = list(gaps_of(boat))
    kinds = [boat.parts[gap.place].kind for gap in gaps]
    assert {kind.name for kind in kinds if kind.group == "joint"} <= {"plugged joint", "screwed joint"}
    assert {gap.place for gap in gaps} >= {"main-fuse", "port-fuse"}
    for gap in gaps:
        assert gap_between(boat, gap.red, gap.black) == gap == gap_between(boat, gap.black, gap.red)


def test_current_flows_into_the_red_probe_on_plus_and_minus_leads_alike() -> None:
    network = solver_of("dabchick").network
    boat = VirtualBoat(solver_of("dabchick"), (), Random(1))
    for place in ("fuse", "pack.+--fuse.in@1", "pack.---drive.-@1"):
        gap = next(gap for gap in gaps_of(network.boat) if gap.place == place)
        what = Measurement(
            function=MeterFunction.DC_AMPS, red=gap.red, black=gap.black, state=ready_state(network.boat)
        )
        assert boat.amps_in_series(what, 0.01) > 0.01


@given(st.floats(1e-3, 9.0), st.floats(0.5, 100.0), st.floats(1e-4, 0.01))
def test_burden_never_raises_a_current_and_a_meter_like_the_gap_changes_nothing(
    amps: float, ohm: float, gap_ohm: float
) -> None:
    between = np.array(1.0 / (1.0 / ohm + 1.0 / gap_ohm))
    around = around_ohm(between, np.array(gap_ohm))
    like = MeterProfile(functions={}, currents=(CurrentRange(full_a=10.0, ohm=gap_ohm, fuse_a=10.0),))
    assert amps_shown(np.array(amps), around, np.array(gap_ohm), like) == pytest.approx(amps, rel=1e-6)
    real = MeterProfile(functions={}, currents=(CurrentRange(full_a=10.0, ohm=0.06, fuse_a=10.0),))
    assert amps_shown(np.array(amps), around, np.array(gap_ohm), real) < amps


@pytest.mark.parametrize(("amps", "digit"), [(0.05, 1e-4), (-0.15, 1e-4), (0.25, 0.01), (-8.0, 0.01)])
def test_the_last_digit_is_that_of_the_range(amps: float, digit: float) -> None:
    assert float(last_digit(CHEAP_METER, MeterFunction.DC_AMPS, np.array(amps))) == pytest.approx(digit)


def test_the_largest_error_is_share_and_digits() -> None:
    width = half_width(CHEAP_METER, MeterFunction.DC_AMPS, np.array([5.0]))
    assert width == pytest.approx(0.015 * 5.0 + 3.0 * 0.01)


def test_what_alternates_is_told_by_the_same_two_moments_with_a_meter_put_in() -> None:
    """Both drives cut off together; a phase in which one alone runs has nearly the same volts, and is not the one."""
    solver = solver_of("grebe")
    there = ready_state(solver.network.boat).with_({"power": 1.0, "throttle": -1.0})
    variant = Variant(faults=(Fault("main-switch", "worn", 0.7071067811865476),))
    without, within = (
        one.solve(there, [variant]) for one in (solver, with_meter(solver, "pack.---minus.x@1", 0.06))
    )
    assert without.restless[:, 0].any()
    for one, other in ((without.phase, within.phase), (without.other, within.other)):
        assert (one.conditions == other.conditions).all()
