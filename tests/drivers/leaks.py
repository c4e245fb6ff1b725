"""Counting what a test must leave behind as it found it: threads, and open sockets and ports."""

from __future__ import annotations

import contextlib
import gc
import os
import threading
import time
from collections.abc import Iterator


def open_files() -> int:
    return len(os.listdir("/proc/self/fd")) if os.path.isdir("/proc/self/fd") else 0


@contextlib.contextmanager
def nothing_left_behind() -> Iterator[None]:
    """Assert that as many threads run and files are open afterwards as before."""
    gc.collect()
    threads, files = set(threading.enumerate()), open_files()
    yield
    deadline = time.monotonic() + 3
    while time.monotonic() < deadline:
        gc.collect()
        more = [each for each in threading.enumerate() if each not in threads]
        if not more and open_files() <= files:
            return
        time.sleep(0.01)
    assert not more, more
    assert open_files() <= files
