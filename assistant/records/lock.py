"""One program at a time on one file.

The lock belongs to the open file, so the system takes it away when the program ends in whatever way, and no
stale lock can be left behind.
"""

import errno
import sys
from typing import Final

__all__ = ["try_lock"]

# Shared storage of some phones and network folders has no locks; a lock is a help, not a condition.
_NO_LOCKS: Final = frozenset({errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP, errno.ENOTSUP})

if sys.platform == "win32":
    import msvcrt
    import os

    # Locked bytes cannot be read by others on this system, so the lock lies far behind any content.
    _FAR_BEHIND: Final = 1 << 40

    def try_lock(descriptor: int) -> bool:
        """Lock an open file for this program alone; False when another program has it."""
        os.lseek(descriptor, _FAR_BEHIND, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            return error.errno in _NO_LOCKS
        finally:
            os.lseek(descriptor, 0, os.SEEK_SET)
        return True

else:
    import fcntl

    def try_lock(descriptor: int) -> bool:
        """Lock an open file for this program alone; False when another program has it."""
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            return error.errno in _NO_LOCKS
        return True
