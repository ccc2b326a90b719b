"""The reducer: questions, cautions, readings, verdicts, repairs and taking back."""

from collections.abc import Iterable
from dataclasses import replace

import pytest

from assistant.catalogue import Action
from assistant.circuit import Measurement, MeterFunction, is_unplugged, ready_state
from assistant.circuit.expectation import Band
from assistant.diagnosis import ModeAt, ReadingSeen, RepairId, Unsteady
from assistant.dialogue import Ask, Conclude, Ending, Event, Phase, Show, Want, Warn, fold, start, step
from assistant.dialogue.events import ManipulationKind
from assistant.dialogue.repairing import conclude_mended
from assistant.dialogue.turn import Turn
from assistant.dialogue.words import echo
from assistant.errors import AnswerError, MisuseError
from assistant.quantities import Unit, parse_quantity
from assistant.wiring import Point
from tests.dialogue.boats import ask_in, boat, drive, healthy_answer, name_of, setup_for
from tests.dialogue.fake import FEED, REPLACE_FUSE, FakeDiagnosis, Story, stories_of

PUMPS = "pumps-not-running"
TO_NARROWING = ["yes", "yes", "yes", "lit", "dark", "yes", "still", "dark"]


def conclusion(events: Iterable[Event]) -> Conclude:
    (end,) = [event for event in events if isinstance(event, Conclude)]
    return end


def dead_from(part: str) -> dict[str, str]:
    """Answers of a boat whose feed is dead from a part on; a healthy one after the repair."""
    order = ["pack", "fuse", "switch", "drive", "pump"]
    reads = {
        f"narrow.{n}": "0 V" if place >= order.index(part) else "7.5 V"
        for n, place in enumerate(range(len(order)), start=1)
    }
    return {"turning": "still", "supply": "0 V", **reads}


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


def test_a_dead_fuse_is_found_mended_and_proved() -> None:
    setup = setup_for("dabchick")
    answers = {**dead_from("fuse"), "proof": "7.5 V", "trouble": "runs"}
    state, events = drive(setup, PUMPS, answers)
    end = conclusion(events)
    assert end.ending is Ending.MENDED
    assert end.done == (REPLACE_FUSE,)
    mend = next(event for event in events if isinstance(event, Ask) and name_of(event) == "mend")
    assert mend.manipulation is not None
    assert mend.manipulation.kind is ManipulationKind.REPAIR
    assert mend.manipulation.places == ("fuse",)
    assert mend.state is not None
    assert is_unplugged(setup.boat, mend.state)
    assert "same-fuse-rating" in state.warned
    names = [name_of(event) for event in events if isinstance(event, Ask)]
    assert names.index("mend") < names.index("proof") < names.index("trouble")


def test_a_repair_noted_for_the_bench_keeps_the_verdict() -> None:
    _, events = drive(setup_for("dabchick"), PUMPS, {**dead_from("fuse"), "repair": "bench"})
    end = conclusion(events)
    assert end.ending is Ending.NOTED
    assert end.repairs[0].repair == REPLACE_FUSE
    assert end.repairs[0].remedy
    assert end.done == ()


def test_the_cause_of_a_blown_fuse_comes_first() -> None:
    story = Story(
        name="pump",
        repair=RepairId(place="pump", action=Action.CLEAR),
        mode=ModeAt(part="pump", mode="stalled"),
        dead_from="fuse",
        follow_ups=(REPLACE_FUSE,),
    )
    diagnosis = FakeDiagnosis(boat=boat("dabchick"), stories=(story,), order=("pack", "fuse", "pump"))
    state, events = drive(
        setup_for("dabchick", diagnosis), PUMPS, {"turning": "still", "supply": "7.5 V", "narrow.3": "0 V"}
    )
    mend = next(event for event in events if isinstance(event, Ask) and name_of(event) == "mend")
    assert mend.manipulation is not None
    assert mend.manipulation.places == ("pump", "fuse")
    assert mend.text.index("cause") < mend.text.index("replace fuse")
    assert state.done == (story.repair, REPLACE_FUSE)
    assert "same-fuse-rating" in state.warned


def test_a_fuse_that_may_have_been_blown_is_not_replaced_before_its_cause_is_ruled_out() -> None:
    stories = (
        Story(name="fuse", repair=REPLACE_FUSE, mode=ModeAt(part="fuse", mode="open"), dead_from="fuse"),
        Story(
            name="pump",
            repair=RepairId(place="pump", action=Action.CLEAR),
            mode=ModeAt(part="pump", mode="stalled"),
            dead_from="fuse",
            follow_ups=(REPLACE_FUSE,),
        ),
    )
    diagnosis = FakeDiagnosis(boat=boat("dabchick"), stories=stories, order=("pack",))
    _, events = drive(
        setup_for("dabchick", diagnosis), PUMPS, {"turning": "still", "drive-lamp": "dark", "repair": "bench"}
    )
    fuse = next(left for left in conclusion(events).repairs if left.repair == REPLACE_FUSE)
    assert fuse.cause_first == (RepairId(place="pump", action=Action.CLEAR),)
    verdict = next(e.text for e in events if isinstance(e, Show) and e.id.endswith(".verdict"))
    assert "Look there first: pump, which may be jammed" in verdict


def test_a_bad_proof_leads_back_to_a_hunt_with_fresh_evidence() -> None:
    setup = setup_for("dabchick")
    state, events = drive(setup, PUMPS, {**dead_from("fuse"), "proof": "0 V", "repair": ""}, most=120)
    shown = [event.text for event in events if isinstance(event, Show)]
    assert any("did not cure" in text for text in shown)
    assert state.phase is Phase.DONE
    assert conclusion(events).ending is not Ending.MENDED
    assert len(state.done) >= 2


def test_answers_of_two_faults_are_said_to_be_so_and_the_second_is_looked_for() -> None:
    second = RepairId(place="pump", action=Action.CLEAR)
    on_feed = tuple(story for story in stories_of(boat("dabchick")) if story.name in FEED)
    diagnosis = FakeDiagnosis(boat=boat("dabchick"), stories=on_feed, two=0.9, second=(second, 0.6))
    answers = {**dead_from("fuse"), "proof": "7.5 V", "trouble": "runs"}
    state, events = drive(setup_for("dabchick", diagnosis), PUMPS, answers)
    shown = {e.id.partition(".")[2]: e for e in reversed(events) if isinstance(e, Show)}
    assert "not belong to one fault, but to two. Named first is fuse" in shown["verdict"].text
    assert "for the second, most likely at pump (60 %)" in shown["verdict"].text
    assert "once more for the second" in shown["second"].text
    assert state.cured == (REPLACE_FUSE,)
    assert conclusion(events).ending is Ending.MENDED
    assert REPLACE_FUSE in state.lately.mended


def test_of_two_faults_what_still_shows_after_the_first_repair_is_no_proof_against_it() -> None:
    diagnosis = FakeDiagnosis(boat=boat("dabchick"), two=0.9)
    _, events = drive(
        setup_for("dabchick", diagnosis), PUMPS, {**dead_from("fuse"), "proof": "0 V", "repair": ""}, 120
    )
    shown = [event.text for event in events if isinstance(event, Show)]
    assert any("That alone did not cure it" in text and "for the second" in text for text in shown)


def test_what_was_mended_in_vain_is_told_to_the_next_hunt() -> None:
    state, _ = drive(
        setup_for("dabchick"), PUMPS, {**dead_from("fuse"), "proof": "0 V", "repair": ""}, most=120
    )
    assert REPLACE_FUSE in state.lately.mended == frozenset(state.done)


def test_the_end_tells_also_what_was_worked_on_before_what_cured() -> None:
    setup = setup_for("dabchick")
    turn = Turn(setup, start(setup, PUMPS)[0])
    first = RepairId(place="pump", action=Action.CLEAR)
    for done, told in (((REPLACE_FUSE,), False), ((first, REPLACE_FUSE), True)):
        turn.state = replace(turn.state, done=done, cured=(REPLACE_FUSE,))
        conclude_mended(turn)
        text = conclusion(turn.events[-1:]).text
        assert "it was fuse." in text
        assert ("Worked on before that: pump." in text) is told


def test_without_a_proof_the_trouble_itself_is_looked_for() -> None:
    diagnosis = FakeDiagnosis(boat=boat("dabchick"), has_proof=False)
    answers = {**dead_from("fuse"), "trouble": "runs"}
    _, events = drive(setup_for("dabchick", diagnosis), PUMPS, answers)
    trouble = next(event for event in events if isinstance(event, Ask) and name_of(event) == "trouble")
    assert trouble.query is not None
    assert (trouble.query.part, trouble.query.sign) == ("pump", "turning")
    assert conclusion(events).ending is Ending.MENDED


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
