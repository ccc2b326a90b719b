from dataclasses import replace

import pytest

from assistant.diagnosis import ReadingSeen, SignSeen
from assistant.dialogue import Phase
from assistant.errors import CaseError
from assistant.records import replay
from tests.records.examples import DABCHICK, STORE, again, answers_until, dabchick_case, dabchick_setup


def test_every_reading_and_sign_stands_at_its_answer() -> None:
    case = again(DABCHICK)
    brought = [turn for turn in case.turns if turn.evidence]
    assert all(turn.ask.measurement or turn.ask.query for turn in brought)
    for turn in brought:
        (piece,) = turn.evidence
        assert piece.asked in {turn.ask.measurement, turn.ask.query}
    assert [turn.number for turn in case.turns] == list(range(1, len(case.turns) + 1))


def test_an_answer_says_what_it_did_to_the_suspects() -> None:
    case = again(DABCHICK)
    hunted = [turn for turn in case.turns if turn.phase is Phase.NARROWING and turn.effect]
    last = next(turn.effect for turn in reversed(hunted) if turn.effect and turn.effect.cleared)
    assert last.before > last.after > 0
    assert last.leading is not None
    assert last.leading.repair.place == "fuse"
    assert len(last.cleared) == last.before - last.after
    without = next(turn for turn in case.turns if not turn.evidence)
    assert without.effect is None


def test_readings_after_the_repair_are_told_apart() -> None:
    phases = [turn.phase for turn in again(DABCHICK).turns if turn.evidence]
    assert phases[-1] is Phase.PROOF
    assert Phase.PROOF not in phases[:-2]


def test_an_answer_taken_back_does_not_count() -> None:
    answers = [*answers_until("supply"), "3.3", "back", "0.1"]
    case = replay(dabchick_case(answers), dabchick_setup())
    assert [(turn.answer, turn.counts) for turn in case.turns[-3:]] == [
        ("3.3", False),
        ("back", False),
        ("0.1", True),
    ]
    values = [piece.value for piece in case.evidence if isinstance(piece, ReadingSeen)]
    assert values == [0.1]


def test_what_was_not_understood_or_only_asked_back_does_not_count() -> None:
    case = replay(dabchick_case(["perhaps", "why", "note wet hatch", "yes"]), dabchick_setup())
    assert [turn.counts for turn in case.turns] == [False, False, False, True]
    assert case.notes == ("wet hatch",)


def test_other_knowledge_stops_the_replay_where_it_no_longer_fits() -> None:
    contents = STORE.read(DABCHICK)
    bent = [dict(entry) for entry in contents.entries]
    bent[5]["digest"] = "000000000000"
    case = replay(replace(contents, entries=tuple(bent)), dabchick_setup())
    assert len(case.turns) == 5
    assert case.end is None
    assert case.trouble.startswith("answer 6: ")
    assert "other ways than now" in case.trouble
    bent[5]["ask"] = "n05.something"
    assert 'is to "n05.something"' in replay(replace(contents, entries=tuple(bent)), dabchick_setup()).trouble


def test_answers_after_the_end_are_told() -> None:
    contents = STORE.read(DABCHICK)
    longer = (*contents.entries, {**contents.entries[-1], "n": len(contents.entries) + 1})
    assert (
        "the case was over before it" in replay(replace(contents, entries=longer), dabchick_setup()).trouble
    )


def test_a_symptom_nobody_knows_is_refused() -> None:
    contents = STORE.read(DABCHICK)
    strange = replace(contents, header=replace(contents.header, symptom="flies-away"))
    with pytest.raises(CaseError, match="no such symptom"):
        replay(strange, dabchick_setup())


def test_signs_are_evidence_too() -> None:
    assert any(isinstance(piece, SignSeen) for piece in again(DABCHICK).evidence)
