"""Every citation belongs to a source on the list, and every source is cited; each rule has a bad fixture."""

import pytest

from assistant.catalogue import lint_sources, read_sources, source_behind
from assistant.documents import Problems
from assistant.errors import Problem
from assistant.records import knowledge_files

LIST = """\
book:
  reference: "A Book, second edition"
  kind: handbook
  cited: [Book]
sheet:
  reference: "Data sheet of a thing"
  kind: data sheet
  cited: [data sheet of a thing, "1 A type"]
"""
PART = """\
values:
  ohm: {default: 1 ohm, source: "Book, table 3"}
faults:
  - {source: "data sheet of a thing; less by Book"}
"""
FILES = {"sources.yaml": LIST, "parts/thing.yaml": PART, "safety.yaml": "x: {source: 1 A type}"}


def found(files: dict[str, str]) -> list[Problem]:
    problems = Problems()
    lint_sources(files, problems)
    return list(problems)


def test_a_good_list_is_clean() -> None:
    assert found(FILES) == []


def test_the_knowledge_of_the_program_is_clean() -> None:
    assert [str(problem) for problem in found(dict(knowledge_files()))] == []


@pytest.mark.parametrize(
    ("file", "old", "new", "code", "where"),
    [
        ("parts/thing.yaml", '"Book, table 3"', '"Books, table 3"', "unlisted-source", '"Books'),
        ("parts/thing.yaml", '"data sheet of a thing', '"sheet of a thing', "unlisted-source", '"sheet of'),
        ("safety.yaml", "1 A type", "11 A type", "unlisted-source", "11 A"),
        ("sources.yaml", "cited: [Book]", "cited: [Bookshelf, Book, Data sheet]", None, ""),
        (
            "sources.yaml",
            "book:",
            "other: {reference: x, kind: paper, cited: [Paper]}\nbook:",
            "unused-source",
            "oth",
        ),
        ("sources.yaml", "cited: [Book]", 'cited: [Book, "1 A type"]', "same-source", "sheet:"),
        ("sources.yaml", "kind: handbook", "kind: novel", "choice", "novel"),
        ("sources.yaml", "reference: ", "referrence: ", "unknown-key", "referrence"),
        ("sources.yaml", "book:", "book: {}\nbook:", "duplicate-key", "book:"),
    ],
)
def test_each_rule_has_a_fixture_that_trips_it_and_names_its_place(
    file: str, old: str, new: str, code: str | None, where: str
) -> None:
    assert old in FILES[file]
    files = FILES | {file: FILES[file].replace(old, new, 1)}
    problems = found(files)
    if code is None:
        assert problems == []
        return
    problem = next(problem for problem in problems if problem.code == code)
    assert problem.file == file
    assert files[file].splitlines()[problem.line - 1][problem.column - 1 :].startswith(where)


def test_without_a_list_every_citation_is_told() -> None:
    files = {name: text for name, text in FILES.items() if name != "sources.yaml"}
    assert [problem.code for problem in found(files)] == ["unlisted-source"] * 3


def test_the_longest_beginning_decides() -> None:
    files = {"sources.yaml": LIST.replace("cited: [Book]", "cited: [Book, data sheet of a]")}
    sources = read_sources(files, Problems())
    citation = source_behind("data sheet of a thing: 3 A", sources)
    assert citation is not None
    assert citation.id == "sheet"
    assert source_behind("somewhere in Book", sources) is None


def test_a_broken_file_leaves_the_rest_checked() -> None:
    files = FILES | {"parts/other.yaml": "a: [", "parts/thing.yaml": PART.replace("Book, t", "Bok, t")}
    assert [problem.code for problem in found(files)] == ["unlisted-source"]
