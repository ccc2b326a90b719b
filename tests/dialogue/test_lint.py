"""Every rule of the lint has a fixture that trips it, and the good ones trip none."""

import pytest

from assistant.catalogue import Catalogue, Group
from assistant.dialogue import RULES, lint_knowledge, load_knowledge, longest_way
from assistant.records import knowledge_files
from tests.dialogue.boats import catalogue, knowledge
from tests.dialogue.samples import GOOD, SAFETY, changed, files


def small() -> Catalogue:
    """Return the kinds that the sample has something to say about."""
    out = {Group.LIGHT, Group.RADIO, Group.INSTRUMENT}
    return Catalogue(kinds={name: k for name, k in catalogue().kinds.items() if k.group not in out})


def codes(text: str, safety: str = SAFETY) -> list[str]:
    problems = lint_knowledge({**files(text), "safety.yaml": safety}, small())
    return [problem.code for problem in problems]


def test_the_good_fixture_is_clean() -> None:
    assert codes(GOOD) == []


def test_what_no_symptom_leads_to_is_named_with_the_file_of_its_kind() -> None:
    problems = lint_knowledge(files(GOOD), catalogue())
    assert {problem.code for problem in problems} == {"unled-fault"}
    assert {p.file for p in problems} >= {
        "parts/lamp.yaml",
        "parts/receiver.yaml",
        "parts/depth-sounder.yaml",
    }
    assert any("burnt out" in problem.what for problem in problems)


def test_every_rule_has_a_fixture_that_trips_it() -> None:
    tripped = {code for _, _, code in BAD}
    here_below = {"unled-fault", "missing-caution", "unused-word", "unlinked-lesson"}
    by_reading = {None, "missing-source", "unknown-node"}
    assert (tripped | here_below) - by_reading == RULES.keys()


def test_the_knowledge_of_the_program_is_clean() -> None:
    assert [str(problem) for problem in lint_knowledge(knowledge_files(), catalogue())] == []


OHMS = 'supply: {read: ohms, red: "drive +", black: "drive -", state: running'


BAD = [
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
    ("of: pump, state: running", "of: pump, state: off", "dead-look"),
    ("sign: turning, of: pump, state: running", "sign: hand, of: pump, state: running", "forbidden-state"),
    ('fault: "fuse open", expect', "answers: {safe: yes}, expect", "no-example"),
    ('fault: "rudder dead", expect', "answers: {safe: yes}, expect", "no-example"),
]


@pytest.mark.parametrize(("old", "new", "code"), BAD)
def test_each_rule_has_a_fixture_that_trips_it(old: str, new: str, code: str | None) -> None:
    text = changed(old, new)
    if "back: {" in new:
        text = text.replace("likely: whole", "likely: back")
    assert codes(text) == [] if code is None else code in codes(text)


def test_an_occasion_without_a_caution_is_found() -> None:
    assert "missing-caution" in codes(GOOD, SAFETY.replace("replace fuse", "charge"))


def test_a_lesson_that_no_step_names_is_found() -> None:
    good = files(GOOD)
    other = (
        good["lessons/sample.yaml"].replace("lesson: sample", "lesson: other").replace("order: 1", "order: 2")
    )
    spoilt = {**good, "lessons/other.yaml": other.replace("idea: volts", "idea: amps")}
    (problem,) = lint_knowledge(spoilt, small())
    assert (problem.code, problem.file, problem.line) == ("unlinked-lesson", "lessons/other.yaml", 1)


def test_a_word_of_the_trade_that_no_text_uses_is_found() -> None:
    spoilt = {**files(GOOD), "words.yaml": "strip: {means: metal}\nkeelson: {means: wood}\n"}
    (problem,) = lint_knowledge(spoilt, small())
    assert (problem.code, problem.file, problem.line) == ("unused-word", "words.yaml", 2)


def test_a_circle_that_learns_something_is_allowed() -> None:
    circle = changed("broken: {text: broken, then: narrow,", "broken: {text: broken, then: look,")
    assert "cycle" not in codes(circle)


def test_problems_name_their_place() -> None:
    (problem,) = lint_knowledge(
        files(changed("{runs: stop, any: strip}", "{runs: stop, any: supply}")), small()
    )
    assert problem.file == "symptoms/sample.yaml"
    assert GOOD.splitlines()[problem.line - 1].strip().startswith("strip:")
    assert "strip" in problem.what


def test_every_symptom_ends_after_a_bearable_number_of_questions() -> None:
    """The longest way through each graph, narrowing counted as one: told by ``leadline knowledge`` too."""
    longest = {name: len(longest_way(graph)) for name, graph in knowledge().symptoms.items()}
    assert 2 < min(longest.values()) <= max(longest.values()) <= 14


def test_the_longest_way_goes_from_start_to_end_and_nowhere_twice() -> None:
    graph = load_knowledge(files(GOOD)).symptoms["sample"]
    assert longest_way(graph) == ("safe", "look", "strip", "supply", "narrow", "done")
