"""Collecting what is wrong with a file, so that its author hears everything at once."""

from collections.abc import Iterable, Iterator
from enum import StrEnum

from assistant.documents.node import Mark
from assistant.errors import AuthorError, Problem

__all__ = ["Code", "Problems"]


class Code(StrEnum):
    """The sorts of problem that reading a document can find."""

    ALIAS = "alias"
    ANCHOR = "anchor"
    CHARACTER = "character"
    CHOICE = "choice"
    DIRECTIVE = "directive"
    DUPLICATE_KEY = "duplicate-key"
    EMPTY = "empty"
    KEY_KIND = "key-kind"
    LONG_LINE = "long-line"
    MANY_DOCUMENTS = "many-documents"
    MERGE_KEY = "merge-key"
    MISSING_KEY = "missing-key"
    QUANTITY = "quantity"
    SYNTAX = "syntax"
    TAB = "tab"
    TAG = "tag"
    TOO_BIG = "too-big"
    TOO_DEEP = "too-deep"
    TOO_MANY_NODES = "too-many-nodes"
    UNKNOWN_KEY = "unknown-key"
    WRONG_KIND = "wrong-kind"


class Problems:
    """A growing list of problems; true when there are any, iterated in the order of place."""

    def __init__(self, found: Iterable[Problem] = ()) -> None:
        self._found = list(found)

    def add(self, mark: Mark, code: str, what: str, mend: str) -> None:
        """Note one problem.

        Parameters
        ----------
        mark
            Where it is.
        code
            Its sort: a `Code`, or the short name a later layer gives it.
        what, mend
            What is wrong, and what to write instead.
        """
        self._found.append(
            Problem(file=mark.file, line=mark.line, column=mark.column, code=str(code), what=what, mend=mend)
        )

    def extend(self, problems: Iterable[Problem]) -> None:
        """Note problems found elsewhere."""
        self._found.extend(problems)

    def __len__(self) -> int:
        return len(self._found)

    def __iter__(self) -> Iterator[Problem]:
        return iter(sorted(self._found))

    def raise_if_any(self, error: type[AuthorError]) -> None:
        """Raise `error` with all problems, if there are any."""
        if self._found:
            raise error(problems=self)
