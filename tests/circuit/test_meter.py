"""The meter: what it shows, how far its display can be trusted, and that it loads the circuit like a resistor."""

from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.circuit import (
    CHEAP_METER,
    MeterFunction,
    MeterProfile,
    half_width,
    last_digit,
    ohms_shown,
    volts_shown,
)
from tests.circuit.networks import circuits, ohms
from tests.support.bench import LEADS_OHM, Bench, Item, bench_boat, diode, resistor, source


@settings(max_examples=40)
@given(circuits(), st.sampled_from([("a", "0"), ("a", "b"), ("c", "d"), ("0", "b")]), ohms(1e3, 1e8))
def test_reading_is_that_of_a_resistor_between_the_probes(
    items: Mapping[str, Item], probes: tuple[str, str], input_ohm: float
) -> None:
    meter = MeterProfile(functions=CHEAP_METER.functions, input_ohm=input_ohm)
    without = Bench(bench_boat(items))
    inserted = Bench(bench_boat({**items, "meter": resistor(*probes, input_ohm)}))
    shown = without.reading(*probes, meter)
    assert shown == pytest.approx(inserted.volts(*probes), rel=1e-4, abs=1e-5)


def test_small_reading_on_a_floating_point_leaves_a_diode_its_slope() -> None:
    """Behind a diode the resistance is that at the working point."""
    circuit = {
        "v": source("a", "0", 5.0),
        "r": resistor("a", "b", 1e4),
        "d": diode("b", "0", 0.7, 0.01, 0.045),
    }
    inserted = Bench(bench_boat({**circuit, "meter": resistor("b", "0", 10e6)}))
    assert Bench(bench_boat(circuit)).reading("b", "0", CHEAP_METER) == pytest.approx(
        inserted.volts("b"), abs=1e-5
    )


def test_ghost_on_a_broken_lead() -> None:
    """Two points that only leak see the meter as their heaviest load."""
    bench = Bench.of(v=source("a", "0", 12.0), leak=resistor("a", "b", 10e6))
    assert bench.volts("b") > 10.0
    assert bench.reading("b", "0", CHEAP_METER) == pytest.approx(6.0, rel=0.06)


def test_meter_across_one_point_shows_nothing() -> None:
    assert Bench.of(v=source("a", "0", 12.0), r=resistor("a", "0", 5.0)).reading("a", "a", CHEAP_METER) == 0.0


@pytest.mark.parametrize("ohm", [0.5, 47.0, 1e4, 2.2e6])
def test_ohms_of_a_resistor(ohm: float) -> None:
    bench = Bench.of(r=resistor("a", "b", ohm), s=resistor("b", "0", 1.0))
    column = np.array([0])
    hold = bench.solver.hold(bench.solution, [bench.variant], column)
    seen = hold.between(np.array([bench.node("a")]), np.array([bench.node("b")]), column, exact=True)
    assert float(ohms_shown(seen, CHEAP_METER)[0, 0]) == pytest.approx(ohm, rel=0.02, abs=LEADS_OHM)


def test_too_many_ohms_read_over_limit() -> None:
    assert ohms_shown(np.array([1.0, 19e6, 21e6]), CHEAP_METER).tolist() == [1.0, 19e6, np.inf]


@pytest.mark.parametrize(
    ("value", "digit"),
    [
        (0.0, 1e-4),
        (0.15, 1e-4),
        (1.5, 1e-3),
        (-1.5, 1e-3),
        (2.0, 1e-3),
        (2.01, 1e-2),
        (11.1, 1e-2),
        (150.0, 0.1),
    ],
)
def test_last_digit_of_the_smallest_range(value: float, digit: float) -> None:
    assert float(last_digit(CHEAP_METER, MeterFunction.DC_VOLTS, np.array(value))) == pytest.approx(digit)


def test_half_width_is_share_and_digits() -> None:
    """±(0.5 % of reading + 2 digits), typical for cheap meters (from memory)."""
    width = half_width(CHEAP_METER, MeterFunction.DC_VOLTS, np.array([11.1, -11.1]))
    assert width.tolist() == pytest.approx([0.0755, 0.0755])


@given(st.floats(-60.0, 60.0), ohms(0.01, 1e9))
def test_meter_never_shows_more_than_is_there(volts: float, ohm: float) -> None:
    shown = float(volts_shown(np.array(volts), np.array(ohm), CHEAP_METER))
    assert abs(shown) <= abs(volts)
    assert shown * volts >= 0.0
