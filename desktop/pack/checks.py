"""What is checked of a zip file before anything in it is read: its own list, then each entry of that."""

from __future__ import annotations

import stat
import zipfile
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from desktop.pack.bounds import MOST_BYTES, MOST_FILES, MOST_LIST_BYTES, bursts
from desktop.pack.names import fault_in, key_of
from recordings.errors import ReadError

_END = b"PK\x05\x06"
_END_BYTES = 22
_END_64 = b"PK\x06\x07"
_END_64_BYTES = 20
_HEADER_BYTES = 30
_ENCRYPTED = 0x1


def checked_end(path: Path) -> None:
    """Look at the last bytes of a zip file, which say how long its list is. ReadError where that can't be read.

    Nothing may follow them, and the 64-bit form isn't taken: so there is one way only to read them.
    """
    if not stat.S_ISREG(path.stat().st_mode):
        raise ReadError("is no ordinary file", where=path, mend="choose a recording")
    with path.open("rb") as file:
        length = file.seek(0, 2)
        file.seek(max(0, length - _END_BYTES - _END_64_BYTES))
        tail = file.read()
    end, before = tail[-_END_BYTES:], tail[:-_END_BYTES]
    if len(end) < _END_BYTES or not end.startswith(_END):
        raise zipfile.BadZipFile
    count, size = int.from_bytes(end[10:12], "little"), int.from_bytes(end[12:16], "little")
    if count > MOST_FILES or before.startswith(_END_64):
        _refuse(path, "holds too many files", f"{MOST_FILES} at most", count)
    if size > MOST_LIST_BYTES:
        _refuse(path, "lists too many files", f"a list of {MOST_LIST_BYTES} bytes at most", size)


def checked_entries(archive: zipfile.ZipFile, path: Path) -> dict[str, zipfile.ZipInfo]:
    """The files of a zip by their paths. ReadError where one of them could do harm."""
    entries = archive.infolist()
    if len(entries) > MOST_FILES:
        _refuse(path, "holds too many files", f"{MOST_FILES} at most", len(entries))
    keys: set[str] = set()
    for entry in entries:
        _check(entry, path)
        key = key_of(entry.orig_filename.rstrip("/"))
        if key in keys:
            _refuse(path, "holds two files of the same name", "", entry.orig_filename)
        keys.add(key)
    _check_sizes(entries, path)
    _check_places(entries, archive.start_dir, path)
    return {entry.orig_filename: entry for entry in entries if not entry.is_dir()}


def _check(entry: zipfile.ZipInfo, path: Path) -> None:
    # `filename` has been cut and turned already, as the system likes it.
    name = entry.orig_filename
    fault = fault_in(name[:-1] if entry.is_dir() else name)
    if fault:
        _refuse(path, f"a file's path {fault}", "", name)
    kind = stat.S_IFMT(entry.external_attr >> 16)
    if kind not in (0, stat.S_IFDIR if entry.is_dir() else stat.S_IFREG):
        _refuse(path, "holds a link, or something else that is no file", "", name)
    if entry.flag_bits & _ENCRYPTED:
        _refuse(path, "is encrypted", "", name)
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        _refuse(path, "is compressed in a way that isn't taken", "stored or deflated files", name)


def _check_sizes(entries: Sequence[zipfile.ZipInfo], path: Path) -> None:
    for entry in entries:
        grown = entry.is_dir() or entry.compress_type == zipfile.ZIP_STORED
        if grown and entry.file_size != entry.compress_size:
            _refuse(path, "two sizes of a file don't agree", "", entry.orig_filename)
        if bursts(entry.file_size, entry.compress_size):
            _refuse(path, "a file unpacks to far more than any recording would", "", entry.orig_filename)
    unpacked = sum(entry.file_size for entry in entries)
    if unpacked > MOST_BYTES:
        _refuse(path, "is too large", f"{MOST_BYTES} bytes at most when unpacked", unpacked)
    if bursts(unpacked, sum(entry.compress_size for entry in entries)):
        _refuse(path, "unpacks to far more than any recording would", "", unpacked)


def _check_places(entries: Sequence[zipfile.ZipInfo], end: int, path: Path) -> None:
    """No two files may share the same bytes: that is how a small zip is made to unpack to a huge one."""
    spans = sorted(
        (
            entry.header_offset,
            entry.header_offset + _HEADER_BYTES + len(entry.orig_filename) + entry.compress_size,
        )
        for entry in entries
    )
    if any(stop > start for (_, stop), (start, _) in pairwise([*spans, (end, end)])):
        _refuse(path, "has files that overlap", "", "")


def _refuse(path: Path, what: str, expected: str, found: object) -> None:
    raise ReadError(what, where=path, expected=expected, found=found, mend="ask for the recording itself")
