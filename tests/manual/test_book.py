"""All checks of the knowledge through one door."""

from itertools import cycle

import pytest

from assistant.errors import KnowledgeError
from assistant.manual import check_knowledge, open_book
from assistant.manual.book import SHARED
from assistant.records import knowledge_files
from tests.lessons.own import boats


def codes_by_file(path: str, old: str, new: str) -> set[tuple[str, str]]:
    files = dict(knowledge_files())
    assert old in files[path], old
    files[path] = files[path].replace(old, new, 1)
    return {(problem.file, problem.code) for problem in check_knowledge(files, boats())}


def test_the_knowledge_of_the_program_is_clean() -> None:
    assert [str(problem) for problem in check_knowledge(knowledge_files(), boats())] == []


@pytest.mark.parametrize(
    ("path", "old", "new", "code"),
    [
        ("parts/blade-fuse.yaml", "group: fuse", "group: fuze", "choice"),
        ("parts/blade-fuse.yaml", "kind: blade fuse", "kind: [", "syntax"),
        (
            "parts/blade-fuse.yaml",
            '"common practice, no source: three',
            '"rule: three',
            "unlisted-source",
        ),
        ("symptoms/pumps-weak.yaml", "title:", "titel:", "unknown-key"),
        ("symptoms/servo-jitter.yaml", "start: danger", "start: settle", "unreachable"),
        ("safety.yaml", "confirm: no", "confirm: perhaps", "choice"),
        ("how.yaml", "lesson: volt-drop", "lesson: volt-drip", "unknown-lesson"),
        ("lessons/volt-drop.yaml", "status: s", "status: q", "choice"),
        ("lessons/volt-drop.yaml", "expect: [1 V, 4 V]", "expect: [5 V, 6 V]", "expect"),
        ("lessons/volt-drop.yaml", "boat: grebe", "boat: greeb", "drill"),
        ("sources.yaml", "kind: standard", "kind: rumour", "choice"),
    ],
)
def test_a_slip_in_any_file_is_told_at_its_place(path: str, old: str, new: str, code: str) -> None:
    assert (path, code) in codes_by_file(path, old, new)


SPOILT = ("x: [", "- a\n", "")
"""No document, one of another form, and an empty one: each file is spoilt in one of these ways, in turn."""


@pytest.mark.parametrize(
    ("path", "text"),
    list(
        zip(
            [*SHARED, "lessons/volt-drop.yaml", "symptoms/servo-jitter.yaml", "parts/servo.yaml"],
            cycle(SPOILT),
            strict=False,
        )
    ),
)
def test_a_file_that_cannot_be_read_is_told_alone(path: str, text: str) -> None:
    found = check_knowledge({**knowledge_files(), path: text}, boats())
    assert [problem.file for problem in found] == [path]


@pytest.mark.parametrize("path", SHARED)
def test_a_file_that_is_not_there_is_told_alone(path: str) -> None:
    files = {name: text for name, text in knowledge_files().items() if name != path}
    (problem,) = check_knowledge(files, boats())
    assert (
        str(problem)
        == f"{path}:1:1  [missing-file]  there is no such file; put it back, or name another folder"
    )


def test_beside_a_shared_file_that_cannot_be_read_syntax_is_still_told() -> None:
    slips = {"safety.yaml": "x: [", "symptoms/servo-jitter.yaml": "y: [", "parts/lamp.yaml": "z: ["}
    found = check_knowledge({**knowledge_files(), **slips}, boats())
    assert {(problem.file, problem.code) for problem in found} == {(path, "syntax") for path in slips}


def test_problems_of_several_files_come_at_once_and_each_once() -> None:
    files = dict(knowledge_files())
    files["parts/lamp.yaml"] = files["parts/lamp.yaml"].replace("group: light", "group: lights")
    files["safety.yaml"] = files["safety.yaml"].replace("confirm: no", "confirm: never", 1)
    found = check_knowledge(files, boats())
    assert {"parts/lamp.yaml", "safety.yaml"} <= {problem.file for problem in found}
    assert len(found) == len(set(found))


def test_a_book_that_cannot_be_read_says_why() -> None:
    with pytest.raises(KnowledgeError, match=r"parts/x\.yaml:1"):
        open_book({"parts/x.yaml": "kind: x"}, {})
