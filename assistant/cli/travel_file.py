"""Writing a file for somebody else: whole or not at all, and never over another one unasked."""

import os
from pathlib import Path

from assistant.errors import CaseError
from assistant.records import trouble_with

__all__ = ["write_out"]


def write_out(path: Path, data: bytes, *, force: bool) -> None:
    """Write a file.

    Parameters
    ----------
    path
        Where.
    data
        What is in it.
    force
        Whether a file that is there may be replaced.

    Raises
    ------
    CaseError
        If there is such a file and `force` is not given, or it cannot be written; then nothing has changed.
    """
    # Beside the target, since only within a folder is a file put in its place in one go.
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        if path.is_dir():
            raise CaseError(place=str(path), reason="this is a folder", next_step="name a file with --to")
        with beside.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if force:
            beside.replace(path)
        else:
            _put(beside, path)
    except FileExistsError as error:
        raise CaseError(
            place=str(path),
            reason="there is such a file already",
            next_step="add --force, or name another with --to",
        ) from error
    except OSError as error:
        raise trouble_with(error, path, other="name another file with --to") from error
    finally:
        beside.unlink(missing_ok=True)


def _put(beside: Path, path: Path) -> None:
    """Give a finished file its name, unless there is one of that name."""
    try:
        path.hardlink_to(beside)
    except FileExistsError:
        raise
    except OSError:
        # Some file systems have no links: then the name is taken first, and what is there stays ours.
        with path.open("xb"):
            pass
        beside.replace(path)
