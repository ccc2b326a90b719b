"""All of the knowledge in one hand, and the check that goes over all of it at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from assistant.catalogue import Catalogue, Reference, lint_sources, load_catalogue, read_sources
from assistant.catalogue.sources import SOURCES_FILE
from assistant.dialogue import Knowledge, lint_knowledge, load_knowledge
from assistant.dialogue.glossary import WORDS_FILE
from assistant.dialogue.load import CAUTIONS_FILE, HOWS_FILE, read_knowledge
from assistant.documents import Mark, Problems
from assistant.errors import KnowledgeError, Problem
from assistant.lessons import lint_lessons

PARTS = "parts/"
SHARED = (CAUTIONS_FILE, HOWS_FILE, SOURCES_FILE, WORDS_FILE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """Part kinds, symptoms with all that belongs to them, and sources; `boats` are the example boats' texts."""

    catalogue: Catalogue
    knowledge: Knowledge
    sources: Mapping[str, Reference]
    boats: Mapping[str, str]


def open_book(files: Mapping[str, str], boats: Mapping[str, str]) -> Book:
    """Return the knowledge, read.

    Parameters
    ----------
    files
        Text by path below the knowledge folder.
    boats
        Wiring description of each example boat, by name.

    Raises
    ------
    KnowledgeError
        With the problems of what cannot be read.
    """
    problems = Problems()
    sources = read_sources(files, problems)
    problems.raise_if_any(KnowledgeError)
    return Book(
        catalogue=load_catalogue(_parts(files)),
        knowledge=load_knowledge(files),
        sources=sources,
        boats=boats,
    )


def check_knowledge(files: Mapping[str, str], boats: Mapping[str, str]) -> tuple[Problem, ...]:
    """Return all that is wrong with the knowledge, each problem once, in the order of place.

    What depends on the part kinds, or on a file that all others speak of, is looked at once these can be read.

    Parameters
    ----------
    files, boats
        See `open_book`.
    """
    problems = Problems()
    for path in SHARED:
        if path not in files:
            mark = Mark(file=path, line=1, column=1)
            problems.add(mark, "missing-file", "there is no such file", "put it back, or name another folder")
    if problems:
        return tuple(problems)
    lint_sources(files, problems)
    try:
        catalogue = load_catalogue(_parts(files))
    except KnowledgeError as error:
        problems.extend(error.problems)
        try:
            load_knowledge(files)
        except KnowledgeError as other:
            problems.extend(other.problems)
        return _once(problems)
    problems.extend(lint_knowledge(files, catalogue))
    lessons = read_knowledge(files, Problems()).lessons
    problems.extend(lint_lessons(lessons.values(), catalogue, boats))
    return _once(problems)


def _parts(files: Mapping[str, str]) -> Mapping[str, str]:
    return {path: text for path, text in files.items() if path.startswith(PARTS)}


def _once(problems: Problems) -> tuple[Problem, ...]:
    return tuple(dict.fromkeys(problems))
