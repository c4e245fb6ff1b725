"""Writing a pack: the same contents give the same bytes."""

from __future__ import annotations

import zipfile
from collections.abc import Callable, Collection, Iterator
from os import PathLike
from typing import BinaryIO

from desktop.pack.beside import notes_file
from desktop.pack.bounds import CHUNK, MOST_BYTES, MOST_FILES, bursts
from desktop.pack.contents import Contents, Item
from desktop.pack.manifest import FORMAT, Manifest, Packed
from desktop.pack.names import FOLDER, LIST, REPORT, SHEET
from recordings.errors import UsageError
from recordings.files import replacing

_FIRST_DAY = (1980, 1, 1, 0, 0, 0)
"""The earliest time that a zip can tell. Nobody learns from a pack when it was made."""

Progress = Callable[[float], None]

_UNIX = 3
_PLAIN_FILE = 0o100644 << 16


def write_pack(path: str | PathLike[str], contents: Contents, progress: Progress | None = None) -> Manifest:
    """Write a pack, whole or not at all. Gives its list of contents.

    progress  is told the share of the recordings that is written, 0..1
    HeadraceError where something can't be read, is too large, or there is no room.
    """
    listed = _listed(contents)
    names = listed.paths()
    if len(names) > MOST_FILES:
        raise UsageError("too many files for one pack", expected=f"{MOST_FILES} at most", found=len(names))
    with replacing(path) as file:
        stored: set[str] = set()
        while more := _written(file, listed, contents, stored, progress or _nobody) - stored:
            stored |= more
    return listed


def _nobody(share: float) -> None: ...


def _written(
    file: BinaryIO, listed: Manifest, contents: Contents, stored: Collection[str], progress: Progress
) -> set[str]:
    """Write everything, the files of `stored` without packing them tight. The files that shrank beyond belief:
    with them, whoever opens the pack would refuse it.
    """
    file.seek(0)
    file.truncate()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr(_entry(LIST), listed.as_toml())
        whole = max(sum(item.length for item in contents.items), 1)
        done = 0
        for item, packed in zip(contents.items, listed.recording, strict=True):
            entry = _entry(packed.file, packed.file in stored)
            for length in _put(archive, entry, item, MOST_BYTES - done):
                done += length
                progress(min(done / whole, 1.0))
            if packed.notes:
                archive.writestr(_entry(packed.notes), item.notes)
        for name, text in ((listed.sheet, contents.sheet), (listed.report, contents.report)):
            if name:
                archive.writestr(_entry(name, name in stored), text)
        every = archive.infolist()
        found = {entry.filename for entry in every if bursts(entry.file_size, entry.compress_size)}
        if bursts(sum(each.file_size for each in every), sum(each.compress_size for each in every)):
            found |= {packed.file for packed in listed.recording}
    return found


def _listed(contents: Contents) -> Manifest:
    return Manifest(
        format=FORMAT,
        sheet=SHEET if contents.sheet else None,
        report=REPORT if contents.report else None,
        recording=[
            Packed(
                file=FOLDER + item.name,
                notes=FOLDER + notes_file(item.name).name if item.notes else None,
            )
            for item in contents.items
        ],
    )


def _put(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, item: Item, most: int) -> Iterator[int]:
    """Put a recording as it is, bit by bit. How many bytes each bit has."""
    with item.opened() as file, archive.open(entry, "w") as target:
        while chunk := file.read(CHUNK):
            most -= len(chunk)
            if most < 0:
                raise UsageError(
                    "too much for one pack",
                    where=item.name,
                    expected=f"{MOST_BYTES} bytes at most in all",
                    mend="pack less",
                )
            target.write(chunk)
            yield len(chunk)


def _entry(name: str, stored: bool = False) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, _FIRST_DAY)
    entry.create_system, entry.external_attr = _UNIX, _PLAIN_FILE
    entry.compress_type = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
    return entry
