"""When the hunt may end, on problems small enough to know the answer."""

import pytest

from assistant.diagnosis import Evidence, Outcome
from assistant.diagnosis.belief import MISSEEN, believe
from assistant.diagnosis.verdict import (
    LOST,
    STILL_SURE,
    SURE,
    healthy_mass,
    is_confirmed,
    leader,
    suspects_of,
    verdict_of,
    weakest_link,
)
from tests.diagnosis.discrete import DiscreteTable, healthy, seen, story

STORIES = (healthy(0.1), story("fuse", 0.5), story("lamp", 0.38), story("rare", 0.02))
YES_FOR_FUSE = {"yes": [0.0, 1.0, 0.0, 0.0], "no": [1.0, 0.0, 1.0, 1.0]}
SAME = {"yes": [0.5] * 4, "no": [0.5] * 4}
TELLING = {f"point {i}": YES_FOR_FUSE for i in range(3)}
FUSE, LAMP, RARE = (s.repairs[0] for s in STORIES[1:])


@pytest.fixture(scope="module")
def table() -> DiscreteTable:
    of_healthy = {"yes": [1.0, 0.0, 0.0, 0.0], "no": [0.0, 1.0, 1.0, 1.0]}
    all_but_fuse_and_lamp = {"yes": [0.0, 1.0, 1.0, 0.0], "no": [1.0, 0.0, 0.0, 1.0]}
    never = {"yes": [1.0] * 4, "no": [0.0] * 4}
    return DiscreteTable(
        STORIES,
        {
            **TELLING,
            "same": SAME,
            "well": of_healthy,
            "well too": of_healthy,
            "pair": all_but_fuse_and_lamp,
            "pair too": all_but_fuse_and_lamp,
            **{f"never {i}": never for i in range(4)},
        },
    )


def outcome(
    table: DiscreteTable, *evidence: Evidence, exhausted: bool = False, amiss: bool = True
) -> Outcome:
    return verdict_of(table, believe(table, evidence), exhausted=exhausted, amiss=amiss).outcome


def test_suspects_fall_and_hold_all_probability_with_healthy_and_unknown(table: DiscreteTable) -> None:
    belief = believe(table, [seen("point 0", "yes")])
    suspects = suspects_of(table, belief)
    masses = [s.probability for s in suspects]
    assert masses == sorted(masses, reverse=True)
    assert {s.repair for s in suspects} == {FUSE, LAMP, RARE}
    assert sum(masses) + healthy_mass(table, belief) + belief.unknown == pytest.approx(1.0)
    assert leader(table, belief)[0] == FUSE


def test_one_answer_however_clear_is_no_confirmation(table: DiscreteTable) -> None:
    belief = believe(table, [seen("point 0", "yes"), seen("same", "yes")])
    assert leader(table, belief)[1] >= SURE
    assert weakest_link(table, belief, [FUSE])[0] == 0
    assert not is_confirmed(table, belief)
    assert outcome(table, *belief.evidence) is Outcome.OPEN


def test_two_answers_that_say_the_same_confirm(table: DiscreteTable) -> None:
    belief = believe(table, [seen("point 0", "yes"), seen("same", "no"), seen("point 1", "yes")])
    assert weakest_link(table, belief, [FUSE])[1] >= STILL_SURE
    assert is_confirmed(table, belief)
    assert outcome(table, *belief.evidence) is Outcome.SOLE


def test_nothing_left_to_ask_names_the_group(table: DiscreteTable) -> None:
    evidence = (seen("pair", "yes"), seen("pair too", "yes"))
    assert outcome(table, *evidence) is Outcome.OPEN
    assert outcome(table, *evidence, exhausted=True) is Outcome.GROUP
    standing = {s.repair for s in suspects_of(table, believe(table, evidence)) if s.stands}
    assert standing == {FUSE, LAMP}


def test_what_the_answers_fit_stands_however_rare(table: DiscreteTable) -> None:
    assert all(s.stands for s in suspects_of(table, believe(table, [seen("same", "yes")])))


def test_no_part_is_accused_while_nothing_is_amiss(table: DiscreteTable) -> None:
    evidence = (seen("point 0", "yes"), seen("point 1", "yes"))
    assert outcome(table, *evidence, amiss=False) is Outcome.HEALTHY


def test_what_comes_and_goes_names_nothing_while_it_was_only_told_of(table: DiscreteTable) -> None:
    belief = believe(table, [seen("point 0", "yes"), seen("same", "no"), seen("point 1", "yes")])
    uncaught = verdict_of(table, belief, exhausted=False, amiss=True, caught=False)
    assert uncaught.outcome is Outcome.UNCAUGHT
    still_open = verdict_of(
        table, believe(table, [seen("same", "yes")]), exhausted=False, amiss=True, caught=False
    )
    assert still_open.outcome is Outcome.OPEN


def test_a_boat_shown_to_be_well_is_called_healthy(table: DiscreteTable) -> None:
    evidence = (seen("well", "yes"), seen("well too", "yes"))
    assert leader(table, believe(table, evidence))[0] is None
    assert outcome(table, *evidence, amiss=False) is Outcome.HEALTHY


def test_answers_that_nothing_explains_end_in_unknown(table: DiscreteTable) -> None:
    evidence = [seen(f"never {i}", "no") for i in range(4)]
    belief = believe(table, evidence)
    assert belief.unknown >= LOST
    assert outcome(table, *evidence) is Outcome.UNKNOWN
    slip = MISSEEN * 0.5
    assert belief.unknown == pytest.approx(0.01 * 0.5**4 / (0.01 * 0.5**4 + 0.99 * slip**4))
