"""Worked circuits of textbooks, solved by the program.

Sources: OpenStax, University Physics vol. 2 and College Physics, chapters on circuits (s: seen in a copy of the
source); T. R. Kuphaldt, Lessons in Electric Circuits vol. I (values m: from memory of the source; results c: computed
from them by hand).  The status stands in each test's first line.  Where the book prints three digits, three are
compared.
"""

import pytest

from assistant.circuit import CHEAP_METER, MeterProfile
from tests.support.bench import LEADS_OHM, Bench, resistor, source


def printed(value: float) -> object:
    """Return what compares equal to a number printed to three digits; ideal sources keep their leads."""
    return pytest.approx(value, rel=5e-3 / 2, abs=2 * LEADS_OHM)


def fine(value: float) -> object:
    """Return what compares equal to a number that is exact in the book but for the leads of ideal sources."""
    return pytest.approx(value, rel=1e-4, abs=2e-4)


def meter_of(ohm: float) -> MeterProfile:
    """Return a voltmeter of this input resistance."""
    return MeterProfile(functions=CHEAP_METER.functions, input_ohm=ohm)


@pytest.mark.parametrize(
    ("inner_ohm", "load_ohm", "amps", "volts", "watts"),
    [(0.1, 10.0, 1.188, 11.88, 14.1), (0.1, 0.5, 20.0, 10.0, 200.0), (0.5, 0.5, 12.0, 6.0, 72.0)],
)
def test_terminal_voltage(inner_ohm: float, load_ohm: float, amps: float, volts: float, watts: float) -> None:
    """OpenStax, terminal voltage of a 12 V battery under load (s)."""
    bench = Bench.of(battery=source("a", "0", 12.0, inner_ohm), load=resistor("a", "0", load_ohm))
    assert bench.amps("load") == printed(amps)
    assert bench.volts("a") == printed(volts)
    assert bench.amps("load") * bench.volts("a") == printed(watts)


def test_resistors_in_series() -> None:
    """OpenStax, five resistors in series (s)."""
    nets = ["a", "b", "c", "d", "e", "0"]
    ohms = [20.0, 20.0, 20.0, 20.0, 10.0]
    chain = {f"r{i}": resistor(nets[i], nets[i + 1], ohm) for i, ohm in enumerate(ohms)}
    bench = Bench.of(battery=source("a", "0", 9.0), **chain)
    assert bench.amps("r0") == fine(0.1)
    assert [bench.volts(net) for net in "bcde"] == [fine(v) for v in (7.0, 5.0, 3.0, 1.0)]


def test_resistors_in_parallel() -> None:
    """OpenStax, 1, 2 and 2 ohm across 3 V (s)."""
    bench = Bench.of(
        battery=source("a", "0", 3.0),
        one=resistor("a", "0", 1.0),
        two=resistor("a", "0", 2.0),
        three=resistor("a", "0", 2.0),
    )
    assert bench.amps("one") + bench.amps("two") + bench.amps("three") == printed(6.0)


def test_series_and_parallel() -> None:
    """OpenStax, 24 V, 7 ohm, then 10 ohm beside 6 and 4 (s)."""
    bench = Bench.of(
        battery=source("a", "0", 24.0),
        r1=resistor("a", "b", 7.0),
        r2=resistor("b", "0", 10.0),
        r3=resistor("b", "c", 6.0),
        r4=resistor("c", "0", 4.0),
    )
    assert bench.amps("r1") == fine(2.0)
    assert (bench.volts("b"), bench.volts("c")) == (fine(10.0), fine(4.0))
    assert -bench.amps("battery") * bench.volts("a") == printed(48.0)


def test_one_in_series_two_in_parallel() -> None:
    """OpenStax, 12 V, 1 ohm, then 6 beside 13 (s)."""
    bench = Bench.of(
        battery=source("a", "0", 12.0),
        r1=resistor("a", "b", 1.0),
        r2=resistor("b", "0", 6.0),
        r3=resistor("b", "0", 13.0),
    )
    assert bench.amps("r1") == printed(2.35)
    assert bench.volts("b") == printed(9.65)
    assert bench.amps("r2") == printed(1.61)
    assert bench.amps("r2") * bench.volts("b") == printed(15.5)


def test_two_loops() -> None:
    """OpenStax, Kirchhoff's rules with 24 V and 29 V (s)."""
    bench = Bench.of(
        left=source("a", "0", 24.0),
        r1=resistor("a", "b", 3.0),
        r2=resistor("b", "0", 3.0),
        r3=resistor("b", "c", 3.0),
        r4=resistor("c", "d", 4.0),
        right=source("d", "0", 29.0),
    )
    assert [bench.amps(r) for r in ("r1", "r2", "r3")] == [fine(3.0), fine(5.0), fine(-2.0)]
    assert bench.volts("b") == fine(15.0)


def test_three_sources_at_one_node() -> None:
    """OpenStax, Kirchhoff's rules with 0.5, 2.3 and 0.6 V (s)."""
    bench = Bench.of(
        v1=source("a", "0", 0.5),
        r1=resistor("a", "b", 1.0),
        r2=resistor("b", "c", 2.0),
        v2=source("d", "0", 2.3),
        r3=resistor("d", "e", 5.0),
        r4=resistor("e", "f", 1.0),
        r5=resistor("f", "c", 2.0),
        r6=resistor("c", "g", 1.0),
        v3=source("0", "g", 0.6),
    )
    assert [bench.amps(r) for r in ("r1", "r3", "r6")] == [fine(0.2), fine(0.3), fine(0.5)]
    assert bench.volts("c") == fine(-0.1)


def test_two_sources_against_each_other() -> None:
    """OpenStax, 24 V against 12 V through 60 ohm (s)."""
    bench = Bench.of(
        high=source("a", "0", 24.0),
        r1=resistor("a", "b", 10.0),
        r2=resistor("b", "c", 30.0),
        r3=resistor("c", "d", 20.0),
        low=source("d", "0", 12.0),
    )
    assert bench.amps("r2") == fine(0.2)


@pytest.mark.parametrize(
    ("corrosion_ohm", "amps", "volts", "watts"), [(0.0, 200.0, 10.0, 2000.0), (0.09, 80.0, 4.0, 320.0)]
)
def test_corroded_connection(corrosion_ohm: float, amps: float, volts: float, watts: float) -> None:
    """OpenStax, a starter motor of 0.05 ohm behind a corroded joint (s)."""
    lead_ohm = max(corrosion_ohm, 2 * LEADS_OHM)
    bench = Bench.of(
        battery=source("a", "0", 12.0, 0.01),
        joint=resistor("a", "b", lead_ohm),
        motor=resistor("b", "0", 0.05),
    )
    assert bench.amps("motor") == printed(amps)
    assert bench.volts("b") == printed(volts)
    assert bench.amps("motor") * bench.volts("b") == pytest.approx(watts, rel=6e-3)


def test_meter_that_loads_the_circuit() -> None:
    """OpenStax, voltmeter of 2 kilohm across 500 and 3000 ohm on 60 V (s)."""
    bench = Bench.of(
        battery=source("a", "0", 60.0), r1=resistor("a", "b", 500.0), r2=resistor("b", "0", 3000.0)
    )
    assert bench.reading("a", "b", meter_of(2e3)) == printed(7.06)
    assert bench.reading("b", "0", meter_of(2e3)) == printed(42.35)


def test_meter_that_hardly_loads_the_circuit() -> None:
    """OpenStax, voltmeter of 1 megohm across 2 of 3 kilohm on 6 V (s)."""
    bench = Bench.of(battery=source("a", "0", 6.0), r1=resistor("a", "b", 1e3), r2=resistor("b", "0", 2e3))
    assert bench.reading("b", "0", meter_of(1e6)) == pytest.approx(3.997, abs=5e-4)


def test_branch_currents() -> None:
    """Kuphaldt, branch current method, 28 V and 7 V (m, results c)."""
    bench = Bench.of(
        left=source("a", "0", 28.0),
        r1=resistor("a", "b", 4.0),
        r2=resistor("b", "0", 2.0),
        r3=resistor("b", "c", 1.0),
        right=source("c", "0", 7.0),
    )
    assert [bench.amps(r) for r in ("r1", "r2", "r3")] == [fine(5.0), fine(4.0), fine(1.0)]
    assert bench.volts("b") == fine(8.0)


@pytest.mark.parametrize(("load_ohm", "watts"), [(0.8, 39.2), (0.5, 37.11), (1.1, 38.22)])
def test_most_power_at_equal_resistance(load_ohm: float, watts: float) -> None:
    """Kuphaldt, Thévenin equivalent of 11.2 V and 0.8 ohm (m): 39.2 W at 0.8 ohm (c), less on either side (c)."""
    bench = Bench.of(supply=source("a", "0", 11.2, 0.8), load=resistor("a", "0", load_ohm))
    assert bench.amps("load") * bench.volts("a") == pytest.approx(watts, abs=5e-3)


def test_thevenin_of_two_sources() -> None:
    """Kuphaldt, 28 V by 4 ohm and 7 V by 1 ohm seen from the node between (m): 11.2 V behind 0.8 ohm (c)."""
    bench = Bench.of(
        left=source("a", "0", 28.0),
        r1=resistor("a", "b", 4.0),
        r3=resistor("b", "c", 1.0),
        right=source("c", "0", 7.0),
    )
    assert bench.volts("b") == fine(11.2)
    assert bench.reading("b", "0", meter_of(0.8)) == pytest.approx(5.6, abs=1e-3)


def test_unbalanced_bridge() -> None:
    """Kuphaldt, bridge of 150, 50, 100, 300 and 250 ohm on 24 V (m, results c)."""
    bench = Bench.of(
        supply=source("a", "0", 24.0),
        r1=resistor("a", "l", 150.0),
        r2=resistor("a", "r", 50.0),
        r3=resistor("l", "r", 100.0),
        r4=resistor("l", "0", 300.0),
        r5=resistor("r", "0", 250.0),
    )
    assert [bench.volts("l"), bench.volts("r")] == pytest.approx([17.655, 19.310], abs=5e-4)
    assert -bench.amps("supply") == pytest.approx(0.13609, abs=5e-6)


def test_bridge_of_10_volts() -> None:
    """Kuphaldt, bridge of 12, 18, 6, 18 and 12 ohm on 10 V (m, results c)."""
    bench = Bench.of(
        supply=source("a", "0", 10.0),
        r1=resistor("a", "l", 12.0),
        r2=resistor("a", "r", 18.0),
        r3=resistor("l", "r", 6.0),
        r4=resistor("l", "0", 18.0),
        r5=resistor("r", "0", 12.0),
    )
    assert [bench.volts("l"), bench.volts("r")] == pytest.approx([5.294, 4.706], abs=5e-4)


@pytest.mark.parametrize(("input_ohm", "shown"), [(10e6, 11.852), (50e3, 3.429)])
def test_meter_across_a_high_resistance_divider(input_ohm: float, shown: float) -> None:
    """Kuphaldt, voltmeter across one of two 250 kilohm on 24 V (m, results c).

    Every point of the program's boats leaks a nanosiemens; the dozen points at the middle take 0.1 % together.
    """
    bench = Bench.of(
        supply=source("a", "0", 24.0), r1=resistor("a", "b", 250e3), r2=resistor("b", "0", 250e3)
    )
    assert bench.reading("b", "0", meter_of(input_ohm)) == pytest.approx(shown, rel=1e-3)
    inserted = Bench.of(
        supply=source("a", "0", 24.0),
        r1=resistor("a", "b", 250e3),
        r2=resistor("b", "0", 250e3),
        meter=resistor("b", "0", input_ohm),
    )
    assert inserted.volts("b") == pytest.approx(shown, rel=2e-3)


def test_leak_of_a_megohm() -> None:
    """Ghost voltage: 1 megohm from 12 V reads 10.9 V on 10 megohm (c)."""
    bench = Bench.of(battery=source("a", "0", 12.0), leak=resistor("a", "b", 1e6))
    assert bench.volts("b") > 11.9
    assert bench.reading("b", "0", CHEAP_METER) == pytest.approx(10.9, abs=0.05)


@pytest.mark.parametrize(
    ("volts", "cell_ohm", "cells", "lead_ohm", "amps"),
    [(12.6, 2e-3, 3, 3e-3, 1400.0)],
)
def test_short_across_a_pack(volts: float, cell_ohm: float, cells: int, lead_ohm: float, amps: float) -> None:
    """Short-circuit current of a 3-cell lithium pack of 5 Ah, 2 milliohm a cell and 3 of leads (c)."""
    bench = Bench.of(pack=source("a", "0", volts, cells * cell_ohm), short=resistor("a", "0", lead_ohm))
    assert bench.amps("short") == pytest.approx(amps, rel=1e-2)
