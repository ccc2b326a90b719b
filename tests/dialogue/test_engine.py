"""The reducer: questions, cautions, readings, verdicts, repairs and taking back."""

from dataclasses import replace

import pytest

from assistant.circuit import Measurement, MeterFunction, is_unplugged, ready_state
from assistant.circuit.expectation import Band
from assistant.diagnosis import ReadingSeen, Unsteady
from assistant.dialogue import Ask, Ending, Phase, Show, Want, Warn, fold, start, step
from assistant.dialogue.words import echo
from assistant.errors import AnswerError, MisuseError
from assistant.quantities import Unit, parse_quantity
from assistant.wiring import Point
from tests.dialogue.boats import (
    PUMPS,
    ask_in,
    boat,
    conclusion,
    dead_from,
    drive,
    healthy_answer,
    name_of,
    setup_for,
)
from tests.dialogue.fake import FakeDiagnosis

TO_NARROWING = ["yes", "yes", "yes", "lit", "dark", "yes", "still", "dark"]


def test_the_first_question_comes_with_the_first_caution() -> None:
    _, events = start(setup_for("dabchick"), PUMPS)
    assert [type(event) for event in events] == [Warn, Ask]
    assert ask_in(events).id == "n00.danger"


def test_danger_stops_everything() -> None:
    state, events = drive(setup_for("dabchick"), PUMPS, {"danger": "no"})
    end = conclusion(events)
    assert (end.ending, end.use) == (Ending.STOPPED, "something-hot")
    assert state.path == ("danger", "danger-stop")
    assert state.phase is Phase.DONE


def test_a_bad_answer_leaves_the_state_alone_and_says_why() -> None:
    setup = setup_for("dabchick")
    state, events = start(setup, PUMPS)
    again, told = step(setup, state, "perhaps")
    assert again == state
    assert isinstance(told[0], Show)
    assert "perhaps" in told[0].text
    assert told[1] == ask_in(events)


def test_answering_out_of_turn_is_misuse() -> None:
    setup = setup_for("dabchick")
    state, _ = drive(setup, PUMPS, {"danger": "no"})
    with pytest.raises(MisuseError):
        step(setup, state, "yes")


def test_an_unknown_symptom_names_the_known_ones() -> None:
    with pytest.raises(AnswerError, match=PUMPS):
        start(setup_for("dabchick"), "sails-torn")


def test_a_boat_without_the_part_is_told_so() -> None:
    with pytest.raises(AnswerError, match="Dabchick has no relay"):
        start(setup_for("dabchick"), "relay-clicking")


LESSON_BEHIND_VOLTS = "A bad joint shows only while current flows"


def test_a_reading_offers_the_lesson_behind_it() -> None:
    setup = replace(setup_for("dabchick"), lessons={"volt-drop": "Told."})
    state, _ = fold(setup, PUMPS, TO_NARROWING[:-1])
    state, events = step(setup, state, "dark")
    assert ask_in(events).lesson == "volt-drop"
    for word in ("how", "why"):
        same, told = step(setup, state, word)
        assert isinstance(told[0], Show)
        assert f'"{LESSON_BEHIND_VOLTS}", type: lesson' in told[0].text
        assert same == state
    same, told = step(setup, state, "Lesson")
    assert isinstance(told[0], Show)
    assert (told[0].text, told[1], same) == ("Told.", ask_in(events), state)


def test_a_lesson_that_cannot_be_worked_out_is_told_without_its_example() -> None:
    setup = setup_for("dabchick")
    state, _ = fold(setup, PUMPS, TO_NARROWING)
    _, told = step(setup, state, "lesson")
    assert isinstance(told[0], Show)
    assert told[0].text.startswith(f"Lesson: {LESSON_BEHIND_VOLTS}.")
    assert "Example" not in told[0].text


def test_how_explains_the_words_of_the_trade_in_the_question() -> None:
    setup = setup_for("dabchick")
    state, _ = fold(setup, PUMPS, TO_NARROWING[:2])
    assert "trims" in (state.pending.text if state.pending else "")
    _, told = step(setup, state, "how")
    assert isinstance(told[0], Show)
    lines = told[0].text.splitlines()
    assert any(line.startswith("trim: the small lever") for line in lines)
    assert not any(line.startswith(("mix:", "coil:")) for line in lines)


def test_a_question_without_a_lesson_says_so() -> None:
    setup = setup_for("dabchick")
    state, _ = start(setup, PUMPS)
    same, told = step(setup, state, "lesson")
    assert isinstance(told[0], Show)
    assert "no lesson" in told[0].text
    assert same == state


def test_why_how_and_save_answer_without_moving() -> None:
    setup = setup_for("dabchick")
    state, events = start(setup, PUMPS)
    for word, said in (("why", ask_in(events).why), ("How?", ask_in(events).how), ("save", "kept")):
        same, told = step(setup, state, word)
        assert same == state
        assert isinstance(told[0], Show)
        assert said in told[0].text
        assert told[0].text


def test_notes_stay_when_an_answer_is_taken_back() -> None:
    setup = setup_for("dabchick")
    state, _ = fold(setup, PUMPS, ["yes", "note sand in the pump"])
    back, _ = step(setup, state, "back")
    assert back.notes == ("sand in the pump",)
    assert back.answers == ()


def test_back_at_the_first_question_says_so() -> None:
    setup = setup_for("dabchick")
    state, _ = start(setup, PUMPS)
    same, told = step(setup, state, "back")
    assert same == state
    assert isinstance(told[0], Show)


def test_running_a_motor_needs_the_boat_held_and_warns_at_every_start() -> None:
    setup = setup_for("dabchick")
    state, events = fold(setup, PUMPS, TO_NARROWING[:5])
    assert name_of(ask_in(events)) == "caution.held-boat"
    assert state.wanted is not None
    assert state.wanted.query is not None
    after, events = step(setup, state, "yes")
    turning = ask_in(events)
    assert [change.setting for change in turning.changes] == ["throttle"]
    assert "held-boat" in turning.cautions
    assert after.wanted is None


def test_refusing_a_caution_leaves_the_step_out() -> None:
    setup = setup_for("dabchick")
    state, events = fold(setup, PUMPS, [*TO_NARROWING[:5], "no"])
    assert name_of(ask_in(events)) != "turning"
    assert state.path[-2:] == ("turning", "drive-lamp")
    assert "turning" in {getattr(refused, "sign", "") for refused in state.refused}


def test_changes_come_in_a_safe_order() -> None:
    setup = setup_for("dabchick")
    _, events = fold(setup, PUMPS, ["yes", "yes"])
    assert [change.setting for change in ask_in(events).changes] == [
        "transmitter",
        "pack.plugged",
        "switch.closed",
    ]


def test_a_reading_is_echoed_and_compared() -> None:
    setup = setup_for("dabchick")
    state, events = fold(setup, PUMPS, [*TO_NARROWING, "7,5"])
    assert "I read 7.5 V: as expected." in [event.text for event in events if isinstance(event, Show)]
    seen = state.evidence[-1]
    assert isinstance(seen, ReadingSeen)
    assert seen.value == 7.5


def test_a_bare_figure_that_would_be_healthy_in_millivolts_is_asked_about() -> None:
    at_rest = Measurement(
        function=MeterFunction.DC_VOLTS,
        red=Point(part="fuse", terminal="in"),
        black=Point(part="fuse", terminal="out"),
        state=ready_state(boat("dabchick")),
    )
    band = Band(typical=5e-4, low=1e-4, high=1.3e-3)
    slip = "If the display said mV, type back, then 0,6 mV."
    said = {
        typed: echo(parse_quantity(typed, Unit.VOLT), at_rest, band, typed)
        for typed in ("0,6", "0.6 V", "0.6 mV", "3")
    }
    assert [typed for typed, text in said.items() if slip in text] == ["0,6"]


def test_a_stick_that_is_held_from_the_question_before_is_said_again() -> None:
    setup = setup_for("dabchick")
    state, events = fold(setup, PUMPS, TO_NARROWING[:-1])
    asks = [ask_in(events)]
    for answer in ("dark", "7.5"):
        state, events = step(setup, state, answer)
        asks.append(ask_in(events))
    kept = [
        ask for ask in asks if not ask.changes and ask.state is not None and ask.state.get("throttle") == 1.0
    ]
    assert kept
    assert {ask.held for ask in kept} == {("throttle stick: hold fully forward",)}


def test_a_reading_no_boat_can_show_is_asked_again_once_with_four_causes() -> None:
    setup = setup_for("dabchick")
    state, events = fold(setup, PUMPS, [*TO_NARROWING, "75 V"])
    first = ask_in(events)
    (doubt,) = [event for event in events if isinstance(event, Show)]
    assert all(word in doubt.text for word in ("bare metal", "range", "swapped", "set as asked"))
    assert name_of(first) == "supply"
    before = len(state.evidence)
    state, _ = step(setup, state, "75 V")
    assert len(state.evidence) == before + 1


def test_comes_and_goes_waits_once_and_then_leaves_it_open() -> None:
    setup = setup_for("dabchick")
    state, events = fold(setup, PUMPS, [*TO_NARROWING, "comes and goes"])
    assert name_of(ask_in(events)) == "supply"
    assert [piece for piece in state.evidence if isinstance(piece, Unsteady)]
    before = len(state.evidence)
    state, events = step(setup, state, "comes and goes")
    assert name_of(ask_in(events)) != "supply"
    assert len(state.evidence) == before
    assert any(getattr(one, "function", None) is MeterFunction.DC_VOLTS for one in state.refused)


def test_what_cannot_be_reached_is_not_asked_again() -> None:
    setup = setup_for("dabchick")
    state, _ = fold(setup, PUMPS, TO_NARROWING)
    asked = set()
    while state.pending is not None and state.phase is not Phase.REPAIR:
        if state.pending.measurement is not None:
            assert state.pending.measurement not in asked
            asked.add(state.pending.measurement)
        state, _ = step(setup, state, "can't reach" if state.pending.want is Want.READING else "")
        if state.pending is not None and state.pending.want is Want.TEXT:
            break
    assert len(asked) >= 5


def test_unknown_is_said_plainly_with_the_checks_by_chance_over_time() -> None:
    setup = setup_for("dabchick")
    answers = {"turning": "still", "supply": "3 V", **{f"narrow.{n}": "3 V" for n in range(1, 9)}}
    state, events = drive(setup, PUMPS, {**answers, "last-words": "only after rain"})
    end = conclusion(events)
    assert end.ending is Ending.UNKNOWN
    assert state.notes == ("only after rain",)
    worth = [left.probability / left.check_seconds for left in end.repairs]
    assert worth == sorted(worth, reverse=True)
    assert any("I do not know" in event.text for event in events if isinstance(event, Show))


def test_ohms_are_asked_only_after_every_pack_is_confirmed_unplugged() -> None:
    diagnosis = FakeDiagnosis(boat=boat("dabchick"), dead_ohms=True)
    setup = setup_for("dabchick", diagnosis)
    state, events = fold(setup, PUMPS, [*TO_NARROWING, "3 V"])
    gate = ask_in(events)
    assert name_of(gate) == "unplug"
    assert gate.want is Want.CONFIRM
    assert gate.default is None
    assert "pack.plugged" in [change.setting for change in gate.changes]
    yes, events = step(setup, state, "yes")
    ohms = ask_in(events)
    assert ohms.measurement is not None
    assert ohms.measurement.function is MeterFunction.OHMS
    assert yes.unplugged
    refused, events = step(setup, state, "no")
    assert ohms.measurement in refused.refused
    assert ask_in(events).measurement != ohms.measurement


def test_plugging_in_again_ends_the_confirmation() -> None:
    diagnosis = FakeDiagnosis(boat=boat("dabchick"), dead_ohms=True)
    setup = setup_for("dabchick", diagnosis)
    state, events = fold(setup, PUMPS, [*TO_NARROWING, "3 V", "yes", "0.1"])
    ask = ask_in(events)
    assert ask.state is not None
    assert not is_unplugged(setup.boat, ask.state)
    assert not state.unplugged


def test_ohms_on_a_live_boat_are_never_asked() -> None:
    diagnosis = FakeDiagnosis(boat=boat("dabchick"), live_ohms=True)
    _, events = drive(setup_for("dabchick", diagnosis), PUMPS, dead_from("fuse"))
    asked = [event.measurement for event in events if isinstance(event, Ask) and event.measurement]
    assert asked
    assert all(one.function is MeterFunction.DC_VOLTS for one in asked)


def test_without_a_meter_no_reading_is_asked() -> None:
    setup = replace(setup_for("dabchick"), functions=frozenset())
    state, events = drive(setup, PUMPS, {"turning": "still", "drive-lamp": "dark", "repair": "bench"})
    assert all(event.measurement is None for event in events if isinstance(event, Ask))
    assert "supply" in state.path
    assert conclusion(events).repairs


def test_a_person_chooses_among_like_parts_and_may_choose_all() -> None:
    setup = setup_for("grebe")
    state, events = start(setup, PUMPS)
    ask = ask_in(events)
    assert ask.id == "n00.role.pump"
    assert [option.key for option in ask.options] == ["port-pump", "starboard-pump", "all"]
    one, _ = step(setup, state, "star")
    assert one.parts["pump"] == ("starboard-pump",)
    assert one.parts["drive"] == ("starboard-drive",)
    every, _ = step(setup, state, "3")
    assert every.parts["pump"] == ("port-pump", "starboard-pump")
    unsure, _ = step(setup, state, "don't know")
    assert unsure.parts["pump"] == ("port-pump",)


def test_a_sign_of_all_of_them_counts_for_each() -> None:
    setup = setup_for("grebe")
    state, _ = fold(setup, PUMPS, ["all", *TO_NARROWING])
    parts = [seen.query.part for seen in state.evidence if hasattr(seen, "query")]
    assert {"port-pump", "starboard-pump"} <= set(parts)


def test_the_strip_runs_from_the_pack_to_the_part_in_focus() -> None:
    setup = setup_for("dabchick")
    _, events = fold(setup, PUMPS, [*TO_NARROWING, "7.5"])
    strip = ask_in(events).strip
    assert str(strip[0].point) == "pack.+"
    assert strip[-1].point.part == "pump"
    assert sum(point.suspicion for point in strip) <= 1.0 + 1e-9


def test_suspects_stay_in_sight_once_something_is_known() -> None:
    setup = setup_for("dabchick")
    _, events = fold(setup, PUMPS, TO_NARROWING)
    suspects = ask_in(events).suspects
    assert suspects
    assert [chance for _, chance in suspects] == sorted((c for _, c in suspects), reverse=True)


def test_a_healthy_boat_is_not_accused() -> None:
    _, events = drive(setup_for("dabchick"), PUMPS, {})
    end = conclusion(events)
    assert end.ending is Ending.HEALTHY
    assert end.repairs == ()


def test_every_question_answers_why_and_how() -> None:
    for name, symptom in (("dabchick", PUMPS), ("dabchick", "servo-jitter"), ("grebe", "relay-clicking")):
        _, events = drive(setup_for(name), symptom, {})
        for ask in (event for event in events if isinstance(event, Ask)):
            assert ask.why, ask.id
            assert ask.how, ask.id
            assert healthy_answer(ask) is not None
