"""Bytes as they arrive, cut into lines."""

from __future__ import annotations

import re
from dataclasses import dataclass

_LONGEST = 4096
_ENDS = re.compile(rb"[\r\n]+")


@dataclass(slots=True)
class LineCutter:
    """Whole lines of a stream that may begin within one, with line ends CR, LF or both.

    A line without end, such as noise at a wrong speed makes, is given up at 4096 bytes up to the next end.

    torn    how many lines were given up so
    """

    torn: int = 0
    _rest: bytes = b""
    _giving_up: bool = False

    def cut(self, data: bytes) -> list[bytes]:
        """The lines that these bytes complete, without their ends; empty ones are left out."""
        *lines, self._rest = _ENDS.split(self._rest + data)
        if self._giving_up and lines:
            del lines[0]
            self._giving_up = False
        if len(self._rest) > _LONGEST:
            self.torn += not self._giving_up
            self._giving_up, self._rest = True, b""
        kept = [line for line in lines if 0 < len(line) <= _LONGEST]
        self.torn += sum(len(line) > _LONGEST for line in lines)
        return kept


def xor(text: bytes) -> int:
    """The exclusive or of all bytes, as NMEA 0183 checks its sentences with."""
    total = 0
    for byte in text:
        total ^= byte
    return total


def checked(line: bytes) -> bytes | None:
    """The text of a line `$text*hh` whose checksum holds; None otherwise.

    What stands before the last `$` is noise: the line's own text has none.
    """
    body = line[line.rfind(b"$") + 1 :].rstrip()
    text, star, digits = body.rpartition(b"*")
    if not star or not re.fullmatch(rb"[0-9A-Fa-f]{2}", digits) or xor(text) != int(digits, 16):
        return None
    return text
