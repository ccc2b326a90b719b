"""Every rule has a fixture that trips it; the good one and the program's own lessons trip none."""

import pytest

from assistant.errors import Problem
from assistant.lessons import lint_lessons
from tests.dialogue.boats import catalogue
from tests.lessons.own import boats, lessons
from tests.lessons.samples import GOOD, changed, sample


def found(text: str) -> tuple[Problem, ...]:
    return lint_lessons([sample(text)], catalogue(), boats())


def test_the_good_fixture_is_clean() -> None:
    assert found(GOOD) == ()


def test_the_lessons_of_the_program_are_clean() -> None:
    problems = lint_lessons(lessons().values(), catalogue(), boats())
    assert [str(problem) for problem in problems] == []


@pytest.mark.parametrize(
    ("old", "new", "code", "where"),
    [
        ("expect: [3 V, 4 V]", "expect: [4 V, 5 V]", "expect", "part:"),
        ("expect: cool", "expect: burnt", "expect", "smell:"),
        ("red: first 1, black: second 2", "red: first 7, black: second 2", "example", "path:"),
        ("amps: first body", "amps: first core", "example", "flow:"),
        ("value: second body_ohm", "value: third body_ohm", "example", "size:"),
        ("sign: first look", "sign: first sound", "example", "smell:"),
        ("severity: 3", "severity: 3 V", "example", "drift:"),
        ("severity: 3", "severity: 300", "example", "drift:"),
        ("fault: first open", "fault: first open, severity: 3", "example", "broken:"),
        ("fault: first drift", "fault: first drifts", "example", "drift:"),
        ("base: rest, fault", "set: {pack.plug: 1}, fault", "example", "broken:"),
        ("expect: [3 mA, 4 mA]", "expect: [3 V, 4 V]", "example", "flow:"),
        ("second: {kind: resistor", "second: {kind: resister", "example", "boat:"),
        ("base: rest, expect: [3.9 kohm, 4.1 kohm]", "expect: [0 ohm, 4.1 kohm]", "live-ohms", "path:"),
        (
            "{boat: dabchick, faults: [fuse c",
            "{boat: dubchick, faults: [fuse c",
            "drill",
            "- {boat: dubchick",
        ),
        ("faults: [fuse corroded]", "faults: [fuse corroding]", "drill", "- {boat: dabchick"),
        ("faults: [fuse corroded]", "faults: [fuze corroded]", "drill", "- {boat: dabchick"),
        ("complaint: pump turning", "complaint: pumb turning", "drill", "- {boat: dabchick"),
        ("complaint: pump turning", "complaint: pump turned", "drill", "- {boat: dabchick"),
        (
            'open, "pack.+--fuse.in@1 open"]',
            "open, fuse open]",
            "drill",
            "- {boat: dabchick, faults: [fuse open",
        ),
    ],
)
def test_each_rule_has_a_fixture_that_trips_it_and_names_its_place(
    old: str, new: str, code: str, where: str
) -> None:
    text = changed(old, new)
    assert [problem.code for problem in found(text)] == [code]
    (problem,) = found(text)
    assert problem.file == "lessons/sample.yaml"
    assert text.splitlines()[problem.line - 1].strip().startswith(where)


def test_a_boat_that_is_none_of_the_examples_is_named() -> None:
    head, _, rest = GOOD.partition("  boat: |")
    text = f"{head}  boat: dubchick\n  numbers:{rest.partition('  numbers:')[2]}"
    (problem,) = found(text)
    assert problem.code == "example"
    assert "dabchick" in problem.mend
