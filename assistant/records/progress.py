"""Progress of learners: a file of JSON lines for each, which only grows, beside the cases.

The file is locked while a learner is at it. Each line is one write followed by a sync; a last line without its end was
never acknowledged and is left out.
"""

import hashlib
import json
import os
import re
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from assistant.errors import AnswerError, CaseError
from assistant.lessons import Attempt, read_attempt
from assistant.records.journal import APPENDING, write_all
from assistant.records.lock import try_lock
from assistant.records.trouble import refusal

__all__ = ["MAX_PROGRESS_BYTES", "Progress", "ProgressStore", "read_progress"]

MAX_PROGRESS_BYTES: Final = 4 * 1024 * 1024
"""An attempt is some two hundred bytes; a file beyond this is something else."""

_OTHER: Final = "name another folder with --progress"
_SUFFIX: Final = ".progress.jsonl"


class Progress:
    """A learner's progress, open for going on; made by `ProgressStore.open`.

    Use it as a context, or call `close`.
    """

    __slots__ = ("_attempts", "_descriptor", "_path", "_size")

    def __init__(self, path: Path, descriptor: int, attempts: Sequence[Attempt], size: int) -> None:
        self._path = path
        self._descriptor = descriptor
        self._attempts = list(attempts)
        self._size = size

    @property
    def attempts(self) -> Sequence[Attempt]:
        """What was played so far."""
        return tuple(self._attempts)

    def add(self, attempt: Attempt) -> None:
        """Put an attempt at the end; when this returns it is on the disk.

        Raises
        ------
        CaseError
            If it cannot be written. What was kept before is untouched.
        """
        line = _line(attempt)
        try:
            write_all(self._descriptor, line)
        except OSError as error:
            # Should taking it back fail too, the half line stays the last one, and a reader drops it.
            with suppress(OSError):
                os.ftruncate(self._descriptor, self._size)
            self.close()
            raise refusal(error, self._path, other=_OTHER) from error
        self._size += len(line)
        self._attempts.append(attempt)

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


class ProgressStore:
    """The progress files in a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def attempts(self, learner: str) -> Sequence[Attempt]:
        """Return what a learner played so far; nothing for a new one.

        Raises
        ------
        CaseError
            If the file cannot be read, is damaged, or is somebody else's.
        """
        path = self._path(learner)
        if not path.exists():
            return ()
        return _of(learner, read_progress(path), path)

    def open(self, learner: str) -> Progress:
        """Open a learner's progress for this program alone, a new file when there is none.

        A line cut off at the end, as a loss of power leaves it, is removed; the rest counts.

        Raises
        ------
        CaseError
            If the file is open in another program, damaged, somebody else's, or cannot be written.
        """
        path = self._path(learner)
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            descriptor = os.open(path, APPENDING | os.O_CREAT, 0o644)
        except OSError as error:
            raise refusal(error, path, other=_OTHER) from error
        try:
            if not try_lock(descriptor):
                raise CaseError(
                    place=str(path),
                    reason="this learner is at a drill in another program",
                    next_step="go on there, or leave it there first",
                )
            attempts = _of(learner, read_progress(path), path)
            size = len(_whole_lines(path.read_bytes()))
            os.ftruncate(descriptor, size)
        except BaseException as error:
            os.close(descriptor)
            if isinstance(error, OSError):
                raise refusal(error, path, other=_OTHER) from error
            raise
        return Progress(path, descriptor, attempts, size)

    def export(self, learner: str, target: Path) -> None:
        """Write a learner's progress into a new file.

        Raises
        ------
        CaseError
            If there is nothing to write, or no such file can be made.
        """
        attempts = self.attempts(learner)
        if not attempts:
            raise CaseError(
                value=learner, reason="nothing is kept of this learner", next_step="check the name"
            )
        try:
            with target.open("xb") as stream:
                stream.write(b"".join(map(_line, attempts)))
        except FileExistsError as error:
            raise CaseError(
                place=str(target), reason="there is such a file already", next_step="name another"
            ) from error
        except OSError as error:
            raise refusal(error, target, other="name another file") from error

    def _path(self, learner: str) -> Path:
        plain = _plain(learner)
        stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40]
        # The digest keeps names apart that look alike once they are fit for a file.
        return self.folder / f"{stem or 'x'}-{hashlib.sha256(plain.encode()).hexdigest()[:8]}{_SUFFIX}"


def read_progress(path: Path) -> Sequence[Attempt]:
    """Return the attempts in a file, which are all of one learner; a line cut off at the end is left out.

    Raises
    ------
    CaseError
        If it cannot be read, is far too big, or a line of it is damaged; names the line.
    """
    try:
        with path.open("rb") as stream:
            data = stream.read(MAX_PROGRESS_BYTES + 1)
    except OSError as error:
        raise CaseError(
            place=str(path), reason=f"it cannot be read: {error.strerror}", next_step="name another file"
        ) from error
    if len(data) > MAX_PROGRESS_BYTES:
        raise CaseError(place=str(path), reason="far too big for progress", next_step="name another file")
    found: list[Attempt] = []
    for number, line in enumerate(_whole_lines(data).splitlines(), start=1):
        try:
            found.append(read_attempt(json.loads(line.decode("utf-8"))))
        except AnswerError as error:
            raise _damaged(path, number, error.reason) from error
        except (ValueError, RecursionError) as error:
            raise _damaged(path, number, "it is no line of JSON") from error
        if _plain(found[0].learner) != _plain(found[-1].learner):
            raise _damaged(path, number, "it is another learner's")
    return found


def _of(learner: str, attempts: Sequence[Attempt], path: Path) -> Sequence[Attempt]:
    """Return attempts that have to be one learner's."""
    if attempts and _plain(attempts[0].learner) != _plain(learner):
        raise _damaged(path, 1, "it is another learner's")
    return attempts


def _whole_lines(data: bytes) -> bytes:
    return data[: data.rfind(b"\n") + 1]


def _damaged(path: Path, number: int, reason: str) -> CaseError:
    step = "take that line out, or name another file or folder"
    return CaseError(place=f"{path}, line {number}", reason=reason, next_step=step)


def _plain(learner: str) -> str:
    return learner.strip().casefold()


def _line(attempt: Attempt) -> bytes:
    return (json.dumps(attempt.as_json(), ensure_ascii=True, allow_nan=False) + "\n").encode()
