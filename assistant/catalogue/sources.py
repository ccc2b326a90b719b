"""The list of sources, and a check that every source cited anywhere in the knowledge is on it.

Entries of the knowledge say in their own words where something comes from ("MIL-HDBK-338B, relay: short 19").
The list gives for each source the texts by which it is cited; a cited text belongs to the source with the
longest of these that it begins with.  So the files keep their words, and the full reference stands in one place.

- ``unlisted-source``: a ``source:`` that begins like no source on the list
- ``unused-source``: a source on the list that is cited nowhere
- ``same-source``: a text by which two sources on the list are cited
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from assistant.documents import (
    Mapping as Fields,
)
from assistant.documents import (
    Mark,
    Node,
    Problems,
    Scalar,
    Sequence,
    choice_of,
    entries_of,
    mapping_fields,
    parse_document,
    text_of,
    texts_of,
)
from assistant.errors import DocumentError, quote

SOURCES_FILE = "sources.yaml"


class SourceKind(StrEnum):
    """What sort of source it is."""

    STANDARD = "standard"
    HANDBOOK = "handbook"
    TEXTBOOK = "textbook"
    DATA_SHEET = "data sheet"
    PAPER = "paper"
    REPORTS = "field reports"
    PRACTICE = "common practice"
    MARKING = "marking"
    COMPUTATION = "own computation"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """A source on the list.

    Attributes
    ----------
    reference : the full reference.
    cited : texts that a citation of it begins with.
    mark : where it stands in the list.
    """

    id: str
    reference: str
    kind: SourceKind
    cited: tuple[str, ...]
    mark: Mark

    def cites(self, text: str) -> bool:
        """Tell whether it is cited anywhere in a text.

        >>> mark = Mark(file="sources.yaml", line=1, column=1)
        >>> book = Reference(id="x", reference="X 1", kind=SourceKind.HANDBOOK, cited=("X 1",), mark=mark)
        >>> book.cites("by practice; open 3 of 10 in X 1"), book.cites("X 12")
        (True, False)
        """
        return any(re.search(_bounded(one), text) for one in self.cited)

    def begins(self, text: str) -> int:
        """Return how many characters of a text's beginning cite it, 0 when none do."""
        return max((len(one) for one in self.cited if re.match(_bounded(one), text)), default=0)


def _bounded(words: str) -> str:
    return rf"(?<!\w){re.escape(words)}(?!\w)"


def read_sources(files: Mapping[str, str], problems: Problems) -> Mapping[str, Reference]:
    """Return the list of sources by id, noting every problem of its form.

    Parameters
    ----------
    files
        Text by path below the knowledge folder.
    problems
        Receives what is wrong.
    """
    root = _parsed(files.get(SOURCES_FILE, ""), SOURCES_FILE, problems) if SOURCES_FILE in files else None
    found: dict[str, Reference] = {}
    by_text: dict[str, str] = {}
    for key, body in entries_of(root, problems):
        fields = mapping_fields(body, (), ("reference", "kind", "cited"), problems)
        kind = choice_of(fields.get("kind"), SourceKind, problems)
        cited = texts_of(fields.get("cited"), problems)
        for text in cited:
            other = by_text.setdefault(text, key.text)
            if other != key.text:
                what = f"{quote(other)} is cited as {quote(text)} too"
                problems.add(key.mark, "same-source", what, "leave the text to one of them")
        if kind is not None:
            found[key.text] = Reference(
                id=key.text,
                reference=text_of(fields.get("reference"), problems) or "",
                kind=kind,
                cited=cited,
                mark=key.mark,
            )
    return MappingProxyType(found)


def source_behind(text: str, sources: Mapping[str, Reference]) -> Reference | None:
    """Return the source that a citation belongs to, or None when it is not on the list."""
    best = max(sources.values(), key=lambda one: one.begins(text), default=None)
    return best if best is not None and best.begins(text) else None


def lint_sources(files: Mapping[str, str], problems: Problems) -> Mapping[str, Reference]:
    """Return the list of sources, noting whatever cites none of them and whatever is never cited.

    Files that cannot be read are passed over; whoever loads them tells why.  While there are such, nothing is said
    to be cited nowhere; while the list itself is one of them, nothing more is said.
    """
    sources = read_sources(files, problems)
    unread = {path for path in files if not isinstance(_parsed(files[path], path, Problems()), Fields)}
    if SOURCES_FILE in unread:
        return sources
    citations = list(citations_in(files))
    for citation in citations:
        if source_behind(citation.text, sources) is None:
            what = f"the source {quote(citation.text, 60)} is not on the list"
            mend = f"begin it like one in {SOURCES_FILE}, or put it on that list"
            problems.add(citation.mark, "unlisted-source", what, mend)
    for one in sources.values():
        if not unread and not any(one.cites(citation.text) for citation in citations):
            what = f"nothing cites {quote(one.id)}"
            problems.add(one.mark, "unused-source", what, "remove it, or mend the texts it is cited by")
    return sources


def citations_in(files: Mapping[str, str]) -> Iterator[Scalar]:
    """Yield every text under a key ``source`` in any knowledge file but the list itself."""
    for path in sorted(files):
        if path != SOURCES_FILE:
            root = _parsed(files[path], path, Problems())
            if root is not None:
                yield from _citations(root)


def _citations(node: Node) -> Iterator[Scalar]:
    match node:
        case Sequence():
            for item in node.items:
                yield from _citations(item)
        case Fields():
            for key, body in node.items:
                if key.text == "source" and isinstance(body, Scalar):
                    yield body
                else:
                    yield from _citations(body)


def _parsed(text: str, path: str, problems: Problems) -> Node | None:
    try:
        return parse_document(text, path)
    except DocumentError as error:
        problems.extend(error.problems)
        return None
