"""What the knowledge holds, an entry a line, and finding an entry by what somebody types."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from assistant.documents import suggestion
from assistant.errors import AnswerError
from assistant.manual.book import Book


class Sort(StrEnum):
    """The sorts of entry, in the order they are listed."""

    SYMPTOM = "symptom"
    PART = "part kind"
    LESSON = "lesson"
    CAUTION = "caution"
    WORD = "word"
    SOURCE = "source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One entry: its sort, the id to ask for it by, and what it is in one line."""

    sort: Sort
    id: str
    about: str


def entries_of(book: Book) -> Iterator[Entry]:
    """Yield all entries, sort by sort."""
    knowledge = book.knowledge
    for graph in knowledge.symptoms.values():
        yield Entry(sort=Sort.SYMPTOM, id=graph.id, about=graph.title)
    for kind in book.catalogue.kinds.values():
        yield Entry(sort=Sort.PART, id=kind.name, about=kind.about)
    for lesson in knowledge.lessons.values():
        yield Entry(sort=Sort.LESSON, id=lesson.id, about=lesson.title)
    for caution in knowledge.cautions.values():
        yield Entry(sort=Sort.CAUTION, id=caution.id, about=caution.text)
    for term in knowledge.terms.values():
        yield Entry(sort=Sort.WORD, id=term.word, about=term.means)
    for source in book.sources.values():
        yield Entry(sort=Sort.SOURCE, id=source.id, about=source.reference)


def find_entry(book: Book, typed: str) -> Entry:
    """Return the entry that is meant: by its id, or by the start of just one.

    Raises
    ------
    AnswerError
        If there is none, or more than one.
    """
    word = "-".join(typed.casefold().split())
    entries = list(entries_of(book))
    # A word of the trade may be called like a part kind; the part kind, which comes first, says more.
    exact = [entry for entry in entries if _plain(entry.id) == word][:1]
    found = exact or [entry for entry in entries if word and _plain(entry.id).startswith(word)]
    if len(found) == 1:
        return found[0]
    if found:
        names = ", ".join(entry.id for entry in found[:6])
        raise AnswerError(value=typed, reason="more than one entry could be meant", next_step=f"type {names}")
    close = suggestion(word, [_plain(entry.id) for entry in entries])
    mend = close if close.startswith("did you") else "leadline knowledge list tells what there is"
    raise AnswerError(value=typed, reason="there is no such entry", next_step=mend)


def _plain(name: str) -> str:
    return "-".join(name.casefold().split())
