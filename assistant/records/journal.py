"""An open case: answers go to the disk before anything is made of them.

The file is locked while it is open and only ever grows. Each line is one write followed by a sync, and a
write that fails is taken back, so that the file always ends where the last acknowledged answer ends.
"""

import os
import stat
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from assistant.errors import CaseError
from assistant.records.lines import Closing, Contents, Header, Remark, encode, read_contents
from assistant.records.lock import try_lock
from assistant.records.trouble import refusal

__all__ = [
    "APPENDING",
    "MAX_BYTES",
    "Journal",
    "create_case",
    "create_journal",
    "open_journal",
    "read_bytes",
    "read_case",
    "remove_case",
    "write_all",
]

MAX_BYTES: Final = 16 * 1024 * 1024
"""A case is some kilobytes; a file beyond this is something else."""

APPENDING: Final = os.O_RDWR | os.O_APPEND | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)
"""How a file that only grows is opened."""


class Journal:
    """A case that is open for recording; made by `create_journal` and `open_journal`.

    Use it as a context, or call `close`.
    """

    __slots__ = ("_contents", "_descriptor", "_path")

    def __init__(self, path: Path, descriptor: int, contents: Contents) -> None:
        self._path = path
        self._descriptor = descriptor
        self._contents = contents

    @property
    def header(self) -> Header:
        """What the case was begun with."""
        return self._contents.header

    @property
    def entries(self) -> tuple[Mapping[str, object], ...]:
        """What is recorded of the answers so far."""
        return self._contents.entries

    @property
    def closing(self) -> Closing | None:
        """How the case ended, if it did."""
        return self._contents.closing

    def append(self, entry: Mapping[str, object]) -> None:
        """Record an answer; when this returns it is on the disk.

        Raises
        ------
        CaseError
            If it could not be written. What was recorded before is untouched.
        """
        self._write(entry)

    def finish(self, closing: Closing) -> None:
        """Record how the case ended; a later `append` opens it again.

        Raises
        ------
        CaseError
            If it could not be written. What was recorded before is untouched.
        """
        self._write(closing)

    def remark(self, remark: Remark) -> None:
        """Record something beside the dialogue; it neither opens nor ends the case.

        Raises
        ------
        CaseError
            If it could not be written. What was recorded before is untouched.
        """
        self._write(remark)

    def close(self) -> None:
        """Give the file back; harmless when done already."""
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _write(self, content: Mapping[str, object] | Closing | Remark) -> None:
        held = self._contents
        line = encode(content, held.check)
        try:
            write_all(self._descriptor, line.data)
        except OSError as error:
            self._take_back(held.size)
            raise refusal(error, self._path, f"the {len(self.entries)} answers before are safe") from error
        grown = replace(held, size=held.size + len(line.data), check=line.check)
        match content:
            case Closing():
                self._contents = replace(grown, closing=content)
            case Remark():
                self._contents = replace(grown, remarks=(*held.remarks, content))
            case _:
                self._contents = replace(grown, entries=(*held.entries, content), closing=None)

    def _take_back(self, size: int) -> None:
        try:
            os.ftruncate(self._descriptor, size)
        except OSError:
            # The half line stays the last one: nothing may follow it in this run, and a reader drops it.
            self.close()


def create_journal(path: Path, header: Header) -> Journal:
    """Begin a case in a new file.

    Raises
    ------
    FileExistsError
        If there is such a file already; it is left alone.
    CaseError
        If it cannot be written.
    """
    line = encode(header)
    descriptor = _create(path, line.data)
    contents = Contents(header=header, entries=(), closing=None, size=len(line.data), check=line.check)
    return Journal(path, descriptor, contents)


def create_case(path: Path, data: bytes) -> None:
    """Write a whole recorded case into a new file.

    Raises
    ------
    FileExistsError
        If there is such a file already; it is left alone.
    CaseError
        If it cannot be written; then there is no such file.
    """
    os.close(_create(path, data))


def _create(path: Path, data: bytes) -> int:
    """Make a new file that holds `data`, locked, and return its open descriptor."""
    try:
        descriptor = os.open(path, APPENDING | os.O_CREAT | os.O_EXCL, 0o644)
    except FileExistsError:
        raise  # the caller's to solve: another name
    except OSError as error:
        raise refusal(error, path) from error
    # Nobody else can have the lock for longer than a look: the name did not exist a moment ago.
    try_lock(descriptor)
    try:
        write_all(descriptor, data)
        _sync_folder(path.parent)
    except OSError as error:
        os.close(descriptor)
        path.unlink(missing_ok=True)
        raise refusal(error, path) from error
    return descriptor


def remove_case(path: Path) -> None:
    """Remove a case for good.

    Raises
    ------
    CaseError
        If it is missing, open in another program, or cannot be removed.
    """
    try:
        descriptor = os.open(path, APPENDING)
        try:
            if not try_lock(descriptor):
                raise _open_elsewhere(path)
            path.unlink()
        finally:
            os.close(descriptor)
        _sync_folder(path.parent)
    except OSError as error:
        raise refusal(error, path) from error


def _open_elsewhere(path: Path) -> CaseError:
    return CaseError(
        place=str(path),
        reason="this case is open in another program",
        next_step="go on there, or leave it there first",
    )


def open_journal(path: Path) -> Journal:
    """Open a recorded case to go on with it; a line cut off at the end is removed.

    Raises
    ------
    CaseError
        If it is missing, damaged, open in another program, or cannot be written.
    """
    try:
        descriptor = os.open(path, APPENDING)
    except OSError as error:
        raise refusal(error, path) from error
    try:
        if not try_lock(descriptor):
            raise _open_elsewhere(path)
        contents = read_contents(_read_all(descriptor, path), str(path))
        os.ftruncate(descriptor, contents.size)
    except BaseException as error:
        os.close(descriptor)
        if isinstance(error, OSError):
            raise refusal(error, path) from error
        raise
    return Journal(path, descriptor, contents)


def read_case(path: Path) -> Contents:
    """Return what a recorded case holds, without locking or changing it.

    Raises
    ------
    CaseError
        If it is missing or damaged.
    """
    try:
        return read_contents(read_bytes(path), str(path))
    except OSError as error:
        raise refusal(error, path) from error


def read_bytes(path: Path) -> bytes:
    """Return the bytes of a file that may be a case.

    Raises
    ------
    CaseError
        If it is no plain file, or far too big.
    OSError
        If it cannot be read.
    """
    # A pipe would otherwise be waited for, for ever.
    descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0))
    try:
        return _read_all(descriptor, path)
    finally:
        os.close(descriptor)


def write_all(descriptor: int, data: bytes) -> None:
    """Write bytes into an open file, and see them on the disk.

    Raises
    ------
    OSError
        If they cannot be written.
    """
    left = memoryview(data)
    while left:
        left = left[os.write(descriptor, left) :]
    os.fsync(descriptor)


def _read_all(descriptor: int, path: Path) -> bytes:
    if not stat.S_ISREG(os.fstat(descriptor).st_mode):
        raise CaseError(place=str(path), reason="this is no plain file", next_step="name a case")
    pieces, size = [], 0
    # A file that is being written may be longer than it said it was.
    while piece := os.read(descriptor, MAX_BYTES):
        pieces.append(piece)
        size += len(piece)
        if size > MAX_BYTES:
            raise CaseError(
                place=str(path), reason="this file is far too big for a case", next_step="name a case"
            )
    return b"".join(pieces)


def _sync_folder(folder: Path) -> None:
    """Make the new name itself last; a system that cannot sync a folder keeps names safe by itself."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
