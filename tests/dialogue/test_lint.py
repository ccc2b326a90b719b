"""Every rule of the lint has a fixture that trips it, and the good ones trip none."""

import pytest

from assistant.dialogue import lint_knowledge
from assistant.records import knowledge_files
from tests.dialogue.boats import catalogue
from tests.dialogue.samples import GOOD, SAFETY, changed, files


def codes(text: str, safety: str = SAFETY) -> list[str]:
    problems = lint_knowledge({**files(text), "safety.yaml": safety}, catalogue())
    return [problem.code for problem in problems]


def test_the_good_fixture_is_clean() -> None:
    assert codes(GOOD) == []


def test_the_knowledge_of_the_program_is_clean() -> None:
    assert [str(problem) for problem in lint_knowledge(knowledge_files(), catalogue())] == []


OHMS = 'supply: {read: ohms, red: "drive +", black: "drive -", state: running'


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("unsure: supply", "unsure: narrow", None),
        ("whole: {text: whole, then: supply,", "whole: {text: whole, then: narrow,", None),
        ("{runs: stop, any: strip}", "{runs: stop, still: strip}", "missing-link"),
        ("then: {any: done}", "then: {found: done}", "missing-link"),
        ("{runs: stop, any: strip}", "{runs: stop, any: supply}", "unreachable"),
        ("done: {conclude: verdict}", "done: {tell: Again., then: done}", "no-end"),
        ("broken: {text: broken, then: narrow,", "broken: {text: broken, then: strip,", "cycle"),
        ("group: motor, shows: turning", "group: motor, shows: singing", "role"),
        ("group: fuse, optional", "group: passive, shows: strip, optional", "role"),
        ("sign: turning, of: pump", "sign: strip, of: pump", "sign"),
        ("{runs: stop, any: strip}", "{flies: stop, any: strip}", "sign"),
        ("level: broken, state: off", "level: bent, state: off", "sign"),
        ('red: "drive +"', 'red: "drive coil+"', "point"),
        (
            'supply: {read: DC volts, red: "drive +", black: "drive -", state: running',
            OHMS,
            "forbidden-state",
        ),
        ("of: pump, state: running,", "of: pump, state: running, caution: [dead],", "forbidden-state"),
        ("whole: {text: whole", "back: {text: whole", "command"),
        ("source: common practice", "about: common practice", "missing-source"),
        ("yes: look", "yes: lock", "unknown-node"),
    ],
)
def test_each_rule_has_a_fixture_that_trips_it(old: str, new: str, code: str | None) -> None:
    text = changed(old, new)
    if "back: {" in new:
        text = text.replace("likely: whole", "likely: back")
    assert codes(text) == [] if code is None else code in codes(text)


def test_an_occasion_without_a_caution_is_found() -> None:
    assert "missing-caution" in codes(GOOD, SAFETY.replace("replace fuse", "charge"))


def test_a_circle_that_learns_something_is_allowed() -> None:
    circle = changed("broken: {text: broken, then: narrow,", "broken: {text: broken, then: look,")
    assert "cycle" not in codes(circle)


def test_problems_name_their_place() -> None:
    (problem,) = lint_knowledge(
        files(changed("{runs: stop, any: strip}", "{runs: stop, any: supply}")), catalogue()
    )
    assert problem.file == "symptoms/sample.yaml"
    assert GOOD.splitlines()[problem.line - 1].strip().startswith("strip:")
    assert "strip" in problem.what
