"""Readings of a meter's further functions: where they are on offer, what they expect, and what they tell."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from assistant.circuit import CHEAP_METER, CurrentRange, Fault, Measurement, MeterFunction, Variant, gaps_of
from assistant.diagnosis import Diagnosis, ReadingSeen
from assistant.diagnosis.belief import believe, likelihood
from assistant.diagnosis.choose import field_of, forecast, reading_gains
from assistant.diagnosis.further import SURGE, bearable, currents, further_readings, junction_pairs
from assistant.diagnosis.offers import OVERHEAD_S, suspected_parts
from assistant.diagnosis.table import FaultTable
from assistant.drill.virtual import VirtualBoat
from tests.diagnosis.boats import network_of, point, ready, unplugged, volts

SCAUP = """\
boat: Scaup
parts:
  pack: {kind: nimh pack, cells: 6, capacity: 3.3 Ah}
  fuse: {kind: blade fuse, rating: 5 A}
  lights: {kind: led string, leds: 1, led: 2 V at 20 mA, supply: 7.2 V}
  guard: {kind: diode, rating: 3 A}
  lamp: {kind: lamp, rated: 7.2 V at 1 A}
runs:
  - [pack +, 18 AWG 15 cm plug/crimped, fuse, 18 AWG 10 cm, lights +]
  - [fuse out, 18 AWG 10 cm, guard, 18 AWG 10 cm, lamp +]
  - [pack -, 18 AWG 25 cm, lights -]
  - [pack -, 18 AWG 25 cm, lamp -]
"""
"""A light-emitting diode, and a lamp behind a diode."""


class HalfRandom:
    """Chance that always comes out in the middle: no meter error, the first of equal draws."""

    def random(self) -> float:
        return 0.5

    def randint(self, low: int, high: int) -> int:
        return (low + high) // 2


@cache
def scaup() -> Diagnosis:
    return Diagnosis(network_of(SCAUP))


def diode_test(red: str, black: str) -> Measurement:
    return Measurement(
        function=MeterFunction.DIODE_TEST, red=point(red), black=point(black), state=unplugged(SCAUP)
    )


def shown(faults: tuple[Fault, ...], measurement: Measurement) -> float:
    return VirtualBoat(scaup().table.solver, faults, HalfRandom()).read(measurement)


FORWARD = diode_test("guard anode", "guard cathode")
BACKWARD = diode_test("guard cathode", "guard anode")


def test_a_diode_test_is_on_offer_over_junctions_in_question_with_every_pack_unplugged() -> None:
    network = network_of(SCAUP)
    every = set(network.parts)
    dead = list(further_readings(network, unplugged(SCAUP), CHEAP_METER, every))
    assert {m.red.part for m in dead} == {"lights", "guard"}
    assert {m.function for m in dead} == {MeterFunction.DIODE_TEST}
    assert {FORWARD, BACKWARD} <= set(dead)
    assert not list(further_readings(network, ready(SCAUP), CHEAP_METER, every))
    assert not list(further_readings(network, unplugged(SCAUP), CHEAP_METER, every - {"lights", "guard"}))
    without = CHEAP_METER.only([MeterFunction.OHMS])
    assert not list(further_readings(network, unplugged(SCAUP), without, every))


def test_a_part_without_a_junction_has_no_place_for_it() -> None:
    assert not list(junction_pairs(network_of(SCAUP), "lamp"))


@pytest.mark.parametrize(
    ("mode", "forward", "backward"),
    [
        ("", (0.4, 0.75), None),
        ("shorted", (0.0, 0.05), (0.0, 0.05)),
        ("open", (1.5, 2.0), None),  # by way of the light and the lamp
        ("reversed", (1.5, 2.0), (0.4, 0.75)),
    ],
)
def test_each_fault_of_a_diode_shows_what_the_books_say(
    mode: str, forward: tuple[float, float] | None, backward: tuple[float, float] | None
) -> None:
    faults = (Fault("guard", mode),) if mode else ()
    for measurement, span in ((FORWARD, forward), (BACKWARD, backward)):
        value = shown(faults, measurement)
        assert np.isinf(value) if span is None else span[0] <= value <= span[1]


def test_a_healthy_diode_lies_in_its_band_and_ol_in_that_of_the_other_way() -> None:
    band = scaup().band(FORWARD)
    assert band.low < shown((), FORWARD) < band.high
    assert band.high - band.low < 0.3
    assert scaup().band(BACKWARD).holds(np.inf)
    assert not scaup().band(BACKWARD).holds(0.5)


def test_the_table_expects_what_boats_with_that_fault_show() -> None:
    table = scaup().table
    cells = [i for i, v in enumerate(table.cells.variants) if v.faults == (Fault("guard", "shorted"),)]
    seen = table.state(unplugged(SCAUP)).shown([FORWARD], np.array([cells[0] // table.cells.draws])).values
    solver = table.solver
    alone = VirtualBoat(solver, (Fault("guard", "shorted"),), HalfRandom()).read(FORWARD)
    assert seen.shape == (1, 1, table.cells.draws)
    assert seen.max() == pytest.approx(alone, abs=2e-3)
    assert Variant(faults=(Fault("guard", "shorted"),), draw=1) in table.cells.variants


def test_one_reading_names_a_shorted_diode_and_clears_a_sound_one() -> None:
    diagnosis = scaup()
    before = diagnosis.belief([])

    def chance(evidence: list[ReadingSeen], mode: str) -> float:
        after = believe(diagnosis.table, evidence)
        rows = [
            any(m.part == "guard" and m.mode == mode for m in diagnosis.table.hypotheses[owner].modes)
            for owner in diagnosis.table.cells.owner
        ]
        return float(after.cells[np.array(rows)].sum() / before.cells[np.array(rows)].sum())

    assert chance([ReadingSeen(measurement=BACKWARD, value=0.002)], "shorted") > 10.0
    assert chance([ReadingSeen(measurement=FORWARD, value=1.66)], "open") > 10.0
    sound = [ReadingSeen(measurement=FORWARD, value=0.56), ReadingSeen(measurement=BACKWARD, value=np.inf)]
    assert chance(sound, "shorted") < 0.1
    assert chance(sound, "open") < 0.1


def test_how_likely_a_reading_is_adds_up_to_one_over_the_scale() -> None:
    table = scaup().table
    values = np.linspace(-0.5, 3.0, 141)
    finite = [likelihood(table, ReadingSeen(measurement=FORWARD, value=v))[0] for v in values]
    beyond, _ = likelihood(table, ReadingSeen(measurement=FORWARD, value=np.inf))
    whole = np.trapezoid(np.stack(finite), values, axis=0) + beyond
    assert whole.min() > 0.9
    assert whole.max() < 1.1


def test_it_is_expected_to_tell_about_the_repair_what_outcomes_and_cells_say() -> None:
    diagnosis = scaup()
    field = field_of(diagnosis.table, diagnosis.belief([ReadingSeen(measurement=BACKWARD, value=0.002)]))
    assert "guard" in suspected_parts(diagnosis.table, field)
    gains = reading_gains(diagnosis.table, field, [FORWARD, BACKWARD])
    assert (gains > 0.0).all()
    outcomes = forecast(diagnosis.table, field, [FORWARD]).outcomes(field)
    assert outcomes.sum(axis=1) == pytest.approx(1.0)


def amps(place: str) -> Measurement:
    gap = next(gap for gap in gaps_of(network_of(SCAUP).boat) if gap.place == place)
    return Measurement(function=MeterFunction.DC_AMPS, red=gap.red, black=gap.black, state=ready(SCAUP))


FEED = amps("fuse")
UP = ReadingSeen(measurement=volts("lights +", "lights -", ready(SCAUP)), value=7.3)


def test_current_is_on_offer_only_with_a_pack_plugged_in_and_a_range_for_it() -> None:
    boat = network_of(SCAUP).boat
    assert FEED in list(currents(boat, ready(SCAUP), CHEAP_METER))
    assert not list(currents(boat, unplugged(SCAUP), CHEAP_METER))
    assert not list(currents(boat, ready(SCAUP), CHEAP_METER.only([MeterFunction.DC_VOLTS])))


def test_what_might_blow_the_fuse_of_the_meter_is_not_on_offer() -> None:
    table = scaup().table
    assert not bearable(table, field_of(table, scaup().belief([])), [FEED])  # it might be a short
    field = field_of(table, scaup().belief([UP]))
    shown = table.state(ready(SCAUP)).shown([FEED], field.cells).values
    assert np.nanmax(np.abs(shown)) < CHEAP_METER.currents[-1].fuse_a
    assert bearable(table, field, [FEED]) == [FEED]
    small = replace(CHEAP_METER, currents=(CurrentRange(full_a=0.2, ohm=1.05, fuse_a=0.2),))
    assert not bearable(FaultTable(table.solver, table.hypotheses, small), field, [FEED])
    assert SURGE > 1.0


def test_with_the_meter_in_its_place_a_blown_fuse_carries_what_a_sound_one_does() -> None:
    well, blown = shown((), FEED), shown((Fault("fuse", "open"),), FEED)
    assert well == blown == pytest.approx(1.0, rel=0.2)
    table = scaup().table

    def expected(mode: str) -> np.ndarray:
        faults = (Fault("fuse", mode),) if mode else ()
        number = next(i for i, v in enumerate(table.cells.variants) if v.faults == faults)
        cell = np.array([number // table.cells.draws])
        return table.state(ready(SCAUP)).shown([FEED], cell).values

    assert expected("open") == pytest.approx(expected(""))
    assert expected("") == pytest.approx(well, rel=0.2)


def test_a_current_lies_in_the_healthy_band_and_one_without_the_lamp_below_it() -> None:
    band = scaup().band(FEED)
    assert band.low < shown((), FEED) < band.high
    without = shown((Fault("lamp", "burnt out"),), FEED)
    assert without < 0.1 < band.low
    seen = ReadingSeen(measurement=FEED, value=without)
    fits, unknown = likelihood(scaup().table, seen)
    rows = [v.faults == (Fault("lamp", "burnt out"),) for v in scaup().table.cells.variants]
    dark = np.array(rows).reshape(fits.shape)
    well = np.array([not v.faults for v in scaup().table.cells.variants]).reshape(fits.shape)
    assert fits[dark].min() > 3.0 * unknown
    assert fits[well].max() < 0.1 * unknown


def test_the_dear_reading_is_among_all_offers_and_left_out_of_the_best_only_where_it_could_not_win() -> None:
    diagnosis = scaup()
    field = field_of(diagnosis.table, diagnosis.belief([UP]))
    offers = diagnosis.offers((ready(SCAUP),))
    every = list(offers.all(field, ready(SCAUP), None))
    dear = [o for o in every if isinstance(o.what, Measurement) and o.what.function.is_inserted]
    assert dear
    assert all(o.seconds > 75.0 and o.rate == o.gain_bits / (OVERHEAD_S + o.seconds) for o in dear)
    best = offers.best(field, ready(SCAUP), None)
    assert best is not None
    assert best.rate == max(o.rate for o in every if o.gain_bits >= 0.1)
    alone = diagnosis.limited([MeterFunction.DC_AMPS]).offers((ready(SCAUP),))
    only = [o for o in alone.all(field, ready(SCAUP), None) if isinstance(o.what, Measurement)]
    assert {o.what.function for o in only if isinstance(o.what, Measurement)} == {MeterFunction.DC_AMPS}
