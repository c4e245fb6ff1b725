"""How large a pack may be. Whoever writes one keeps to it, and whoever reads one refuses the rest unread."""

from __future__ import annotations

MOST_FILES = 200

MOST_BYTES = 2_000_000_000
"""All files together, unpacked. Below what needs the 64-bit form of zip; a year at one row per second."""

MOST_TEXT_BYTES = 4 << 20
"""A sheet, the notes of a recording, the list of contents: written by hand, and read whole into memory."""

MOST_LIST_BYTES = 1 << 20
"""The zip's own list of its files."""

MOST_RATIO = 100
"""Unpacked over packed. Telemetry comes to 3 to 30; what is made to burst comes to 1000."""

SMALL_BYTES = 1 << 20
"""What unpacks to no more than this may shrink as far as it likes."""

CHUNK = 1 << 20


def bursts(unpacked: int, packed: int) -> bool:
    """True where something unpacks to so much more than it was that no recording is behind it."""
    return unpacked > SMALL_BYTES and unpacked > MOST_RATIO * packed
