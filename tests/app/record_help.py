"""`headrace record` as a process of its own, beside a serial line that a test feeds."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
import tty
from collections.abc import Callable
from pathlib import Path
from types import TracebackType

WAIT_S = 30.0
MAP = """
[line]
format = "pairs"
checksum = "xor"
interval_s = 0.02

[[field]]
channel = "load_power"
name = "number"

[[field]]
channel = "battery_soc"
name = "rest"
"""


def start(*arguments: object, **options: object) -> subprocess.Popen[str]:
    """A `headrace` that runs."""
    command = [sys.executable, "-m", "desktop.app", *map(str, arguments)]
    options = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **options}
    return subprocess.Popen(command, text=True, **options)


def wait_for(true: Callable[[], bool]) -> None:
    """Wait until something is so."""
    ends = time.monotonic() + WAIT_S
    while not true():
        assert time.monotonic() < ends
        time.sleep(0.01)


def line_of(number: int) -> bytes:
    """A line by which a row can be told to be right: the load is a number, the charge follows from it."""
    text = b"number=%d rest=%d" % (number, number % 97)
    total = 0
    for byte in text:
        total ^= byte
    return b"$%s*%02X\r\n" % (text, total)


class Feeder:
    """Lines with rising numbers on several pseudo-terminals, fifty times a second. Use as a context manager.

    ports  the devices to read from
    sent   when (monotonic s) each number was sent
    """

    def __init__(self, folder: Path, lines: int = 1) -> None:
        self._pairs = [os.openpty() for _ in range(lines)]
        for own, other in self._pairs:
            tty.setraw(other)
            os.set_blocking(own, False)
        (folder / "line.toml").write_text(MAP)
        names = [os.ttyname(other) for _, other in self._pairs]
        self.sources = [f"serial://{name}?map={folder / 'line.toml'}" for name in names]
        self.sent: list[float] = []
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._feed)

    def __enter__(self) -> Feeder:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._over.set()
        self._thread.join()
        for ends in self._pairs:
            for end in ends:
                os.close(end)

    def _feed(self) -> None:
        while not self._over.wait(0.02):
            line = line_of(len(self.sent))
            self.sent.append(time.monotonic())
            for own, _ in self._pairs:
                try:
                    os.write(own, line)
                except BlockingIOError:
                    # Nobody reads here at present.
                    continue
