"""Small helpers for tests of serial lines: a line made of a pseudo-terminal, and sources read from it."""

from __future__ import annotations

import os
import time
import tty
from collections.abc import Callable

from drivers.reader import Reader
from drivers.serial_lines.sheet import LineMap
from drivers.source import Frame

WAIT_S = 10.0

FIELDS = """
[[field]]
channel = "load_power"
{load}
unit = "kW"

[[field]]
channel = "battery_soc"
{soc}
"""
NAMED = FIELDS.format(load='name = "load"', soc='name = "soc"')
PLACED = FIELDS.format(load="index = 0", soc="index = 1")


def line_map(layout: str, fields: str, more: str = "", interval_s: float = 0.05) -> LineMap:
    """A map of this format with these fields."""
    return LineMap.parse(f'[line]\nformat = "{layout}"\ninterval_s = {interval_s}\n{more}\n{fields}')


class Line:
    """The device's end of a serial line; `name` is the port that a reader opens."""

    def __init__(self) -> None:
        self._own, self._other = os.openpty()
        tty.setraw(self._other)
        self.name = os.ttyname(self._other)

    def send(self, data: bytes) -> None:
        """Send bytes."""
        os.write(self._own, data)

    def receive(self) -> bytes:
        """What the other end has sent."""
        return os.read(self._own, 1000)

    def close(self) -> None:
        """Pull the plug."""
        os.close(self._own)
        os.close(self._other)


def until(
    reader: Reader, enough: Callable[[list[Frame]], bool], step: Callable[[], None] = lambda: None
) -> list[Frame]:
    """Frames from a running reader until there are enough of them; `step` is done between looks."""
    frames: list[Frame] = []
    ends = time.monotonic() + WAIT_S
    while not enough(frames):
        assert time.monotonic() < ends, (frames, reader.state)
        step()
        frames += reader.take(0.02)
    return frames


def values(frame: Frame) -> dict[str, float]:
    """A frame's only row."""
    return {name: float(column[0]) for name, column in frame.columns.items()}
