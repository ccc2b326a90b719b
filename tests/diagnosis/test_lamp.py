"""The test lamp in the diagnosis: where it is on offer, what it is expected to show, and what it finds."""

from dataclasses import replace
from functools import cache
from random import Random

import numpy as np
import pytest

from assistant.circuit import (
    LAMP_LEVELS,
    Fault,
    Measurement,
    MeterFunction,
    build_network,
    lamp_level,
    lamp_value,
    ready_state,
)
from assistant.diagnosis import AtHand, Diagnosis, ReadingSeen, SignQuery, SignSeen
from assistant.diagnosis.belief import likelihood
from assistant.diagnosis.choose import field_of, forecast
from assistant.diagnosis.further import lamp_readings
from assistant.drill.hunting import chooser_of, hunt
from assistant.drill.virtual import VirtualBoat
from assistant.wiring import Point
from tests.diagnosis.boats import SMEW, boat_of, network_of, point, ready, unplugged
from tests.diagnosis.test_trials import SERVOS
from tests.support.boats import example_boats

LAMP = frozenset({AtHand.LAMP})


@cache
def smew() -> Diagnosis:
    return Diagnosis(network_of(SMEW))


def held(red: str, black: str) -> Measurement:
    return Measurement(function=MeterFunction.LAMP, red=point(red), black=point(black), state=ready(SMEW))


BEFORE, BEHIND = held("fuse in", "pack -"), held("fuse out", "pack -")


def test_it_is_held_where_current_may_be_drawn_and_never_on_the_radio() -> None:
    offers = smew().offers((ready(SMEW),))
    offered = list(lamp_readings(offers.pairs, boat_of(SMEW), ready(SMEW), smew().table.highest_v))
    assert {BEFORE, BEHIND} <= set(offered)
    assert held("fuse in", "fuse out") not in offered
    assert held("lamp -", "pack -") not in offered
    assert not list(lamp_readings(offers.pairs, boat_of(SMEW), unplugged(SMEW), 8.0))
    assert not list(lamp_readings(offers.pairs, boat_of(SMEW), ready(SMEW), 25.0))
    radio = Diagnosis(network_of(SERVOS))
    pairs = radio.offers((ready(SERVOS),)).pairs
    points = {p for m in lamp_readings(pairs, boat_of(SERVOS), ready(SERVOS), 6.0) for p in (m.red, m.black)}
    assert points
    assert not {p.part for p in points} & {"receiver", "rudder", "winch"}


def test_it_is_on_offer_only_when_there_is_one() -> None:
    field = field_of(smew().table, smew().belief([]))
    offers = smew().offers((ready(SMEW),))

    def functions(*, lamp: bool) -> set[MeterFunction]:
        every = replace(offers, lamp=lamp).all(field, ready(SMEW), None)
        return {offer.what.function for offer in every if isinstance(offer.what, Measurement)}

    assert MeterFunction.LAMP in functions(lamp=True)
    assert MeterFunction.LAMP not in functions(lamp=False)


@pytest.mark.parametrize("measurement", [BEFORE, BEHIND, held("lamp +", "pack -")])
def test_the_table_expects_what_a_lamp_really_held_there_shows(measurement: Measurement) -> None:
    """Every third cell, against the boat solved anew with the filament in it; near a cut either level will do."""
    table = smew().table
    shares = table.state(ready(SMEW)).shown([measurement]).values[0, ::3, 0]
    hidden = [variant.faults for variant in table.cells.variants[:: 3 * table.cells.draws]]
    for share, faults in zip(shares.tolist(), hidden, strict=True):
        real = VirtualBoat(table.solver, faults, Random(1)).read(measurement)
        near = {lamp_value(lamp_level(share * (1.0 + off))) for off in (-0.12, 0.0, 0.12)}
        assert real in near, (faults, share)


def test_near_what_a_drive_gives_out_it_is_not_held() -> None:
    boat = example_boats()["dabchick"]
    diagnosis = Diagnosis(build_network(boat))
    there = ready_state(boat)
    offered = list(lamp_readings(diagnosis.offers((there,)).pairs, boat, there, 8.0))
    points = {str(m.red) for m in offered}
    assert {"fuse.out", "switch.out", "drive.+"} <= points
    assert {m.black for m in offered} == {Point(part="pack", terminal="-")}
    assert not points & {"drive.A", "drive.B", "pump.+", "pump.-", "drive.A--pump.+.1"}


def test_how_likely_its_levels_are_adds_up_to_one() -> None:
    table = smew().table
    seen = [ReadingSeen(measurement=BEHIND, value=lamp_value(level)) for level in LAMP_LEVELS]
    assert np.stack([likelihood(table, one)[0] for one in seen]).sum(axis=0) == pytest.approx(1.0)
    field = field_of(table, smew().belief([]))
    outcomes = forecast(table, field, [BEHIND]).outcomes(field)
    assert outcomes.shape[1] == len(LAMP_LEVELS)
    assert outcomes.sum(axis=1) == pytest.approx(1.0)


def test_a_joint_that_a_meter_passes_shows_in_the_lamp() -> None:
    """With hardly anything else drawing, volts behind 30 ohm are near full; the lamp there is not bright."""
    text = SMEW.replace("rated: 7.2 V at 1 A", "rated: 7.2 V at 0.02 A")
    solver = Diagnosis(network_of(text)).table.solver
    boat = VirtualBoat(solver, (Fault("fuse", "corroded", 30.0),), Random(2))
    assert boat.read(replace(BEHIND, function=MeterFunction.DC_VOLTS)) > 6.8
    assert boat.read(BEHIND) < lamp_value("bright")
    assert VirtualBoat(solver, (), Random(2)).read(BEHIND) == lamp_value("bright")


def test_healthy_levels_are_the_band() -> None:
    band = smew().band(BEHIND)
    assert band.holds(lamp_value("bright"))
    assert not band.holds(lamp_value("dark"))
    assert smew().is_amiss(ReadingSeen(measurement=BEHIND, value=lamp_value("dark")))


@pytest.mark.parametrize(("place", "mode"), [("fuse", "open"), ("lamp", "burnt out")])
def test_without_a_meter_it_finds_what_looking_alone_does_not(place: str, mode: str) -> None:
    blind = smew().limited([])
    complaint = SignQuery(part="lamp", sign="light", state=ready(SMEW))

    def named(hand: frozenset[AtHand] | None) -> tuple[set[str], int]:
        boat = VirtualBoat(smew().table.solver, (Fault(place, mode),), Random(3))
        done = hunt(blind, boat, complaint, chooser_of(blind, (ready(SMEW),), hand))
        return {repair.place for repair in done.named}, done.readings

    alone, none = named(None)
    found, readings = named(LAMP)
    assert none == 0
    assert readings > 0
    assert place in found
    assert found < alone


def test_what_it_shows_counts_like_any_answer() -> None:
    dark = SignSeen(query=SignQuery(part="lamp", sign="light", state=ready(SMEW)), levels=("dark",))
    fed = ReadingSeen(measurement=BEFORE, value=lamp_value("bright"))
    dead = ReadingSeen(measurement=BEHIND, value=lamp_value("dark"))
    top = smew().verdict(smew().belief([dark, fed, dead]), None).suspects[0]
    assert top.repair.place == "fuse"
