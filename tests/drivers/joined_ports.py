"""Two pseudo-terminals joined like the ends of a cable."""

from __future__ import annotations

import contextlib
import os
import select
import threading
import tty
from collections.abc import Iterator


@contextlib.contextmanager
def joined_ports() -> Iterator[tuple[str, str]]:
    """The paths of two serial ports: what is written to one comes out of the other."""
    ends = [os.openpty() for _ in range(2)]
    wake, waker = os.pipe()
    for master, slave in ends:
        tty.setraw(slave)
        os.set_blocking(master, False)
    masters = [master for master, _ in ends]

    def pump() -> None:
        while True:
            ready, _, _ = select.select([*masters, wake], [], [])
            if wake in ready:
                return
            for source in ready:
                with contextlib.suppress(OSError):
                    os.write(masters[1 - masters.index(source)], os.read(source, 4096))

    thread = threading.Thread(target=pump, daemon=True)
    thread.start()
    try:
        yield os.ttyname(ends[0][1]), os.ttyname(ends[1][1])
    finally:
        os.write(waker, b"x")
        thread.join(5)
        for each in (*ends[0], *ends[1], wake, waker):
            os.close(each)
