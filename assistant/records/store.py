"""The folder of cases: new ones get a name of their own, recorded ones are found by what a person types.

A case is named after its boat, the day and a number: ``dabchick-2025-06-14-1``. The name is taken by
creating the file, so two programs that begin a case at the same moment get two names.
"""

import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from platformdirs import user_data_path

from assistant.documents import nearest
from assistant.errors import CaseError
from assistant.records.journal import (
    Journal,
    create_case,
    create_journal,
    open_journal,
    read_bytes,
    read_case,
    remove_case,
)
from assistant.records.lines import Contents, Header, read_contents
from assistant.records.parcel import Parcel
from assistant.records.trouble import refusal

__all__ = ["CaseStore", "Summary", "default_folder"]

_SUFFIX: Final = ".case.jsonl"
_NAME: Final = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,78}[a-z0-9])?")
_LONGEST_BOAT: Final = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """A line of the list of cases.

    Attributes
    ----------
    name : name of the case.
    contents : what it holds; absent when it cannot be read.
    trouble : why it cannot be read; empty when it can.
    last : date and time of its last line.
    """

    name: str
    contents: Contents | None
    trouble: str
    last: str

    @property
    def is_open(self) -> bool:
        """Whether the hunt can be gone on with and has not come to an end."""
        return self.contents is not None and self.contents.closing is None


class CaseStore:
    """The cases in a folder.

    Parameters
    ----------
    folder
        Where they lie; made with the first case.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def begin(self, header: Header) -> tuple[str, Journal]:
        """Begin a case and return its name and its open journal.

        Raises
        ------
        CaseError
            If the folder cannot be made or written.
        """
        self._make_folder()
        for name in _names_for(header):
            try:
                return name, create_journal(self._path(name), header)
            except FileExistsError:
                continue
        raise AssertionError  # the names have no end

    def add(self, parcel: Parcel, wanted: str = "") -> tuple[str, bool]:
        """Add a case from elsewhere under a name of its own; return the name, and whether it is new here.

        Parameters
        ----------
        parcel
            The case, checked.
        wanted
            Name to give it if it is one of this boat and day and still free.

        Raises
        ------
        CaseError
            If the folder cannot be made or written.
        """
        self._make_folder()
        stem = _stem(parcel.contents.header)
        mine = [name for name in self.names() if name.startswith(stem)]
        same = next((name for name in mine if self._is(name, parcel.data)), None)
        if same is not None:
            return same, False
        first = [wanted] if re.fullmatch(rf"{re.escape(stem)}-[1-9][0-9]{{0,5}}", wanted) else []
        for name in itertools.chain(first, _names_for(parcel.contents.header)):
            try:
                create_case(self._path(name), parcel.data)
            except FileExistsError:
                continue
            return name, True
        raise AssertionError  # the names have no end

    def data_of(self, name: str) -> bytes:
        """Return a case as it travels: its complete lines.

        Raises
        ------
        CaseError
            If it is missing or damaged.
        """
        path = self._path(name)
        try:
            data = read_bytes(path)
        except OSError as error:
            raise refusal(error, path) from error
        return data[: read_contents(data, str(path)).size]

    def remove(self, name: str) -> None:
        """Remove a case for good.

        Raises
        ------
        CaseError
            If it is missing, open in another program, or cannot be removed.
        """
        remove_case(self._path(name))

    def _make_folder(self) -> None:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise refusal(error, self.folder) from error

    def _is(self, name: str, data: bytes) -> bool:
        try:
            return self.data_of(name) == data
        except CaseError:
            return False  # a damaged one is not the same

    def open(self, name: str) -> Journal:
        """Open a case to go on with it.

        Raises
        ------
        CaseError
            If it is missing, damaged, open in another program, or cannot be written.
        """
        return open_journal(self._path(name))

    def read(self, name: str) -> Contents:
        """Return what a case holds.

        Raises
        ------
        CaseError
            If it is missing or damaged.
        """
        return read_case(self._path(name))

    def names(self) -> tuple[str, ...]:
        """Return the names of all cases, in order.

        Raises
        ------
        CaseError
            If the folder cannot be read.
        """
        try:
            files = [entry.name for entry in self.folder.iterdir() if entry.name.endswith(_SUFFIX)]
        except FileNotFoundError:
            return ()
        except OSError as error:
            raise refusal(error, self.folder) from error
        found = (name.removesuffix(_SUFFIX) for name in files)
        return tuple(sorted(name for name in found if _NAME.fullmatch(name)))

    def summaries(self) -> tuple[Summary, ...]:
        """Return all cases, the one last worked on first; damaged ones come last, with their trouble.

        Raises
        ------
        CaseError
            If the folder cannot be read.
        """
        return tuple(sorted(map(self._summary, self.names()), key=lambda case: case.last, reverse=True))

    def name_of(self, typed: str) -> str:
        """Return the name of the case that a person means.

        Parameters
        ----------
        typed
            A name, or the beginning or any part of one that only one case has.

        Raises
        ------
        CaseError
            If no case or more than one is meant.
        """
        names = self.names()
        word = typed.strip().casefold()
        for fits in (str.__eq__, str.startswith, str.__contains__):
            found = [name for name in names if fits(name, word)]
            if len(found) == 1:
                return found[0]
            if found and word:
                raise CaseError(
                    value=typed,
                    place=str(self.folder),
                    reason=f"this could be {' or '.join(found[:4])}",
                    next_step="type more of the name",
                )
        close = nearest(word, names, 3)
        raise CaseError(
            value=typed,
            place=str(self.folder),
            reason="there is no such case",
            next_step=f"did you mean {' or '.join(close)}?" if close else "`leadline find` begins one",
        )

    def _path(self, name: str) -> Path:
        if not _NAME.fullmatch(name):
            raise CaseError(
                value=name,
                reason="this is no name of a case",
                next_step="use letters, digits and dashes, as in dabchick-2025-06-14-1",
            )
        return self.folder / f"{name}{_SUFFIX}"

    def _summary(self, name: str) -> Summary:
        try:
            contents = self.read(name)
        except CaseError as error:
            return Summary(name=name, contents=None, trouble=str(error), last="")
        times = [entry.get("at") for entry in contents.entries[-1:]]
        last = contents.closing.at if contents.closing else str((times or [contents.header.started])[0])
        return Summary(name=name, contents=contents, trouble="", last=last)


def default_folder() -> Path:
    """Return the folder for cases in the person's own data."""
    return user_data_path("leadline", appauthor=False) / "cases"


def _stem(header: Header) -> str:
    return f"{_plain(header.boat)}-{_plain(header.started[:10])}"


def _names_for(header: Header) -> Iterator[str]:
    return (f"{_stem(header)}-{number}" for number in itertools.count(1))


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.casefold())[:_LONGEST_BOAT].strip("-") or "boat"
