"""Progress of learners: a file of JSON lines for each, which only grows, beside the cases."""

import hashlib
import json
import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from assistant.errors import AnswerError, CaseError
from assistant.lessons import Attempt, read_attempt
from assistant.records.trouble import refusal

__all__ = ["MAX_PROGRESS_BYTES", "ProgressStore", "read_progress"]

MAX_PROGRESS_BYTES: Final = 4 * 1024 * 1024
"""An attempt is some two hundred bytes; a file beyond this is something else."""

_OTHER: Final = "name another folder with --progress"
_SUFFIX: Final = ".progress.jsonl"


class ProgressStore:
    """The progress files in a folder, made with the first attempt."""

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
        found = read_progress(path)
        for number, one in enumerate(found, start=1):
            if _plain(one.learner) != _plain(learner):
                raise _damaged(path, number, "it is another learner's")
        return found

    def add(self, attempt: Attempt) -> None:
        """Put an attempt at the end of its learner's file; when this returns it is on the disk.

        Raises
        ------
        CaseError
            If it cannot be written.
        """
        path = self._path(attempt.learner)
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            with path.open("ab") as stream:
                stream.write(_line(attempt))
                stream.flush()
                os.fsync(stream.fileno())
        except OSError as error:
            raise refusal(error, path, other=_OTHER) from error

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
    """Return the attempts in a file, which are all of one learner.

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
    for number, line in enumerate(data.splitlines(), start=1):
        try:
            found.append(read_attempt(json.loads(line.decode("utf-8"))))
        except AnswerError as error:
            raise _damaged(path, number, error.reason) from error
        except (ValueError, RecursionError) as error:
            raise _damaged(path, number, "it is no line of JSON") from error
        if _plain(found[0].learner) != _plain(found[-1].learner):
            raise _damaged(path, number, "it is another learner's")
    return found


def _damaged(path: Path, number: int, reason: str) -> CaseError:
    step = "take that line out, or name another file or folder"
    return CaseError(place=f"{path}, line {number}", reason=reason, next_step=step)


def _plain(learner: str) -> str:
    return learner.strip().casefold()


def _line(attempt: Attempt) -> bytes:
    return (json.dumps(attempt.as_json(), ensure_ascii=True, allow_nan=False) + "\n").encode()
