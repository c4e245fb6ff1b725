"""Small helpers for tests of the recorder."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from recordings.recorder import Recorder
from recordings.recording import Recording
from recordings.tables import read_table

SECOND = 10**9
NOON = 1771077600 * SECOND
"""2026-02-14 14:00:00 UTC."""


class Clock:
    """A monotonic clock that a test moves."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def __call__(self) -> float:
        return self.seconds


def record(target: Path, start: int, values: list[float], **options: object) -> list[Path]:
    """Record one row per second from NOON + start s, with these loads; the files written."""
    with Recorder(target, **options) as recorder:
        for place, value in enumerate(values):
            recorder.append(
                [NOON + (start + place) * SECOND], {"load_power": [value], "battery_soc": [50 + place]}
            )
    return recorder.paths


def loads(path: Path) -> list[float]:
    """The loads in a file."""
    return read_table(path).column("load_power").tolist()


def bits(recording: Recording) -> dict[str, bytes]:
    """Every column's bytes, the times' among them."""
    columns = {name: recording.column(name) for name in recording.channels}
    return {"time": recording.time.tobytes(), **{name: _canonical(each) for name, each in columns.items()}}


def _canonical(values: np.ndarray) -> bytes:
    return np.where(np.isnan(values), np.float32(np.nan), values).tobytes()
