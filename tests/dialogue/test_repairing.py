"""From the verdict to a boat that is mended: repairs, their proof, and what follows when they do not cure."""

from dataclasses import replace

from assistant.catalogue import Action
from assistant.circuit import is_unplugged
from assistant.diagnosis import ModeAt, RepairId
from assistant.dialogue import Ask, Ending, Phase, Show, start
from assistant.dialogue.events import ManipulationKind
from assistant.dialogue.repairing import conclude_mended
from assistant.dialogue.turn import Turn
from tests.dialogue.boats import PUMPS, boat, conclusion, dead_from, drive, name_of, setup_for
from tests.dialogue.fake import FEED, REPLACE_FUSE, FakeDiagnosis, Story, stories_of


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
