"""The tree on paper finds what it should, fits two pages and says what to beware of first."""

from math import inf

import pytest

from assistant.errors import AnswerError
from assistant.plan import markdown, symptom_sheet, text_lines
from assistant.plan.sheet import range_words
from assistant.plan.tree import Range
from tests.plan.boats import example
from tests.plan.paper_walk import (
    Paper,
    boat_with,
    diagnosis_of,
    faults_of,
    graph_of,
    in_range,
    knowledge,
    tree_of,
)

BOAT, SYMPTOM = "dabchick", "pumps-not-running"


def test_the_printed_tree_leads_to_the_right_repair() -> None:
    """All faults that show by the pump; ``python -m tests.plan`` also walks the other symptoms."""
    diagnosis, paper = diagnosis_of(BOAT), Paper(BOAT, SYMPTOM)
    right = weight = 0.0
    missed, walked_by = [], 0
    for breakdown in faults_of(BOAT, SYMPTOM):
        walked = paper.walk(boat_with(diagnosis, breakdown.faults, f"paper {breakdown.number}"))
        if walked.ends.startswith("not this trouble"):
            continue
        walked_by += 1
        weight += breakdown.weight
        if paper.names(walked, breakdown.hypothesis.repairs[0]):
            right += breakdown.weight
        else:
            missed.append(breakdown.faults)
    assert walked_by >= 40
    # Over three draws of errors 2 to 4 of 57 were missed, 0.8 to 1.6 % by weight: bad joints that make all restart.
    assert right >= 0.97 * weight, missed
    assert len(missed) <= 0.10 * walked_by, missed


def test_a_healthy_boat_is_sent_elsewhere() -> None:
    walked = Paper(BOAT, SYMPTOM).walk(boat_with(diagnosis_of(BOAT), (), "well"))
    assert walked.ends.startswith("not this trouble")


def test_every_step_is_reached_once_and_leads_somewhere() -> None:
    tree = tree_of(BOAT, SYMPTOM).tree
    assert tree is not None
    targets = [way.step for rung in tree.rungs for way in rung.ways if way.step is not None]
    assert sorted(targets) == [rung.number for rung in tree.rungs[1:]]
    assert all(bool(way.ends) != (way.step is not None) for rung in tree.rungs for way in rung.ways)


def test_ranges_of_a_reading_leave_no_gap_inside() -> None:
    tree = tree_of(BOAT, SYMPTOM).tree
    assert tree is not None
    readings = [rung for rung in tree.rungs if rung.text.startswith("Volts: ")]
    assert len(readings) >= 5
    for rung in readings:
        assert sum("(as expected)" in way.answer for way in rung.ways) <= 1
        for value in (-20.0, 0.0, 0.0123, 4.9, 7.3, 20.0):
            assert sum(in_range(value, way.answer) for way in rung.ways) <= 1, (rung, value)


def test_cautions_and_first_checks_stand_before_the_steps() -> None:
    sheet = tree_of(BOAT, SYMPTOM)
    texts = [text for _, text in text_lines(sheet)]
    hot = next(i for i, text in enumerate(texts) if "smells or smokes" in text)
    swollen = next(i for i, text in enumerate(texts) if "not swollen" in text)
    first = next(i for i, text in enumerate(texts) if text.startswith("["))
    assert hot < swollen < first
    assert markdown(sheet).index("smells or smokes") < markdown(sheet).index("**1.**")


def test_a_smaller_room_gives_fewer_steps() -> None:
    diagnosis, graph = diagnosis_of(BOAT), graph_of(SYMPTOM)
    small = symptom_sheet(diagnosis, knowledge(), graph, lines=25).tree
    large = tree_of(BOAT, SYMPTOM).tree
    assert small is not None
    assert large is not None
    assert 1 < len(small.rungs) < len(large.rungs)
    assert sum(1 + len(rung.ways) for rung in small.rungs) <= 25


def test_a_part_the_symptom_is_not_about_is_refused() -> None:
    with pytest.raises(AnswerError, match="rudder"):
        symptom_sheet(diagnosis_of(BOAT), knowledge(), graph_of(SYMPTOM), part="rudder")
    assert "rudder" in example(BOAT).parts


@pytest.mark.parametrize("span", [(-inf, 0.015), (0.015, 4.8), (4.8, inf), (-7.0, -0.0305)])
def test_a_range_in_words_holds_what_the_range_holds(span: tuple[float, float]) -> None:
    whole = Range(low=span[0], high=span[1])
    for value in (-8.0, -7.0, -0.03, 0.0, 0.0149, 0.0151, 4.79, 4.81, 12.0):
        assert in_range(value, range_words(whole)) == whole.holds(value)
