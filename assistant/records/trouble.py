"""What to tell a person when a file or folder of the cases cannot be used."""

import errno
from pathlib import Path
from typing import Final

from assistant.errors import CaseError

__all__ = ["refusal"]

_OTHER_FOLDER: Final = "name another folder with --cases"
_REASONS: Final = {
    errno.ENOSPC: ("the disk is full", "free some space"),
    errno.EDQUOT: ("your share of the disk is full", "free some space"),
    errno.EFBIG: ("the file may not grow further", "free some space"),
    errno.EROFS: ("it lies where nothing can be written", _OTHER_FOLDER),
    errno.EACCES: ("you may not write there", _OTHER_FOLDER),
    errno.EPERM: ("you may not write there", _OTHER_FOLDER),
    errno.ENOTDIR: ("a part of this path is a file and no folder", _OTHER_FOLDER),
    errno.EEXIST: ("this is a file and no folder", _OTHER_FOLDER),
    errno.ENOENT: ("there is no such case", "`leadline resume` without a name lists the cases"),
}


def refusal(error: OSError, path: Path, safe: str = "", other: str = _OTHER_FOLDER) -> CaseError:
    """Return the error that names the file, the reason and the next step.

    Parameters
    ----------
    error
        What the system said.
    path
        The file or folder.
    safe
        What is recorded all the same, in words.
    other
        How to name another place, where that is the way out.
    """
    plain = (error.strerror or str(error), _OTHER_FOLDER)
    reason, next_step = _REASONS.get(error.errno or 0, plain)
    next_step = other if next_step == _OTHER_FOLDER else next_step
    return CaseError(place=str(path), reason="; ".join(filter(None, (reason, safe))), next_step=next_step)
