"""A point out of reach, a slip of the finger, and where readings stand on the path."""

import pytest

from assistant.circuit import Measurement, is_unplugged
from assistant.circuit.expectation import BandName
from assistant.dialogue import Ask, Show, State, fold, step
from assistant.dialogue.answers import Chosen, answer_of
from assistant.dialogue.narrowing import states_of
from assistant.dialogue.roles import feeds_of, way_through
from assistant.dialogue.words import FOUR_CAUSES
from assistant.wiring import Point, point_label
from tests.dialogue.boats import PUMPS, ask_in, boat, setup_for
from tests.dialogue.fake import FakeDiagnosis
from tests.dialogue.test_engine import TO_NARROWING

SETUP = setup_for("dabchick")


def asked_points(state: State, most: int = 12) -> set[Point]:
    """Return the points of all readings that are still asked for, when none of them can be had."""
    found: set[Point] = set()
    for _ in range(most):
        if state.pending is None:
            break
        if state.pending.measurement is not None:
            found |= {state.pending.measurement.red, state.pending.measurement.black}
        state, _ = step(SETUP, state, "don't know" if state.pending.measurement else "yes")
    return found


@pytest.mark.parametrize(
    ("words", "probe"),
    [("can't reach", "red"), ("Cannot reach red", "red"), ("can’t reach black", "black")],
)
def test_a_point_out_of_reach_is_set_aside_for_the_rest_and_back_brings_it_back(
    words: str, probe: str
) -> None:
    state, events = fold(SETUP, PUMPS, TO_NARROWING)
    measurement = ask_in(events).measurement
    assert measurement is not None
    point = measurement.red if probe == "red" else measurement.black
    after, told = step(SETUP, state, words)
    assert after.unreachable == {point}
    name = point_label(SETUP.boat, point)
    said = f"{name[0].upper()}{name[1:]} is set aside"
    assert any(isinstance(event, Show) and event.text.startswith(said) for event in told)
    assert point not in asked_points(after)
    before, again = step(SETUP, after, "back")
    assert before == state
    assert ask_in(again).measurement == measurement


def test_of_two_points_the_one_a_probe_was_at_can_be_reached() -> None:
    state, events = fold(SETUP, PUMPS, [*TO_NARROWING, "7.5"])
    measurement = ask_in(events).measurement
    assert measurement is not None
    assert measurement.black == Point(part="pack", terminal="-")
    after, _ = step(SETUP, state, "can't reach")
    assert after.unreachable == {measurement.red}


@pytest.mark.parametrize(
    ("typed", "meant"), [("75", "7.5 V"), ("750", "7.5 V"), ("-7.5", "7.5 V"), ("760", "7.6 V")]
)
def test_a_slip_of_the_finger_is_caught_by_its_size(typed: str, meant: str) -> None:
    state, _ = fold(SETUP, PUMPS, TO_NARROWING)
    after, told = step(SETUP, state, typed)
    said = told[0]
    assert isinstance(said, Show)
    assert meant in said.text.partition("? Then type that.")[0]
    assert "four things" in said.text
    assert after.evidence == state.evidence
    assert step(SETUP, after, "7.5")[0].evidence != state.evidence


def test_what_no_slip_explains_gets_the_usual_causes_alone() -> None:
    class Unbelieving(FakeDiagnosis):
        def plausible(self, measurement: Measurement, value: float) -> bool:  # noqa: ARG002 - none is believed
            return False

    setup = setup_for("dabchick", Unbelieving(boat=boat("dabchick")))
    state, _ = fold(setup, PUMPS, TO_NARROWING)
    _, told = step(setup, state, "7.5")
    assert isinstance(told[0], Show)
    assert told[0].text == FOUR_CAUSES


@pytest.mark.parametrize(("typed", "key"), [("1", "yes"), ("2", "no"), ("y", "yes"), ("No", "no")])
def test_a_confirmation_is_answered_by_number_as_well(typed: str, key: str) -> None:
    ask = fold(SETUP, PUMPS, ["yes"])[1][-1]
    assert isinstance(ask, Ask)
    assert answer_of(typed, ask) == Chosen(key=key)


def test_a_reading_stands_at_its_point_and_in_another_state_as_one_of_another() -> None:
    state, events = fold(SETUP, PUMPS, TO_NARROWING)
    measurement = ask_in(events).measurement
    assert measurement is not None
    after, told = step(SETUP, state, "2")
    (read,) = [point.read for point in ask_in(told).strip if point.point == measurement.red]
    assert read is not None
    assert (read.volts, read.standing, read.here) == (
        2.0,
        BandName.LOW,
        ask_in(told).state == measurement.state,
    )
    assert any(not is_unplugged(SETUP.boat, one) for one in states_of(after))


def test_each_part_is_doubted_once() -> None:
    _, events = fold(SETUP, PUMPS, [*TO_NARROWING, "7.5"])
    ask = ask_in(events)
    named = dict(ask.suspects)
    labels = [point.label for point in ask.strip]
    at = {label: point.suspicion for label, point in zip(labels, ask.strip, strict=True)}
    assert at["fuse out"] >= named.get("fuse", 0.0)
    assert sum(at.values()) <= sum(named.values()) + ask.others[1] + 1e-9


@pytest.mark.parametrize(
    ("name", "part"), [("dabchick", "pump"), ("grebe", "port-pump"), ("grebe", "mast-lamp")]
)
def test_the_way_through_a_part_goes_in_at_one_end_and_out_at_the_other(name: str, part: str) -> None:
    way = way_through(boat(name), part)
    assert (str(way[0]), str(way[-1])) == ("pack.+", "pack.-")
    ends = [point for point in way if point.part == part]
    assert len(set(ends)) == len(ends) == 2
    assert way[: way.index(ends[0]) + 1] == feeds_of(boat(name), part)[0].points
