"""The end of a recording that was cut off: what of it is whole, and what is to be dropped."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np

from recordings.channels import CHANNELS
from recordings.tables.writer import header_line

_LONGEST_HEADER = 1 << 14
_LOOKED_AT = 1 << 16
_STAMP = rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d{1,9})?Z"
_CELL = rb"(?:,(?:-?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?)?)"


@dataclass(frozen=True, slots=True)
class Tail:
    """How far a file is whole.

    channels  what its header names, in the vocabulary's order; () where not even the header is whole
    whole     bytes up to the end of the last whole row
    last      UTC nanoseconds of the last whole row; None without rows
    """

    channels: tuple[str, ...]
    whole: int
    last: int | None


def look_at_tail(file: BinaryIO) -> Tail | None:
    """The end of one of our own CSV files; None where the file isn't one, or is damaged beyond its end.

    A row is whole only with its line break: without it the last number may have lost digits. Whole rows that
    aren't ours (a power cut can leave a stretch of NUL bytes) are dropped too, as long as they lie at the very
    end. Nothing is changed here.
    """
    size = file.seek(0, 2)
    file.seek(0)
    header = file.readline(_LONGEST_HEADER)
    if not header.endswith(b"\n"):
        torn = size < _LONGEST_HEADER and (b"time,".startswith(header[:5]) or not header.strip(b"\0"))
        return Tail((), 0, None) if torn else None
    channels = channels_of(header)
    if not channels:
        return None
    start = max(len(header), size - _LOOKED_AT)
    file.seek(start)
    rows = file.read().split(b"\n")
    rows.pop()
    whole_row = re.compile(_STAMP + _CELL + b"{%d}\r" % len(channels))
    # What comes before the first line break of a part read from the middle may be half a row.
    least = 0 if start == len(header) else 1
    while len(rows) > least and not whole_row.fullmatch(rows[-1]):
        rows.pop()
    if least and len(rows) <= least:
        return None
    last = _instant(rows[-1]) if rows else None
    return Tail(channels, start + sum(len(row) + 1 for row in rows), last)


def channels_of(header: bytes) -> tuple[str, ...]:
    """The channels that one of our header lines names; () where it isn't one."""
    try:
        cells = header.decode().rstrip("\r\n").split(",")
    except UnicodeDecodeError:
        return ()
    names = tuple(cell.split(" ")[0] for cell in cells[1:])
    if not names or not set(names) <= set(CHANNELS) or header_line(names) != header:
        return ()
    return names


def _instant(row: bytes) -> int:
    stamp = row.split(b",", 1)[0].decode().removesuffix("Z")
    return int(np.datetime64(stamp, "ns").astype(np.int64))
