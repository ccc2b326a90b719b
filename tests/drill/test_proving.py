"""The proof on a boat small enough to try everything on."""

from functools import cache
from random import Random
from typing import Any

import pytest

from assistant.circuit import forward_states
from assistant.diagnosis import Diagnosis, Lately, Wiggled
from assistant.drill import Complaints, Report, Trying, VirtualBoat, prove, prove_pairs
from assistant.drill.halving import halving_chooser
from assistant.drill.hunting import Hunt, chooser_of, hunt
from assistant.drill.pairs import hunt_pair, pairs_of
from tests.diagnosis.boats import GARGANEY, SMEW, network_of


@cache
def diagnosis_of(text: str) -> Diagnosis:
    return Diagnosis(network_of(text))


@cache
def proved(text: str, *, misread: bool = False) -> Report:
    return prove(diagnosis_of(text), Trying(misread=misread), clock=lambda: 0.0)[0]


def test_faults_that_show_are_found_and_healthy_boats_left_alone() -> None:
    report = proved(SMEW)
    assert report.faults >= 10
    assert report.found == 1.0
    assert report.false_accusations == 0 < report.healthy_hunts


def test_a_boat_that_is_well_is_called_so_after_few_looks_and_readings() -> None:
    report = proved(SMEW)
    assert report.healthy_mean_readings is not None
    assert report.healthy_mean_looks is not None
    assert report.healthy_mean_seconds is not None
    assert 0.0 <= report.healthy_mean_readings <= 3.0
    assert report.healthy_mean_looks + report.healthy_mean_readings > 0.0
    assert 0.0 < report.healthy_mean_seconds < 300.0


def test_a_shut_eye_finds_less_than_a_meter() -> None:
    with_eyes = Diagnosis(network_of(SMEW), meter=diagnosis_of(SMEW).meter.only(()))
    blind, _ = prove(with_eyes, Trying(halving=False), clock=lambda: 0.0)
    report = proved(SMEW)
    assert blind.mean_readings == 0.0 < report.mean_readings
    alone = (blind.sole or 0.0) * (blind.separable or 0)
    assert alone < (report.sole or 0.0) * (report.separable or 0)


def test_halving_takes_no_reading_where_there_is_no_meter() -> None:
    with_eyes = Diagnosis(network_of(SMEW), meter=diagnosis_of(SMEW).meter.only(()))
    states = forward_states(with_eyes.network.boat)
    choose = halving_chooser(with_eyes, states)
    assert choose(with_eyes.belief(()), states[0], None) is None


def test_what_comes_and_goes_is_found_by_moving_places() -> None:
    trying = Trying(halving=False, comes_and_goes=True)
    report, results = prove(diagnosis_of(SMEW), trying, clock=lambda: 0.0)
    parts = diagnosis_of(SMEW).network.parts
    hidden = [result.breakdown.faults[0] for result in results]
    assert all(parts[fault.part].kind.faults[fault.mode].intermittent for fault in hidden)
    assert len(hidden) >= 8
    assert report.found == 1.0
    assert report.mean_wiggles > 0.0
    assert report.false_accusations == 0 < report.healthy_hunts


def test_figures_by_complaint_add_up() -> None:
    report = proved(SMEW)
    assert sum(s.faults for s in report.by_sign) == report.faults
    found = sum(s.faults * s.found for s in report.by_sign)
    assert found == pytest.approx(report.found * report.faults)


def test_a_slip_costs_readings_but_not_the_fault() -> None:
    slipped = proved(SMEW, misread=True)
    assert slipped.found >= 0.95
    assert slipped.mean_readings >= proved(SMEW).mean_readings


def test_a_slip_with_the_meter_or_in_what_a_move_brought_loses_nothing_that_comes_and_goes() -> None:
    trying = Trying(halving=False, comes_and_goes=True, misread=True)
    slipped, results = prove(diagnosis_of(SMEW), trying, clock=lambda: 0.0)
    plain, _ = prove(diagnosis_of(SMEW), Trying(halving=False, comes_and_goes=True), clock=lambda: 0.0)
    assert slipped.found >= 0.95
    steps = [report.mean_readings + report.mean_wiggles for report in (plain, slipped)]
    assert steps[0] < steps[1]
    assert any(isinstance(piece, Wiggled) for result in results for piece in result.hunt.evidence)


def test_what_nothing_tells_apart_is_listed_with_what_would() -> None:
    soldered = GARGANEY.replace("crimped/plug", "soldered")
    pairs = {(c.first.place, c.second.place): c for c in proved(soldered).confusions}
    wire, joint = "pack.+--lamp.+", "pack.+--lamp.+@1"
    sealed = pairs[(joint, wire)]
    assert sealed.test_point is not None
    assert sealed.test_point.part == wire


def test_two_faults_are_found_one_after_the_other() -> None:
    report = prove_pairs(diagnosis_of(SMEW), Trying(most=40), clock=lambda: 0.0)
    assert report.faults == 40
    assert report.found >= 0.85


def test_the_second_hunt_knows_what_was_mended_after_the_first(monkeypatch: pytest.MonkeyPatch) -> None:
    known: list[Lately] = []

    def noted(*given: Any, lately: Lately) -> Hunt:
        known.append(lately)
        return hunt(*given, lately=lately)

    monkeypatch.setattr("assistant.drill.pairs.hunt", noted)
    diagnosis = diagnosis_of(SMEW)
    states = forward_states(diagnosis.network.boat)
    complaints = Complaints(diagnosis, states)
    (pair,) = pairs_of(list(complaints.breakdowns()), 1, seed=3)
    result = hunt_pair(diagnosis, complaints, pair, chooser_of(diagnosis, states, None), seed=3)
    assert len(result.hunts) == len(known) == 2
    assert known[0].mended == frozenset()
    assert known[1].mended <= set(result.hunts[0].named)
    assert known[1].mended & {breakdown.hypothesis.repairs[0] for breakdown in pair}


def test_pairs_are_at_two_places_and_the_same_for_a_seed() -> None:
    diagnosis = diagnosis_of(SMEW)
    every = list(Complaints(diagnosis, forward_states(diagnosis.network.boat)).breakdowns())
    pairs = pairs_of(every, 8, seed=3)
    assert pairs == pairs_of(every, 8, seed=3)
    assert len(set(pairs)) == 8
    assert all(one.hypothesis.modes[0].part != two.hypothesis.modes[0].part for one, two in pairs)


def test_a_virtual_boat_complains_of_what_is_amiss_only() -> None:
    diagnosis = diagnosis_of(SMEW)
    complaints = Complaints(diagnosis, forward_states(diagnosis.network.boat))
    assert complaints.first_amiss(VirtualBoat(diagnosis.table.solver, (), Random(1))) is None
    breakdown = next(complaints.breakdowns())
    broken = VirtualBoat(diagnosis.table.solver, breakdown.faults, Random(1))
    assert complaints.first_amiss(broken) is not None
