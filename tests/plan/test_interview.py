"""Whatever is answered, a boat comes out; with the usual sizes, one that passes the review."""

from functools import cache
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.cli.workbench import open_workbench
from assistant.dialogue import Setup
from assistant.errors import AnswerError
from assistant.plan import Form, Interview, Question, Sizing, compose, review
from assistant.quantities import show
from assistant.wiring import Boat
from tests.cli.person import METER
from tests.hunts.campaign import play, shown
from tests.plan.boats import boat_of, catalogue


def begun() -> Interview:
    return Interview(sizing=Sizing(catalogue()))


def by_chance(seed: int) -> Interview:
    """Return an interview with choices by chance and the usual sizes; throw-away cells are too weak for any fuse."""
    chance, interview = Random(seed), begun()
    while (question := interview.question) is not None:
        if question.form is Form.CHOICE:
            keys = [key for key, _ in question.choices if key != "alkaline"]
            interview = interview.answer(chance.choice(keys))
        else:
            interview = interview.usual(known=True)
    return interview


@cache
def boat_by_chance(seed: int) -> Boat:
    return boat_of(compose(by_chance(seed)))


def answers_to(question: Question) -> st.SearchStrategy[str]:
    """Return answers of any size that the question takes, and the usual one."""
    if question.form is Form.CHOICE:
        return st.sampled_from([key for key, _ in question.choices])
    if question.form is not Form.QUANTITY or len(question.units) != 1 or not question.low:
        return st.just(question.usual)
    high = question.high or 100.0
    (unit,) = question.units
    numbers = st.integers(1, int(high)) if question.key == "cells" else st.floats(1.01 * question.low, high)
    return numbers.map(lambda number: show(number, unit, 4))


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_a_boat_comes_out_of_any_answers(data: st.DataObject) -> None:
    interview = begun()
    while (question := interview.question) is not None:
        interview = interview.answer(data.draw(answers_to(question), label=question.key))
    boat = boat_of(compose(interview))
    assert {"receiver", "feed", "pack", "lower-pack", "pack-a"} & set(boat.parts)


@pytest.mark.parametrize("seed", range(3))
def test_with_the_usual_sizes_the_review_finds_no_error(seed: int) -> None:
    found = review(boat_by_chance(seed)).findings
    assert [(f.rule, f.label, f.says, f.against) for f in found if f.severity != "note"] == []


def test_a_described_boat_can_be_hunted() -> None:
    bench = open_workbench()
    setup: Setup = bench.setup(boat_of(compose(begun().answer("Coot"))), METER)
    breakdown = max(shown(setup), key=lambda breakdown: breakdown.weight)
    played = play(setup, breakdown, breakdown.complaint.part, "described")
    assert not isinstance(played, tuple)
    assert played.found, played


def test_the_usual_boat_asks_less_than_25_questions() -> None:
    assert len(begun().finished().given) < 25


def test_packs_above_what_may_be_touched_are_not_offered() -> None:
    interview = begun().answer("Coot").usual(known=True).answer("lithium").answer("8").usual(known=True)
    assert interview.question is not None
    assert [key for key, _ in interview.question.choices] == ["one", "parallel"]
    with pytest.raises(AnswerError):
        begun().answer("Coot").usual(known=True).answer("lithium").answer("13")


def test_back_to_the_start_is_where_it_began() -> None:
    interview = by_chance(7)
    for _ in interview.given:
        interview = interview.back()
    assert interview == begun()


def test_going_back_and_answering_alike_changes_nothing() -> None:
    interview = by_chance(8)
    key, answer = interview.given[-1]
    again = interview.back()
    assert again.question is not None
    assert again.question.key == key
    assert again.answer(answer) == interview


def test_what_was_guessed_is_told_from_what_was_chosen() -> None:
    interview = begun().usual(known=True).usual(known=False)
    assert interview.unknown == {"purpose"}
    assert interview.back().unknown == set()


@pytest.mark.parametrize(
    ("key", "typed"),
    [
        ("pack", "plutonium"),
        ("cells", "2.5"),
        ("cells", "99"),
        ("capacity", "5 V"),
        ("motor", "12 V"),
        ("motor", "12 V at lots"),
        ("main lead", "14 AWG"),
        ("main lead", "string 40 cm"),
        ("name", "x" * 81),
        ("name", "   "),
    ],
)
def test_what_is_no_answer_is_refused(key: str, typed: str) -> None:
    interview = begun()
    while (question := interview.question) is not None and question.key != key:
        interview = interview.usual(known=True)
    with pytest.raises(AnswerError) as caught:
        interview.answer(typed)
    assert caught.value.next_step


@pytest.mark.parametrize("name", ["no", "12:30", "Tom's: boat #1 {x}", "- a", "\N{DUCK} [A]", "'"])
def test_any_name_is_kept_as_it_was_given(name: str) -> None:
    interview = begun().answer(name).answer(name).finished()
    boat = boat_of(compose(interview))
    assert (boat.name, boat.about) == (name, name)


@pytest.mark.parametrize(
    ("key", "typed", "named"),
    [
        ("main fuse", "0.5 A", "1 A to 120 A, or 0 for none"),
        ("main fuse", "200 A", "1 A to 120 A, or 0 for none"),
        ("main fuse", "-1 A", "1 A to 120 A, or 0 for none"),
        ("fuse of a drive", "0.99", "1 A to 120 A, or 0 for none"),
        ("capacity", "50 Ah", "100 mAh to 20 Ah"),
        ("drive rating", "0.4 A", "500 mA to 500 A"),
    ],
)
def test_an_answer_no_such_part_can_have_is_refused_with_the_range(key: str, typed: str, named: str) -> None:
    interview = begun()
    while (question := interview.question) is not None and question.key != key:
        interview = interview.answer("2") if question.key == "drives" else interview.usual(known=True)
    assert interview.question is not None
    with pytest.raises(AnswerError, match=named):
        interview.answer(typed)


@pytest.mark.parametrize("typed", ["0", "0 A", "1 A", "120 A"])
def test_a_fuse_is_none_or_of_a_size_there_is(typed: str) -> None:
    interview = begun()
    while (question := interview.question) is not None:
        interview = interview.answer(typed) if question.key == "main fuse" else interview.usual(known=True)
    assert ("fuse" in boat_of(compose(interview)).parts) is not typed.startswith("0")


def test_one_answer_is_taken_out_and_the_others_stay() -> None:
    done = begun().answer("Coot").finished()
    again = done.without("main fuse")
    assert again.question is not None
    assert again.question.key == "main fuse"
    assert dict(again.answer("30 A").given) == dict(done.given) | {"main fuse": "30 A"}
