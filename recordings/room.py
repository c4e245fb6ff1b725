"""Where the columns of a growing table lie: in memory, or in files of which memory holds what is looked at."""

from __future__ import annotations

import contextlib
import ctypes
import mmap
import os
import sys
import tempfile
import threading
from pathlib import Path
from typing import IO, Any, Protocol
from weakref import WeakSet

import numpy as np
from numpy.typing import NDArray

_ZEROS = bytes(1 << 20)
_LEAST_BYTES = 1 << 16
"""What is smaller than this isn't worth a file."""


class Room(Protocol):
    """Gives columns more room."""

    def longer(self, store: NDArray[Any], rows: int, room: int) -> NDArray[Any]:
        """A column of `room` values that begins with the first `rows` of `store`; the rest is undefined.

        `store` must not be written to any more; what was sliced off it can be read on.
        """
        ...


class InMemory:
    """Columns as plain arrays."""

    def longer(self, store: NDArray[Any], rows: int, room: int) -> NDArray[Any]:
        """As `Room.longer`: copies."""
        longer = np.empty(room, store.dtype)
        longer[:rows] = store[:rows]
        return longer


IN_MEMORY = InMemory()


class Spool:
    """Columns as mapped files, so that a recording of weeks needs no more memory than what is looked at.

    The files have no names: whatever becomes of the program, nothing of them is left. Where no more can be
    written (the disk is full), columns go on in memory. For any threads.

    folder  where the files lie; None for the user's own folder for such data, else the system's
    """

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder if folder is not None else _usual_folder()
        self._lock = threading.Lock()
        self._files: dict[int, tuple[NDArray[Any], IO[bytes]]] = {}
        self._maps: WeakSet[mmap.mmap] = WeakSet()

    def longer(self, store: NDArray[Any], rows: int, room: int) -> NDArray[Any]:
        """As `Room.longer`: the file grows, nothing is copied."""
        if room * store.dtype.itemsize < _LEAST_BYTES:
            return IN_MEMORY.longer(store, rows, room)
        with self._lock:
            known = self._files.pop(id(store), None)
            try:
                file = known[1] if known is not None else self._new_file()
                longer = self._mapped(file, store.dtype, room)
            except OSError:
                return IN_MEMORY.longer(store, rows, room)
            if known is None:
                longer[:rows] = store[:rows]
            # Held here, the array's id can't become another's.
            self._files[id(longer)] = (longer, file)
        return longer

    def release(self) -> None:
        """Let go of the memory that mapped columns take, and of what was freed; files are read where needed."""
        _give_back()
        if not hasattr(mmap, "MADV_DONTNEED"):
            return
        with self._lock:
            for mapped in list(self._maps):
                mapped.madvise(mmap.MADV_DONTNEED)

    def close(self) -> None:
        """No column grows any more."""
        with self._lock:
            for _, file in self._files.values():
                file.close()
            self._files.clear()

    def _new_file(self) -> IO[bytes]:
        return tempfile.TemporaryFile(dir=self._folder, prefix="headrace-")

    def _mapped(self, file: IO[bytes], dtype: np.dtype[Any], room: int) -> NDArray[Any]:
        size = max(1, room) * dtype.itemsize
        _allocate(file, size)
        mapped = mmap.mmap(file.fileno(), size)
        self._maps.add(mapped)
        return np.frombuffer(mapped, dtype, count=room)


def _give_back() -> None:
    """Hand memory that was freed back to the system, where the C library keeps it (glibc does)."""
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None) if sys.platform == "linux" else None
    if trim is not None:
        trim(0)


def _allocate(file: IO[bytes], size: int) -> None:
    """Make sure that the disk has it: a full disk must be told now, not when a mapped page is written."""
    have = os.fstat(file.fileno()).st_size
    if size <= have:
        return
    if hasattr(os, "posix_fallocate"):
        os.posix_fallocate(file.fileno(), have, size - have)
        return
    file.seek(have)
    while have < size:
        have += file.write(_ZEROS[: min(len(_ZEROS), size - have)])
    file.flush()


def _usual_folder() -> Path | None:
    """The user's folder for data that can be made again; None for the system's folder for temporary files.

    That one often lies in memory itself.
    """
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
    elif sys.platform == "darwin":
        base = os.path.expanduser("~/Library/Caches")
    else:
        base = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
    if not base:
        return None
    folder = Path(base) / "headrace"
    with contextlib.suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        if os.access(folder, os.W_OK):
            return folder
    return None
