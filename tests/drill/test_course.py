"""The course: what counts as passed, and what a drill of it hides."""

import pytest

from assistant.dialogue import load_knowledge
from assistant.drill import course_key, issue_for_course
from assistant.errors import AnswerError
from assistant.lessons import Attempt, in_order, read_attempt, standing
from assistant.records import knowledge_files
from tests.drill.player import Player, diagnosis, drill_of

LESSONS = in_order(load_knowledge(knowledge_files()).lessons.values())
FIRST = LESSONS[0]


def tried(key: str, *, passed: bool, lesson: str = FIRST.id) -> Attempt:
    return Attempt(
        learner="Ida", lesson=lesson, drill=1, key=key, passed=passed, seconds=150.0, best_seconds=100.0
    )


def test_two_passes_on_different_keys_are_wanted() -> None:
    same = standing("Ida", LESSONS, [tried("a", passed=True), tried("a", passed=True)])
    assert same.next is not None
    assert (same.next.lesson.id, same.next.attempt, same.next.passes, same.passed) == (FIRST.id, 2, 1, 0)
    two = standing(
        "Ida", LESSONS, [tried("a", passed=False), tried("b", passed=True), tried("c", passed=True)]
    )
    assert (two.lessons_passed, two.passed, two.tried) == (1, 1, 1)
    assert two.next is not None
    assert two.next.lesson.id == LESSONS[1].id
    assert two.cost_ratio == pytest.approx(1.5)


def test_a_failure_between_breaks_the_row_and_one_afterwards_does_not() -> None:
    a, b, c = (tried(key, passed=True) for key in "abc")
    miss = tried("m", passed=False)
    assert standing("Ida", LESSONS, [a, miss, b]).passed == 0
    assert standing("Ida", LESSONS, [a, miss, b, c]).passed == 1
    assert standing("Ida", LESSONS, [a, b, miss]).passed == 1


def test_a_drill_that_cannot_be_given_and_one_unknown_change_nothing() -> None:
    found = standing("Ida", LESSONS, [tried("a", passed=True, lesson="gone")], {(FIRST.id, 1)})
    assert found.tried == 0
    assert found.next is not None
    assert found.next.lesson.id == LESSONS[1].id


def test_every_attempt_hides_one_of_the_lesson_s_faults_the_same_each_time() -> None:
    drill = FIRST.drills[0]
    for attempt in range(2):
        key = course_key("Ida", FIRST.id, 1, attempt)
        hidden = issue_for_course(diagnosis(), drill, key)
        assert hidden == issue_for_course(diagnosis(), drill, key)
        assert f"{hidden.faults[0].part} {hidden.faults[0].mode}" in drill.faults


@pytest.mark.parametrize(
    "change",
    [{"drill": 0}, {"drill": True}, {"seconds": float("nan")}, {"learner": ""}, {"passed": 1}, {"more": 1}],
)
def test_what_is_no_attempt_is_refused(change: dict[str, object]) -> None:
    good = tried("a", passed=True)
    assert read_attempt(good.as_json()) == good
    with pytest.raises(AnswerError):
        read_attempt({**good.as_json(), **change})


def test_a_repair_that_no_step_tells_from_the_needed_one_is_not_done_in_vain() -> None:
    """Under this key a pump without suppression looks for all checks like one with worn brushes."""
    drill = next(lesson for lesson in LESSONS if lesson.id == "motor-noise").drills[0]
    hidden = issue_for_course(diagnosis(), drill, "motor-noise-1-d90a06")
    played = drill_of(hidden)
    Player(played, hidden).play_best()
    assert played.score is not None
    assert played.score.passed, played.score.shortfalls
    assert [one.place for one in played.score.named] == ["pump"]
