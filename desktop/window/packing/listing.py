"""What goes into a pack and what stays behind, in words."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

from desktop.pack.beside import notes_file
from desktop.pack.names import SHEET
from desktop.words import Phrase, decimal, tr

if TYPE_CHECKING:
    from desktop.pack.contents import Contents
    from desktop.window.opening import Ready

_KILO, _MEGA = 1e3, 1e6


def rows_of(contents: Contents) -> list[tuple[str, str, str]]:
    """Each file that goes in: what it is, its name, and how much there is of it."""
    rows = []
    for item in contents.items:
        rows.append((tr("Recording"), item.name, size_text(item.length)))
        if item.notes:
            rows.append((tr("Its notes"), notes_file(item.name).name, _count(item.notes)))
    if contents.sheet:
        rows.append((tr("Site sheet"), SHEET, size_text(len(contents.sheet.encode()))))
    return rows


def left_out(contents: Contents, ready: Ready) -> list[Phrase]:
    """What stays behind."""
    told = [
        Phrase("Names of this machine, its folders and its user, and when the files were made."),
        Phrase("Everything else that lies beside the recording."),
    ]
    devices = len(ready.review.site.device)
    if devices == 1:
        told.append(Phrase("The device in the site sheet, and its address."))
    elif devices:
        told.append(Phrase("The {count:d} devices in the site sheet, and their addresses.", count=devices))
    if not contents.sheet:
        told.append(Phrase("A site sheet: there is none."))
    if ready.tried:
        told.append(
            Phrase("What was put right here and isn't saved: the recording goes along as it was read.")
        )
    return told


def goes_along(contents: Contents) -> list[Phrase]:
    """What tells of people all the same."""
    told = [Phrase("The recording goes along unchanged, with all its columns.")]
    if contents.sheet:
        told.append(Phrase("So does what the site sheet says, the site's name among it."))
    if any(item.notes for item in contents.items):
        told.append(Phrase("So do the notes, with the names of those who wrote them."))
    return told


def size_text(length: int) -> str:
    """`317 kB`, `1.6 MB`."""
    if length < _MEGA:
        return f"{decimal(max(length / _KILO, 1), 0)} kB"
    return f"{decimal(length / _MEGA, 1 if length < 100 * _MEGA else 0)} MB"


def _count(notes: str) -> str:
    count = len(tomllib.loads(notes).get("note", []))
    return str(Phrase("one note") if count == 1 else Phrase("{count:d} notes", count=count))
