"""What goes into a pack: recordings as they are, and what lies beside them."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path, PurePosixPath
from typing import BinaryIO

import tomlkit

from desktop.pack.beside import notes_beside
from desktop.pack.bounds import MOST_TEXT_BYTES
from desktop.pack.names import harmless, is_pack
from desktop.pack.reading import Pack
from recordings.errors import ReadError, SheetError

Opener = Callable[[], AbstractContextManager[BinaryIO]]


@dataclass(frozen=True, slots=True)
class Item:
    """A recording to be packed.

    name    what it is called in the pack
    notes   the text of its notes, empty for none
    length  bytes, as far as that can be told beforehand
    """

    name: str
    opened: Opener
    notes: str = ""
    length: int = 0


@dataclass(frozen=True, slots=True)
class Contents:
    """Everything that goes into a pack.

    sheet   the text of the site sheet, empty for none
    report  the page as HTML, empty for none
    """

    items: tuple[Item, ...]
    sheet: str = ""
    report: str = field(default="", repr=False)


def gathered(files: Sequence[Path], sheet_path: Path | None, report: str = "") -> Contents:
    """What belongs to recordings: they themselves, their sheet, and the notes of each.

    files       recordings, or packs, whose contents are taken over
    sheet_path  the sheet that holds for all; None for the first that a pack among them holds
    HeadraceError where something can't be read.
    """
    items: list[Item] = []
    sheet = "" if sheet_path is None else _text(sheet_path)
    for file in files:
        if is_pack(file):
            with Pack(file) as pack:
                sheet = sheet or pack.sheet()
                notes = pack.notes()
                names = {one.file: pack.length(one.file) for one in pack.recordings}
            if len(names) == 1 and (beside := _beside(file)):
                notes[PurePosixPath(next(iter(names))).name] = beside
            for name, length in names.items():
                own = PurePosixPath(name).name
                items.append(_item(items, own, partial(_packed, file, name), notes.get(own, ""), length))
        else:
            items.append(_item(items, file.name, partial(_plain, file), _beside(file), _length(file)))
    return Contents(tuple(items), without_devices(sheet, str(sheet_path or "")), report)


def without_devices(text: str, where: str = "") -> str:
    """A sheet without its devices: their addresses are nobody's business, and a recording has no use for them.

    SheetError where the sheet is written in a way that doesn't allow it.
    """
    try:
        wanted = tomllib.loads(text)
        if wanted.pop("device", None) is None:
            return text
        document = tomlkit.parse(text)
        del document["device"]
        left = tomlkit.dumps(document)
        if tomllib.loads(left) == wanted:
            return left
    except ValueError:
        pass
    raise SheetError(
        "its devices can't be left out of the pack", where=where, mend="write each as a [[device]] of its own"
    )


def _item(others: Sequence[Item], name: str, opened: Opener, notes: str, length: int) -> Item:
    return Item(harmless(name, [Path(each.name).stem for each in others]), opened, notes, length)


def _length(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        # Whoever opens it tells why it can't be read.
        return 0


@contextmanager
def _plain(path: Path) -> Iterator[BinaryIO]:
    try:
        with path.open("rb") as file:
            yield file
    except OSError as error:
        raise ReadError(f"can't be packed: {error.strerror or error}", where=path) from error


@contextmanager
def _packed(path: Path, name: str) -> Iterator[BinaryIO]:
    with Pack(path) as pack, pack.opened(name) as file:
        yield file


def _beside(path: Path) -> str:
    """The notes beside a recording; empty where there are none. HeadraceError where they can't be read."""
    notes = notes_beside(path)
    if notes is None:
        return ""
    text = _text(notes)
    try:
        tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise SheetError("the notes are no valid TOML", where=notes, mend="mend or remove them") from error
    return text


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            content = file.read(MOST_TEXT_BYTES + 1)
        if len(content) > MOST_TEXT_BYTES:
            raise ReadError("is too long to be packed", where=path)
        return content.decode("utf-8-sig")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "is not UTF-8 text"
        raise ReadError(f"can't be packed: {reason}", where=path) from error
