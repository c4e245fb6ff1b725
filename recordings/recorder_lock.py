"""Taking a file for one writer alone, as long as it has the file open; a killed writer leaves nothing behind."""

from __future__ import annotations

import errno
import os
import sys

from recordings.errors import WriteError


class TakenError(WriteError):
    """Somebody else is recording to the file."""


if sys.platform == "win32":
    import msvcrt

    _FAR = 0x7FFFFFFE
    """A byte that is locked in place of the file: readers, who come near it in no recording, are left alone."""

    def locked(handle: int) -> bool:
        """Take an open file. False where somebody has it; True too where its file system has no locks."""
        os.lseek(handle, _FAR, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            return error.errno not in (errno.EACCES, errno.EDEADLK)
        return True

else:
    import fcntl

    def locked(handle: int) -> bool:
        """Take an open file. False where somebody has it; True too where its file system has no locks."""
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            return error.errno not in (errno.EAGAIN, errno.EACCES)
        return True
