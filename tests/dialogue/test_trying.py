"""Trials in the dialogue: said with their care, put back after the look, limited by what is at hand, replayed."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from assistant.circuit import Fault, MeterFunction, lamp_level, lamp_value
from assistant.cli.workbench import Workbench
from assistant.diagnosis import Diagnosis, ReadingSeen, SignSeen
from assistant.dialogue import Ask, Event, Setup, Show, State, Want, Warn, fold, start, step
from assistant.dialogue.events import ManipulationKind
from assistant.drill.virtual import VirtualBoat
from assistant.session import Session, encode
from assistant.wiring import load_boat
from tests.diagnosis.test_trials import SERVOS
from tests.support.workbench import shared_workbench

SYMPTOM = "pumps-not-running"
LEAD = "fuse.out--switch.in"
AT = "2026-05-01T10:00:00+00:00"


@pytest.fixture(scope="module")
def bench() -> Workbench:
    return shared_workbench()


@pytest.fixture(scope="module")
def setup(bench: Workbench) -> Setup:
    return _setup(bench, ("bypass lead",))


def _setup(bench: Workbench, at_hand: tuple[str, ...] | None) -> Setup:
    text = (Path(__file__).parents[2] / "cases" / "dabchick.yaml").read_text(encoding="utf-8")
    return bench.setup(load_boat(text, "dabchick.yaml", bench.catalogue), (), (), at_hand)


def _broken(setup: Setup) -> VirtualBoat:
    """Return the boat with the lead behind the fuse broken; it is really bridged when that is asked for."""
    assert isinstance(setup.diagnosis, Diagnosis)
    return VirtualBoat(setup.diagnosis.table.solver, (Fault(LEAD, "broken"),), Random(1))


def _answer(ask: Ask, boat: VirtualBoat) -> str:
    if ask.want is Want.CONFIRM:
        return "yes"
    return "don't know" if ask.query is None else boat.look(ask.query)


def _is_trial(ask: Ask | None) -> bool:
    return ask is not None and ask.query is not None and ask.query.after is not None


def _up_to_trial(setup: Setup, told: str = "") -> tuple[State, list[str], list[Event]]:
    """Return the state in which the first trial is asked for, what was typed, and all that was said."""
    boat = _broken(setup)
    state, events = start(setup, SYMPTOM)
    typed: list[str] = []
    said = list(events)
    while state.pending is not None and not _is_trial(state.pending) and len(typed) < 60:
        typed.append(told if told and not typed else _answer(state.pending, boat))
        state, events = step(setup, state, typed[-1])
        said += events
    return state, typed, said


def test_a_bridging_lead_is_asked_for_with_its_caution(setup: Setup) -> None:
    state, typed, said = _up_to_trial(setup)
    ask = state.pending
    assert _is_trial(ask)
    assert ask is not None
    assert ask.manipulation is not None
    assert ask.manipulation.kind is ManipulationKind.BYPASS
    assert "fused lead" in ask.text
    assert ask.why
    assert any(change.setting == "pack.plugged" and change.value == 1.0 for change in ask.changes)
    assert any(isinstance(one, Ask) and one.id.endswith("caution.fused-lead") for one in said)
    fields = encode(ask)["manipulation"]
    assert isinstance(fields, dict)
    assert fields["kind"] == "bypass"
    assert fields["ends"] == [str(end) for end in ask.manipulation.ends or ()]
    assert fold(setup, SYMPTOM, typed)[0] == state


def test_without_the_pack_unplugged_nothing_is_changed(setup: Setup) -> None:
    boat = _broken(setup)
    state, _, _ = _up_to_trial(setup)
    assert state.boat_state.get("pack.plugged") == 0.0
    while state.pending is not None and not (
        _is_trial(state.wanted) and state.pending.id.endswith(".unplug")
    ):
        state, _ = step(setup, state, _answer(state.pending, boat))
    assert _is_trial(state.wanted)
    after, events = step(setup, state, "no")
    assert not any(isinstance(one, Ask) and _is_trial(one) for one in events)
    assert after.evidence == state.evidence


def test_after_the_look_all_is_put_back_and_the_boat_counts_as_unplugged(setup: Setup) -> None:
    state, _, _ = _up_to_trial(setup)
    assert state.pending is not None
    after, events = step(setup, state, state.pending.options[0].key)
    said = [one.text for one in events if isinstance(one, Show) and one.id.endswith("put-back")]
    assert len(said) == 1
    assert "take the bridging lead off" in said[0]
    assert after.boat_state.get("pack.plugged") == 0.0
    assert len(after.evidence) == len(state.evidence) + 1


def test_a_trial_that_cannot_be_done_is_not_asked_for_again(setup: Setup) -> None:
    state, _, _ = _up_to_trial(setup)
    assert state.pending is not None
    after, _ = step(setup, state, "can't reach")
    assert state.pending.query in after.refused
    assert after.evidence == state.evidence


def test_bridging_piece_after_piece_finds_the_broken_lead(setup: Setup) -> None:
    boat = _broken(setup)
    state, _ = start(setup, SYMPTOM)
    for _ in range(60):
        if state.pending is None or state.verdict is not None:
            break
        state, _ = step(setup, state, _answer(state.pending, boat))
    assert state.verdict is not None
    places = [one.repair.place for one in state.verdict.suspects if one.stands]
    assert places[0] == LEAD
    assert {place.partition("@")[0] for place in places} == {LEAD}


def test_nothing_is_tried_when_nothing_was_said_of_it(bench: Workbench) -> None:
    state, _, _ = _up_to_trial(_setup(bench, None))
    assert state.pending is None


def test_what_is_at_hand_can_be_told_on_the_way(bench: Workbench) -> None:
    setup = _setup(bench, None)
    state, _, _ = _up_to_trial(setup, told="told have bypass lead")
    assert _is_trial(state.pending)
    gone, events = step(setup, state, "told have no bypass lead")
    assert gone.at_hand == frozenset()
    assert any(isinstance(one, Show) and "nothing" in one.text for one in events)
    again, events = step(setup, state, "told have a magic wand")
    assert again == state
    assert any(isinstance(one, Show) and "spare servo" in one.text for one in events)


def test_a_case_with_trials_replays(setup: Setup) -> None:
    boat = _broken(setup)
    session = Session(setup, SYMPTOM)
    while session.state.pending is not None and session.state.verdict is None:
        session.answer(_answer(session.state.pending, boat), AT)
    signs = [piece.query for piece in session.state.evidence if isinstance(piece, SignSeen)]
    assert any(query.after is not None for query in signs)
    assert Session(setup, SYMPTOM, session.entries).state == session.state


def test_plugs_of_two_servos_are_swapped_with_their_caution_and_put_back(bench: Workbench) -> None:
    setup = bench.setup(load_boat(SERVOS, "gadwall.yaml", bench.catalogue), (), (), ())
    assert isinstance(setup.diagnosis, Diagnosis)
    boat = VirtualBoat(setup.diagnosis.table.solver, (Fault("channel 1", "wrong socket"),), Random(1))
    state, events = start(setup, "servo-dead")
    said = list(events)
    for _ in range(60):
        if state.pending is None or _is_trial(state.pending):
            break
        state, events = step(setup, state, _answer(state.pending, boat))
        said += events
    ask = state.pending
    assert ask is not None
    assert ask.manipulation is not None
    assert ask.manipulation.kind is ManipulationKind.PLUGS
    assert set(ask.manipulation.places) == {"rudder", "winch"}
    assert "at the receiver" in ask.text
    assert any(isinstance(one, Warn) and "each stick moves what the other moved" in one.text for one in said)
    after, events = step(setup, state, _answer(ask, boat))
    assert any(isinstance(one, Show) and "each into its own socket" in one.text for one in events)
    assert after.boat_state.get("pack.plugged") == 0.0


def test_a_test_lamp_is_held_after_its_caution_and_its_light_is_an_answer(bench: Workbench) -> None:
    setup = _setup(bench, ("lamp",))
    boat = _broken(setup)
    state, events = start(setup, SYMPTOM)
    said = list(events)
    for _ in range(60):
        if state.pending is None or state.pending.measurement is not None:
            break
        state, events = step(setup, state, _answer(state.pending, boat))
        said += events
    ask = state.pending
    assert ask is not None
    assert ask.measurement is not None
    assert ask.measurement.function is MeterFunction.LAMP
    assert [option.key for option in ask.options] == ["dark", "dim", "bright"]
    assert "Test lamp" in ask.text
    assert any(isinstance(one, Ask) and one.id.endswith("caution.lamp-draws-current") for one in said)
    shown = lamp_level(boat.read(ask.measurement))
    after, _ = step(setup, state, shown)
    assert after.evidence[-1] == ReadingSeen(measurement=ask.measurement, value=lamp_value(shown))
    assert after.boat_state == ask.measurement.state
    fields = encode(ask)
    assert fields["want"] == "choice"
    assert isinstance(fields["reading"], dict)
    assert fields["reading"]["function"] == "test lamp"
