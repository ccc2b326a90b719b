"""Strict reading of symptoms, cautions and instructions: every problem at once, each with its place."""

import pytest

from assistant.dialogue import load_knowledge
from assistant.dialogue.graph import AskNode, ReadNode
from assistant.errors import KnowledgeError
from tests.dialogue.boats import knowledge
from tests.dialogue.samples import GOOD, changed, files


def codes(text: str) -> list[str]:
    with pytest.raises(KnowledgeError) as caught:
        load_knowledge(files(text))
    return [problem.code for problem in caught.value.problems]


def test_a_good_symptom_is_read_whole() -> None:
    graph = load_knowledge(files(GOOD)).symptoms["sample"]
    assert graph.start == "safe"
    assert graph.roles["drive"].feeds == "pump"
    read = graph.nodes["supply"]
    assert isinstance(read, ReadNode)
    assert (read.red.role, read.red.terminal) == ("drive", "+")
    assert (read.how, read.lesson) == ("Meter on volts.", "sample")
    assert (graph.nodes["look"].lesson, graph.nodes["safe"].lesson) == ("sample", "")
    asked = graph.nodes["strip"]
    assert isinstance(asked, AskNode)
    assert asked.answers[0].evidence is not None
    assert graph.examples[0].place == "fuse"
    assert graph.examples[-1].counter


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("source: common practice", "about: common practice", "missing-source"),
        ("yes: look", "yes: lock", "unknown-node"),
        ("of: pump, state: running", "of: pomp, state: running", "unknown-role"),
        ("of: pump, state: running", "of: pump, state: runing", "unknown-state"),
        ("caution: [held-boat]", "caution: [held-bot]", "unknown-caution"),
        ("how: gently", "how: gentle", "unknown-how"),
        ("lesson: sample", "lesson: simple", "unknown-lesson"),
        ('red: "drive +"', 'red: "drover +"', "point"),
        ("read: DC volts", "read: AC volts", "choice"),
        ("conclude: verdict", "conclude: perhaps", "choice"),
        ("conclude: stop", "conclude: other", "missing-key"),
        ("start: safe", "start: sofa", "unknown-node"),
        ("group: motor", "group: moter", "choice"),
        ("base: rest", "base: rest, run: pump", "state"),
        ("symptom: sample", "symptom: simple", "file-name"),
        ("likely: whole", "likely: half", "choice"),
        ("narrow: all", "narrow: some", "choice"),
        ('fault: "fuse open", expect', "expect", "example"),
        ("answers: {safe: yes}", "answers: {save: yes}", "unknown-node"),
        ("confirm: Held?", "confirm: Held?, sign: turning", "node"),
        ("title: Sample", "title: Sample\ntitle: Again", "duplicate-key"),
        ("why: It matters.", "whi: It matters.", "unknown-key"),
    ],
)
def test_slips_are_named_by_code(old: str, new: str, code: str) -> None:
    assert code in codes(changed(old, new))


def test_all_problems_come_at_once() -> None:
    text = changed("yes: look", "yes: lock").replace("group: motor", "group: moter")
    assert {"unknown-node", "choice"} <= set(codes(text))


def test_a_role_speaks_of_roles_above_it() -> None:
    swapped = changed("feeds: pump", "feeds: pack")
    with pytest.raises(KnowledgeError, match=r'no earlier role "pack"; '):
        load_knowledge(files(swapped))


def test_problems_of_cautions_are_told_too() -> None:
    broken = {**files(GOOD), "safety.yaml": "held-boat: {text: Hold it, confirm: perhaps}"}
    with pytest.raises(KnowledgeError, match=r"safety\.yaml:1"):
        load_knowledge(broken)


@pytest.mark.parametrize(
    ("how", "code"),
    [
        ("volts: {text: Meter on volts., lesson: simple}", "unknown-lesson"),
        ("volts: {lesson: sample}", "missing-key"),
        ("volts: [Meter on volts.]", "wrong-kind"),
    ],
)
def test_slips_in_instructions_are_named_by_code(how: str, code: str) -> None:
    with pytest.raises(KnowledgeError) as caught:
        load_knowledge({**files(GOOD), "how.yaml": f"{how}\nlook: Look.\ngently: Do it gently.\n"})
    assert code in [problem.code for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("strip: {forms: [strips]}", "missing-key"),
        ("strip: {means: metal, form: strips}", "unknown-key"),
        ("strip: {means: metal, forms: [slip]}\nslip: {means: paper}", "same-word"),
        ("strip: {means: metal, forms: [Strip]}", "same-word"),
    ],
)
def test_slips_in_words_of_the_trade_are_named_by_code(words: str, code: str) -> None:
    with pytest.raises(KnowledgeError) as caught:
        load_knowledge({**files(GOOD), "words.yaml": words})
    assert [(problem.file, problem.code) for problem in caught.value.problems] == [("words.yaml", code)]


def test_problems_of_lessons_are_told_too() -> None:
    broken = {**files(GOOD), "lessons/other.yaml": "lesson: other"}
    with pytest.raises(KnowledgeError, match=r"lessons/other\.yaml:1"):
        load_knowledge(broken)


def test_what_comes_with_the_program_is_read() -> None:
    assert {"pumps-not-running", "servo-jitter", "relay-clicking", "receiver-brownout"} <= set(
        knowledge().symptoms
    )
