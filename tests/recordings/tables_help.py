"""Small helpers for tests of tables."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

from recordings.recording import Recording
from recordings.tables import read_table

Read = Callable[..., Recording]


def reader(folder: Path) -> Read:
    """A function that reads a text (or bytes) as if it stood in a file."""

    def read(text: str | bytes, *, encoding: str = "utf-8", **options: object) -> Recording:
        path = folder / "day.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return read_table(path, **options)

    return read


def seconds(recording: Recording) -> list[str]:
    """The times as UTC text to the second."""
    return [str(stamp) for stamp in recording.time.astype("datetime64[ns]").astype("datetime64[s]")]


def values(recording: Recording, channel: str) -> list[float | None]:
    """A channel's readings, None where they are missing."""
    return [None if np.isnan(value) else round(float(value), 4) for value in recording.column(channel)]
