"""Readings of a meter's further functions: where they are on offer, what they expect, and what they tell."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from assistant.circuit import (
    CHEAP_METER,
    BoatState,
    CurrentRange,
    Fault,
    Measurement,
    MeterFunction,
    Variant,
    gaps_of,
    load_meter,
)
from assistant.diagnosis import Diagnosis, ReadingSeen
from assistant.diagnosis.belief import believe, likelihood
from assistant.diagnosis.choose import field_of, forecast, reading_gains
from assistant.diagnosis.further import SURGE, bearable, currents, further_readings, junction_pairs
from assistant.diagnosis.offers import suspected_parts
from assistant.diagnosis.race import OVERHEAD_S
from assistant.diagnosis.table import FaultTable
from assistant.drill.virtual import VirtualBoat
from assistant.wiring import Point, points_of
from tests.diagnosis.boats import KNOWLEDGE, network_of, point, ready, unplugged, volts

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


BETTER = load_meter(
    (KNOWLEDGE.parent / "meters" / "better-meter.yaml").read_text(encoding="utf-8"), "better-meter"
)
CHANNELS = """\
boat: Pochard
parts:
  pack: {kind: nimh pack, cells: 4, capacity: 2 Ah}
  receiver: {kind: receiver}
  rudder: {kind: servo}
runs:
  - [pack +, 20 AWG 10 cm, receiver batt+]
  - [pack -, 20 AWG 10 cm, receiver batt-]
radio:
  controls: {helm: stick}
  channels: {1: rudder}
  mix: {1: {helm: 100 %}}
"""
"""A servo on a receiver, and nothing else."""


@cache
def pochard() -> Diagnosis:
    return Diagnosis(network_of(CHANNELS), meter=BETTER)


def signal(function: MeterFunction, part: str = "rudder", state: BoatState | None = None) -> Measurement:
    red, black = ("s", "b") if part == "rudder" else ("1s", "1-")
    return Measurement(
        function=function,
        red=Point(part=part, terminal=red),
        black=Point(part=part, terminal=black),
        state=state or ready(CHANNELS).with_({"helm": 1.0}),
    )


DUTY, RATE = signal(MeterFunction.DUTY), signal(MeterFunction.FREQUENCY)


def test_pulses_are_counted_on_signal_pins_by_a_meter_that_can_and_ripple_read_while_something_runs() -> None:
    network, moving = network_of(CHANNELS), DUTY.state
    offered = set(further_readings(network, moving, BETTER, {"rudder"}))
    assert {DUTY, RATE, signal(MeterFunction.DUTY, "receiver")} <= offered
    functions = {m.function for m in offered}
    assert functions == {MeterFunction.DUTY, MeterFunction.FREQUENCY, MeterFunction.AC_MILLIVOLTS}
    still = {m.function for m in further_readings(network, ready(CHANNELS), BETTER, {"rudder"})}
    assert still == {MeterFunction.DUTY, MeterFunction.FREQUENCY}
    assert not list(further_readings(network, moving, CHEAP_METER, {"rudder"}))


def test_every_reading_on_offer_lies_between_points_that_the_boat_has() -> None:
    network = network_of(CHANNELS)
    offered = further_readings(network, DUTY.state, BETTER, set(network.parts))
    touched = {spot for reading in offered for spot in (reading.red, reading.black)}
    assert touched
    assert touched <= set(points_of(network.boat))


def chance_of(diagnosis: Diagnosis, evidence: list[ReadingSeen], part: str, mode: str) -> float:
    """Return how much likelier a fault is after some evidence than before."""
    before, after = diagnosis.belief([]), diagnosis.belief(evidence)
    rows = [
        any((m.part, m.mode) == (part, mode) for m in diagnosis.table.hypotheses[owner].modes)
        for owner in diagnosis.table.cells.owner
    ]
    return float(after.cells[np.array(rows)].sum() / before.cells[np.array(rows)].sum())


def test_duty_tells_how_far_a_channel_is_told_to_move() -> None:
    tenth, half = (ReadingSeen(measurement=DUTY, value=value) for value in (0.1, 0.05))
    assert chance_of(pochard(), [tenth], "channel 1", "reversed") < 0.1
    assert chance_of(pochard(), [half], "channel 1", "reversed") > 10.0


def test_pulses_at_the_socket_and_none_at_the_servo_name_the_signal_wire() -> None:
    arrive = ReadingSeen(measurement=signal(MeterFunction.FREQUENCY, "receiver"), value=50.0)
    none = ReadingSeen(measurement=RATE, value=0.0)
    (lead,) = [one for one in network_of(CHANNELS).boat.leads.values() if RATE.red in one.ends]
    assert chance_of(pochard(), [arrive, none], f"{lead.id}@2", "open") > 10.0
    assert chance_of(pochard(), [arrive, none], "receiver", "dead") < 0.1


@pytest.mark.parametrize(("measurement", "most"), [(DUTY, 1.0), (RATE, 300.0)])
def test_how_likely_pulses_are_adds_up_to_one(measurement: Measurement, most: float) -> None:
    values = np.linspace(-0.3 * most, most, 301)
    density = [likelihood(pochard().table, ReadingSeen(measurement=measurement, value=v))[0] for v in values]
    whole = np.trapezoid(np.stack(density), values, axis=0)
    assert whole.min() > 0.9
    assert whole.max() < 1.1


def test_a_healthy_signal_lies_in_its_band_and_a_reversed_channel_out_of_it() -> None:
    diagnosis = pochard()
    solver = diagnosis.table.solver
    assert diagnosis.band(DUTY).holds(VirtualBoat(solver, (), HalfRandom(), meter=BETTER).read(DUTY))
    assert diagnosis.band(RATE).holds(VirtualBoat(solver, (), HalfRandom(), meter=BETTER).read(RATE))
    turned = VirtualBoat(solver, (Fault("channel 1", "reversed"),), HalfRandom(), meter=BETTER)
    assert not diagnosis.band(DUTY).holds(turned.read(DUTY), slack=1.0)


def test_ripple_is_a_hint_that_neither_names_nor_clears() -> None:
    ripple = Measurement(
        function=MeterFunction.AC_MILLIVOLTS,
        red=point("receiver batt+"),
        black=point("receiver batt-"),
        state=DUTY.state,
    )
    table = pochard().table
    assert VirtualBoat(table.solver, (), HalfRandom(), meter=BETTER).read(ripple) < 0.001
    low, much = (
        likelihood(table, ReadingSeen(measurement=ripple, value=value))[0] for value in (0.001, 0.003)
    )
    assert (low / much).max() < 10.0
