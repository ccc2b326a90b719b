"""Strict reading of lessons: every problem at once, each with its place."""

import pytest

from assistant.circuit import MeterFunction
from assistant.errors import KnowledgeError
from assistant.lessons import Look, Reading, load_lessons
from tests.lessons.samples import CAUTIONS, GOOD, changed, files, sample


def codes(text: str) -> list[str]:
    with pytest.raises(KnowledgeError) as caught:
        load_lessons(files(text), CAUTIONS)
    return [problem.code for problem in caught.value.problems]


def test_a_good_lesson_is_read_whole() -> None:
    lesson = sample()
    assert (lesson.order, lesson.idea, lesson.caution) == (1, "volts add in series", "held-boat")
    assert lesson.worked.numbers["part"].what == Reading(
        function=MeterFunction.DC_VOLTS, red="first 1", black="first 2"
    )
    assert lesson.worked.numbers["smell"].what == Look(of="first look")
    assert lesson.worked.numbers["drift"].severity == "3"
    assert lesson.sources[0].text == "Ohm's law"


def test_drills_come_as_they_are_written() -> None:
    first, second = sample().drills
    assert (first.at_once, first.complaint) == (1, "pump turning")
    assert (second.at_once, second.complaint) == (2, "")
    assert second.faults == ("fuse open", "pack.+--fuse.in@1 open")


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("title: Sample", "titel: Sample", "unknown-key"),
        ("caution: held-boat\n", "", "missing-key"),
        ("caution: held-boat", "caution: held-bot", "unknown-caution"),
        ("text: Two lamps", "text: " + "word " * 150, "long"),
        ("order: 1", "order: first", "quantity"),
        ("order: 1", "order: 0", "quantity"),
        ("lesson: sample", "lesson: simple", "file-name"),
        ("status: c", "status: x", "choice"),
        ('  - {source: "Ohm\'s law", status: c}', "  []", "empty"),
        ("faults: [fuse corroded]", "faults: []", "empty"),
        ("at-once: 2", "at-once: 9", "quantity"),
        ("read: DC volts, red: pack +", "read: AC volts, red: pack +", "choice"),
        ("read: DC volts, red: pack +, black: pack -", "read: DC volts, red: pack +", "missing-key"),
        ("amps: first body", "amps: first body, value: first body_ohm", "number"),
        ("amps: first body, ", "", "number"),
        ("expect: [3 mA, 4 mA]", "expect: [3 mA]", "number"),
        ("expect: [3 mA, 4 mA]", "expect: 3 mA", "wrong-kind"),
        ("base: rest, fault", "base: best, fault", "choice"),
        ("base: rest, fault", "set: {pack.plugged: 300 %}, fault", "quantity"),
        ("{all}, {part}", "{al}, {all}, {part}", "unknown-number"),
        ("{all}, {part}", "{all}", "unused-number"),
        ("{all}, {part}", "{all}, {part}, 4 V", "typed-number"),
        ("title: Sample", "title: Sample\ntitle: Again", "duplicate-key"),
    ],
)
def test_slips_are_named_by_code(old: str, new: str, code: str) -> None:
    assert code in codes(changed(old, new))


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [("idea: volts add in series", "idea: another", "order"), ("order: 1", "order: 2", "idea")],
)
def test_two_lessons_share_neither_place_nor_idea(old: str, new: str, code: str) -> None:
    other = changed(old, new).replace("lesson: sample", "lesson: other")
    with pytest.raises(KnowledgeError) as caught:
        load_lessons({**files(GOOD), "lessons/other.yaml": other}, CAUTIONS)
    (problem,) = caught.value.problems
    assert (problem.code, problem.file) == (code, "lessons/sample.yaml")


def test_all_problems_come_at_once_with_their_places() -> None:
    text = changed("order: 1", "order: first").replace("at-once: 2", "at-once: 9")
    with pytest.raises(KnowledgeError) as caught:
        load_lessons(files(text), CAUTIONS)
    places = [(problem.line, problem.column) for problem in caught.value.problems]
    assert [text.splitlines()[line - 1][column - 1 :].split(",")[0] for line, column in places] == [
        "first",
        "9}",
    ]


def test_lessons_come_in_the_order_of_the_course() -> None:
    early = changed("order: 1", "order: 9").replace("idea: volts", "idea: amps")
    late = GOOD.replace("lesson: sample", "lesson: zebra")
    found = load_lessons({"lessons/sample.yaml": early, "lessons/zebra.yaml": late}, CAUTIONS)
    assert list(found) == ["zebra", "sample"]
