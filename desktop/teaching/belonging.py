"""The notes on what was opened together: each file's own, beside it or in the pack that it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import tzinfo
from pathlib import Path, PurePosixPath

from desktop.pack.beside import notes_file
from desktop.pack.names import is_pack
from desktop.pack.reading import Pack
from desktop.teaching.lesson import Notes, load_notes, settled
from desktop.teaching.notes import NotesSheet
from recordings.errors import HeadraceError


@dataclass(frozen=True, slots=True)
class NotesPlace:
    """Where the notes on one recording are.

    recording  its name
    path       the file of the notes, there or to be made; None in a pack of several, which stays as it is
    packed     the notes that a pack brings along, which hold where there is no such file; empty for none
    where      what to name where something is wrong with those
    """

    recording: str
    path: Path | None
    packed: str = ""
    where: str = ""

    def read(self, first: int, last: int, zone: tzinfo) -> Notes:
        """The notes as they are written; the arguments as in `notes_in`. HeadraceError where they are wrong."""
        if self.path is not None and self.path.is_file():
            return load_notes(self.path, first, last, zone)
        return settled(NotesSheet.parse(self.packed, self.where), first, last, zone, self.where)


def places_of(paths: Sequence[Path]) -> tuple[NotesPlace, ...]:
    """Where the notes on recordings opened together are, one for each recording.

    paths  recordings, or packs of them. ReadError where a pack can't be read
    """
    places: list[NotesPlace] = []
    for path in paths:
        if is_pack(path):
            places += _packed(path)
        else:
            places.append(NotesPlace(path.name, notes_file(path)))
    # Of a table and an archive of one name the notes are the same.
    known = {place.path or place.where: place for place in reversed(places)}
    return tuple(reversed(known.values()))


def notes_in(
    places: Sequence[NotesPlace], first: int, last: int, zone: tzinfo
) -> tuple[Notes, tuple[HeadraceError, ...]]:
    """All notes on recordings opened together, each file's own after the other, the earliest first; and what is
    wrong with those that can't be read.

    first, last  the ends of what was opened (UTC nanoseconds); zone: the clock of its site
    """
    found: list[Notes] = []
    faults: list[HeadraceError] = []
    for place in places:
        try:
            found.append(place.read(first, last, zone))
        except HeadraceError as error:
            faults.append(error)
    return _together(found), tuple(faults)


def _packed(path: Path) -> list[NotesPlace]:
    with Pack(path) as pack:
        notes, files = pack.notes(), [one.file for one in pack.recordings]
    names = [PurePosixPath(file).name for file in files]
    if len(names) == 1:
        return [NotesPlace(names[0], notes_file(path), notes.get(names[0], ""), f"{path}: notes")]
    return [NotesPlace(name, None, notes.get(name, ""), f"{path}: notes on {name}") for name in names]


def _together(found: Sequence[Notes]) -> Notes:
    """Notes of several files as those of one recording."""
    told = sorted(
        (each for each in found if each.notes), key=lambda each: min(note.at for note in each.notes)
    )
    if len(told) == 1:
        return told[0]
    return Notes(
        notes=tuple(note for each in told for note in each.notes),
        title=" · ".join(dict.fromkeys(each.title for each in told if each.title)),
        about="\n".join(dict.fromkeys(each.about for each in told if each.about)),
        ours=bool(told) and all(each.ours for each in told),
    )
