"""A diode test by the matrix of its ports, against the same meter solved as one more part of the circuit."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.circuit import CHEAP_METER, MeterProfile, diode_volts
from tests.support.bench import Bench, Item, diode, resistor, source

ONE = np.zeros(1, dtype=np.intp)
LED = (2.0, 0.02, 0.06)
SILICON = (0.95, 3.0, 0.05)


def shown(items: dict[str, Item], red: str, black: str, meter: MeterProfile = CHEAP_METER) -> float:
    """Return what the program says the meter shows."""
    bench = Bench.of(**items)
    hold = bench.solver.hold(bench.solution, [bench.variant], ONE)
    probes = (bench.node(red), bench.node(black))
    return float(diode_volts(bench.network, hold, ONE, [bench.variant], probes, meter)[0])


def inserted(items: dict[str, Item], red: str, black: str, meter: MeterProfile = CHEAP_METER) -> float:
    """Return the volts between the probes with the meter in the circuit as a battery behind its resistance."""
    battery = source(red, black, meter.diode_open_v, meter.diode_open_v / meter.diode_a)
    return Bench.of(meter=battery, **items).volts(red, black)


CIRCUITS = {
    "one": {"d": diode("a", "0", *SILICON), "r": resistor("a", "0", 1e5)},
    "two in a row": {
        "d": diode("a", "b", *SILICON),
        "e": diode("b", "0", *SILICON),
        "r": resistor("a", "0", 1e5),
    },
    "one against another": {
        "d": diode("a", "0", *SILICON),
        "e": diode("0", "a", *SILICON),
        "r": resistor("a", "0", 1e5),
    },
    "behind a resistor": {"d": diode("a", "b", *LED), "r": resistor("b", "0", 150.0)},
    "two rows of lights": {
        "d": diode("a", "b", *LED),
        "r": resistor("b", "0", 150.0),
        "e": diode("a", "c", 1.8, 0.02, 0.06),
        "s": resistor("c", "0", 470.0),
    },
    "a resistor alone": {"r": resistor("a", "0", 470.0)},
}


@pytest.mark.parametrize("name", CIRCUITS)
def test_what_it_shows_is_what_the_whole_circuit_has_with_the_meter_in_it(name: str) -> None:
    assert shown(CIRCUITS[name], "a", "0") == pytest.approx(inserted(CIRCUITS[name], "a", "0"), abs=2e-5)


@settings(max_examples=40)
@given(
    st.floats(0.2, 1.2),
    st.floats(0.005, 5.0),
    st.floats(0.03, 0.08),
    st.floats(0.1, 3e3),
    st.floats(50.0, 1e7),
)
def test_any_junction_with_anything_around_it(
    volts: float, amps: float, slope_v: float, row_ohm: float, beside_ohm: float
) -> None:
    items = {
        "d": diode("a", "b", volts, amps, slope_v),
        "r": resistor("b", "0", row_ohm),
        "s": resistor("a", "0", beside_ohm),
    }
    whole = inserted(items, "a", "0")
    if abs(whole - CHEAP_METER.diode_largest_v) > 1e-3:
        seen = shown(items, "a", "0")
        assert (
            seen == pytest.approx(whole, abs=5e-4) if whole < CHEAP_METER.diode_largest_v else np.isinf(seen)
        )


def test_the_other_way_round_a_junction_shows_ol() -> None:
    assert shown(CIRCUITS["one"], "0", "a") == np.inf
    assert shown(CIRCUITS["one"], "a", "0") < 0.6


def test_white_light_is_more_than_a_cheap_display_shows() -> None:
    white = {"d": diode("a", "b", 3.2, 0.02, 0.06), "r": resistor("b", "0", 100.0)}
    assert shown(white, "a", "0") == np.inf
    better = MeterProfile(
        functions=CHEAP_METER.functions, diode_open_v=3.2, diode_a=1.5e-3, diode_largest_v=3.0
    )
    assert 2.4 < shown(white, "a", "0", better) < 3.0


def test_probes_together_show_nothing() -> None:
    assert shown(CIRCUITS["one"], "a", "a") == pytest.approx(0.0, abs=1e-9)
