"""Frames of a source, joined to rows that are added at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drivers.source import Frame

Times = NDArray[np.int64]
Values = NDArray[np.float32]


def joined(frames: Sequence[Frame], after: int | None) -> tuple[Times, dict[str, Values]]:
    """(n,) times and channel → (n,) values of all frames; NaN where a frame lacks a channel.

    after  the last time before, UTC nanoseconds; rows that aren't later than what came before are left out: a
           local clock may be set back, and the first word stands
    """
    time = np.concatenate([frame.time for frame in frames])
    names = dict.fromkeys(name for frame in frames for name in frame.columns)
    columns = {
        name: np.concatenate([_column(frame, name) for frame in frames]).astype(np.float32, copy=False)
        for name in names
    }
    highest = np.maximum.accumulate(time)
    first = np.iinfo(np.int64).min if after is None else after
    later = time > np.maximum(np.concatenate(([first], highest[:-1])), first)
    if later.all():
        return time, columns
    return time[later], {name: values[later] for name, values in columns.items()}


def _column(frame: Frame, name: str) -> Values:
    values = frame.columns.get(name)
    return np.full(len(frame.time), np.nan, np.float32) if values is None else values
