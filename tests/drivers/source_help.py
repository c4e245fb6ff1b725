"""Running a source in a test: collecting its rows until something is so, with waits cut short."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterator

import numpy as np

from drivers.reader import Reader
from drivers.source import Frame, Source
from drivers.timing import Timing

PATIENCE_S = 10.0


def hasty(longest_s: float = 0.01) -> Timing:
    """The real clock, with no wait longer than so many seconds."""
    return Timing(wait=lambda event, seconds: event.wait(min(seconds, longest_s)))


@contextlib.contextmanager
def running(source: Source) -> Iterator[Reader]:
    """The source in its thread; it must stop when asked to."""
    reader = Reader(source).start()
    try:
        yield reader
    finally:
        assert reader.stop(2.0)


def frames_until(reader: Reader, enough: Callable[[list[Frame]], bool]) -> list[Frame]:
    """Frames until there are enough of them."""
    frames: list[Frame] = []
    deadline = time.monotonic() + PATIENCE_S
    while not enough(frames):
        assert time.monotonic() < deadline, (frames[-3:], reader.state, reader.error)
        frames += reader.take(0.1)
        if reader.error:
            raise reader.error
    return frames


def rows(reader: Reader, count: int) -> list[Frame]:
    """So many rows."""
    return frames_until(reader, lambda frames: len(frames) >= count)


def until_state(reader: Reader, phase: str) -> None:
    """Wait until the source is in this phase."""
    deadline = time.monotonic() + PATIENCE_S
    while reader.state.phase != phase:
        assert time.monotonic() < deadline, reader.state
        time.sleep(0.002)


def value(frame: Frame, channel: str) -> float:
    """The last value of a channel in a frame."""
    return float(frame.columns[channel][-1])


def all_missing(frame: Frame) -> bool:
    return all(np.isnan(column).all() for column in frame.columns.values())
