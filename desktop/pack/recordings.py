"""The recordings of a pack, read as if each of them were a file of its own."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from desktop.pack.reading import Pack
from recordings.errors import HeadraceError, ReadError, UnclearError

if TYPE_CHECKING:
    from recordings.recording import Recording

Progress = Callable[[float], None]
Reader = Callable[[Path, Progress | None], "Recording"]


def read_pack(path: Path, read: Reader, progress: Progress | None = None) -> list[Recording]:
    """Every recording of a pack.

    read  reads one file, and is told whom to tell its progress
    HeadraceError where one can't be read; its line names the pack and the file in it.
    """
    found = []
    with Pack(path) as pack:
        every = pack.recordings
        for number, packed in enumerate(every):
            with pack.unpacked(packed.file) as file:
                try:
                    recording = read(file, part(progress, number, len(every)))
                except HeadraceError as error:
                    raise _retold(error, file, f"{path}: {packed.file}") from error
            recording.provenance.name = PurePosixPath(packed.file).name
            recording.provenance.path = str(path)
            found.append(recording)
    return found


def part(progress: Progress | None, number: int, count: int) -> Progress | None:
    """Whom the `number`th of `count` equal pieces of work tells how far it is."""
    if progress is None:
        return None
    return lambda share: progress((number + share) / count)


def _retold(error: HeadraceError, file: Path, where: str) -> HeadraceError:
    if isinstance(error, UnclearError):
        # Nobody can be asked about a file that lies in a pack: the answer would have nowhere to stay.
        told: HeadraceError = ReadError(
            error.what, expected=error.expected, mend="unpack it, settle that there, and pack it anew"
        )
        told.found = error.found
    else:
        told = copy.copy(error)
    told.where = error.where.replace(str(file), where)
    return told
