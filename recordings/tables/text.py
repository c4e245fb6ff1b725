"""A file of any encoding as UTF-8 blocks of whole lines."""

from __future__ import annotations

import codecs
import os
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from recordings.errors import ReadError

BLOCK = 4 << 20
HEAD = 1 << 20
_SAMPLE = 1 << 16
_LONGEST_LINE = 1 << 26

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


_OTHER_KINDS = (
    (b"PK\x03\x04", "a packed file or a spreadsheet"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a spreadsheet or a document"),
    (b"\x1f\x8b", "a packed file"),
    (b"\x89PNG\r\n", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"%PDF-", "a PDF document"),
    (b"PAR1", "a Parquet file"),
    (b"SQLite format 3\0", "a database"),
)
"""How files begin that are often taken for tables (their published formats)."""

_OUR_HEADER = re.compile(rb"time(,[a-z0-9_]+( \[[^\],]+\])?)+\r\n")


@dataclass(frozen=True, slots=True)
class TextFile:
    """A readable file: its path, its encoding, and how many bytes its byte-order mark takes.

    torn  True for a file of our own that ends within a line. Our lines always end with a line end: what stands
          after the last one may be half a number. Other writers often leave out the last line end
    """

    path: str
    size: int
    encoding: str
    mark: int
    torn: bool = False

    @classmethod
    def open(cls, path: str | os.PathLike[str]) -> TextFile:
        """Look at a file. ReadError where there is none, it is empty or may not be read."""
        name = os.fspath(path)
        try:
            state = Path(name).stat()
            _refuse_no_file(name, state.st_mode)
            size = state.st_size
            with open(name, "rb") as file:
                head = file.read(_SAMPLE)
                file.seek(max(0, size - _SAMPLE))
                tail = file.read(_SAMPLE)
        except (OSError, ValueError) as error:
            raise _unreadable(name, error) from error
        if not head.strip(b"\0 \r\n\t"):
            raise ReadError("the file is empty", where=name, mend="choose a file with a header and rows")
        _refuse_other_kinds(name, head)
        encoding, mark = _encoding(head, tail)
        return cls(name, size, encoding, mark, bool(_OUR_HEADER.match(head)) and not tail.endswith(b"\n"))

    def head(self) -> bytes:
        """The beginning of the file, at most HEAD bytes of it, as clean UTF-8."""
        for block, _ in self.blocks(HEAD):
            return block
        return b""

    def tail(self) -> str:
        """The last lines of the file, for a look at them; nothing where the encoding can't be entered midway."""
        if self.encoding not in ("utf-8", "cp1252", "latin-1") or self.size <= HEAD:
            return ""
        with open(self.path, "rb") as file:
            file.seek(self.size - _SAMPLE)
            text = file.read().replace(b"\0", b"").decode(self.encoding, "replace")
        return text.partition("\n")[2]

    def blocks(self, size: int = BLOCK) -> Iterator[tuple[bytes, float]]:
        """(block, share of the file read): clean UTF-8 that ends with a line end, except perhaps the last.

        NUL bytes are taken out; lone carriage returns become line feeds where the file has no line feeds.
        """
        clean = _Cleaner(self.encoding)
        rest = b""
        try:
            with open(self.path, "rb") as file:
                file.seek(self.mark)
                while raw := file.read(size):
                    if self.encoding == "utf-8":
                        # A block that ends with a line is handed on without being cut and copied again.
                        raw += file.readline(size)
                    block = rest + clean(raw)
                    end = _last_line_end(block)
                    rest = block[end:]
                    if len(rest) > _LONGEST_LINE:
                        raise ReadError(
                            "a line never ends", where=self.path, mend="choose a CSV file with a header row"
                        )
                    if end:
                        yield block[:end], min(1.0, file.tell() / max(1, self.size))
        except OSError as error:
            raise _unreadable(self.path, error) from error
        rest += clean(b"", final=True)
        if rest and not self.torn:
            yield rest, 1.0


class _Cleaner:
    """Raw bytes in, clean UTF-8 out; remembers what was cut in the middle."""

    def __init__(self, encoding: str) -> None:
        self._decoder = None if encoding == "utf-8" else codecs.getincrementaldecoder(encoding)("replace")
        self._old_line_ends: bool | None = None

    def __call__(self, raw: bytes, final: bool = False) -> bytes:
        if self._decoder is not None:
            raw = self._decoder.decode(raw, final).encode("utf-8", "replace")
        if b"\0" in raw:
            raw = raw.replace(b"\0", b"")
        if self._old_line_ends is None and raw:
            self._old_line_ends = b"\n" not in raw and b"\r" in raw[:-1]
        return raw.replace(b"\r", b"\n") if self._old_line_ends else raw


def _last_line_end(block: bytes) -> int:
    """Just after the last line end that lies outside quotes; 0 where there is none."""
    end = block.rfind(b"\n") + 1
    if not end or b'"' not in block:
        return end
    inside = block.count(b'"', 0, end) % 2
    candidate, tries = end, 0
    while inside and candidate and tries < 64:
        before = block.rfind(b"\n", 0, candidate - 1) + 1
        inside = (inside + block.count(b'"', before, candidate)) % 2
        candidate, tries = before, tries + 1
    return candidate if candidate and not inside else end


def _encoding(head: bytes, tail: bytes) -> tuple[str, int]:
    for mark, encoding in _MARKS:
        if head.startswith(mark):
            return encoding, len(mark)
    even, odd = head[0:4096:2], head[1:4096:2]
    if len(odd) >= 8:
        if odd.count(0) > 0.4 * len(odd) and even.count(0) < 0.05 * len(even):
            return "utf-16-le", 0
        if even.count(0) > 0.4 * len(even) and odd.count(0) < 0.05 * len(odd):
            return "utf-16-be", 0
    try:
        codecs.getincrementaldecoder("utf-8")("strict").decode(head)
        codecs.getincrementaldecoder("utf-8")("strict").decode(_from_whole_letter(tail))
    except UnicodeDecodeError:
        return ("latin-1" if _undefined(head + tail) else "cp1252"), 0
    return "utf-8", 0


def _from_whole_letter(tail: bytes) -> bytes:
    skip = 0
    while skip < min(3, len(tail)) and tail[skip] & 0xC0 == 0x80:
        skip += 1
    return tail[skip:]


def _undefined(raw: bytes) -> bool:
    """True where bytes stand that Windows-1252 leaves undefined."""
    return any(code in raw for code in (b"\x81", b"\x8d", b"\x8f", b"\x90", b"\x9d"))


def _refuse_no_file(name: str, mode: int) -> None:
    """Pipes would wait for ever, and devices never end."""
    if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
        raise ReadError("this is no ordinary file", where=name, mend="copy it into a file and choose that")


def _refuse_other_kinds(name: str, head: bytes) -> None:
    for beginning, kind in _OTHER_KINDS:
        if head.startswith(beginning):
            raise ReadError(
                f"this is {kind}, no text table", where=name, mend="export or save the table as CSV"
            )


def _unreadable(name: str, error: Exception) -> ReadError:
    if isinstance(error, FileNotFoundError):
        return ReadError("no such file", where=name, mend="check the path")
    if isinstance(error, IsADirectoryError) or os.path.isdir(name):
        return ReadError("this is a folder", where=name, mend="choose a file")
    reason = getattr(error, "strerror", None) or str(error)
    return ReadError(f"can't be read: {reason}", where=name, mend="check the file and its permissions")
