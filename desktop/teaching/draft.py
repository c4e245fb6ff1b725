"""Changing a file of notes as a careful person would: comments and everything untouched stay as written."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Table

from desktop.teaching.notes import LARGEST_FILE, NotesSheet
from recordings.errors import SheetError
from recordings.files import write_whole

Plain = dict[str, Any]

_HEADS = ("title", "about", "author")


@dataclass(frozen=True, slots=True)
class DraftState:
    """What a draft says at one time; what it holds isn't changed any more.

    origins  where each note stood in the file as it was read or written for the `written`-th time
    """

    heads: Plain
    tables: tuple[Plain, ...]
    origins: tuple[int | None, ...]
    written: int


class NotesDraft:
    """Notes that are being changed. Nothing is written before `save`, and nothing that isn't right.

    path    the file, None for notes that have none yet
    heads   title, about and author, as far as they are said
    tables  the notes in their order, each as in the file
    """

    def __init__(self, text: str = "", path: Path | None = None) -> None:
        self.path = path
        self._original = text
        self._breaks = "\r\n" if "\r\n" in text else "\n"
        self._start = text.replace("\r\n", "\n")
        NotesSheet.parse(self._start, str(path or ""))
        table = tomllib.loads(self._start)
        self.heads: Plain = {key: table[key] for key in _HEADS if key in table}
        self.tables: list[Plain] = table.get("note", [])
        self._origins: list[int | None] = list(range(len(self.tables)))
        self._written = 0

    @classmethod
    def load(cls, path: str | Path, otherwise: str = "") -> NotesDraft:
        """The notes of a file. SheetError where it is wrong.

        otherwise  the text to begin with where there is no such file
        """
        path = Path(path)
        text = _read(path)
        if text or path.exists():
            return cls(text, path)
        draft = cls(otherwise, path)
        draft._original = ""
        return draft

    # Changing

    def set_head(self, key: str, value: str) -> None:
        """Say title, about or author; "" takes it out."""
        if value:
            self.heads[key] = value
        else:
            self.heads.pop(key, None)

    def put(self, index: int, table: Mapping[str, Any]) -> None:
        """Make this the note at an index."""
        self.tables[index] = dict(table)

    def insert(self, index: int, table: Mapping[str, Any]) -> None:
        """A new note before the one at an index."""
        self.tables.insert(index, dict(table))
        self._origins.insert(index, None)

    def remove(self, index: int) -> None:
        """Take a note out."""
        del self.tables[index], self._origins[index]

    def move(self, index: int, to: int) -> None:
        """Put a note in another place of the order."""
        self.tables.insert(to, self.tables.pop(index))
        self._origins.insert(to, self._origins.pop(index))

    @property
    def state(self) -> DraftState:
        """What it says now."""
        return DraftState(dict(self.heads), tuple(self.tables), tuple(self._origins), self._written)

    def restore(self, state: DraftState) -> None:
        """Say again what it said at another time."""
        self.heads, self.tables = dict(state.heads), list(state.tables)
        known = state.written == self._written
        self._origins = list(state.origins) if known else _matched(self._start, self.tables)

    # What comes of it

    def check(self) -> NotesSheet:
        """The notes as they are now. SheetError where something is wrong."""
        return NotesSheet.of(self._table(), str(self.path or ""))

    @property
    def changed(self) -> bool:
        """Whether saving would write anything."""
        return self._table() != _filled(tomllib.loads(self._start))

    @property
    def text(self) -> str:
        """The file as it would be written, with plain line breaks."""
        if not self.changed:
            return self._start
        wanted = self._table()
        for document in (self._kept, self._anew):
            try:
                text = tomlkit.dumps(document())
                if _filled(tomllib.loads(text)) == wanted:
                    return text
            except (TOMLKitError, tomllib.TOMLDecodeError):
                continue
        raise SheetError("can't be written as TOML", where=self.path or NotesSheet.KIND, mend="shorten it")

    def save(self, path: str | Path | None = None) -> NotesSheet:
        """Write the notes to their file, or to another one.

        SheetError where they are wrong, or where something else has changed the file meanwhile.
        """
        target = Path(path) if path is not None else self.path
        if target is None:
            raise SheetError("the notes have no file yet", mend="say where to write them")
        sheet = NotesSheet.of(self._table(), str(target))
        if target == self.path and _read(target) != self._original:
            raise SheetError(
                "was changed by something else since it was read",
                where=target,
                mend="close it and open it again",
            )
        text = self.text
        content = text.replace("\n", self._breaks)
        if len(content.encode()) > LARGEST_FILE:
            raise SheetError(
                "is too large for a file of notes",
                where=target,
                expected=f"at most {LARGEST_FILE // 1024} kB",
            )
        if target != self.path or self.changed:
            write_whole(target, content.encode("utf-8"))
            self._original = content
        self.path, self._start = target, text
        self._origins = list(range(len(self.tables)))
        self._written += 1
        return sheet

    def _table(self) -> Plain:
        return _filled({**self.heads, "note": self.tables})

    def _kept(self) -> tomlkit.TOMLDocument:
        """The file with its comments; each note brings along what was written around it."""
        document = tomlkit.parse(
            self._start if self._start.endswith("\n") or not self._start else self._start + "\n"
        )
        _put_heads(document, self.heads)
        old = document.get("note")
        if not isinstance(old, AoT) or not self.tables:
            if old is not None:
                del document["note"]
            return _listed(document, self.tables)
        before = list(old.body)
        # Put in place, not appended: tomlkit would add empty lines to each.
        old.body[:] = [
            _table_of(wanted) if origin is None else _changed(before[origin], wanted)
            for origin, wanted in zip(self._origins, self.tables, strict=True)
        ]
        return document

    def _anew(self) -> tomlkit.TOMLDocument:
        """The file from nothing: its comments are lost, nothing else."""
        document = tomlkit.document()
        _put_heads(document, self.heads)
        return _listed(document, self.tables)


def _matched(text: str, tables: list[Plain]) -> list[int | None]:
    """Where each of these notes stands in a file; None for those that don't."""
    there = dict(enumerate(tomllib.loads(text).get("note", [])))
    found: list[int | None] = []
    for table in tables:
        index = next((number for number, one in there.items() if one == table), None)
        found.append(index)
        there.pop(-1 if index is None else index, None)
    return found


def _listed(document: tomlkit.TOMLDocument, tables: list[Plain]) -> tomlkit.TOMLDocument:
    """The document with notes at its end, after an empty line."""
    if not tables:
        return document
    text = tomlkit.dumps(document)
    if text.strip() and not text.endswith("\n\n"):
        document = tomlkit.parse(text + "\n")
    listed = tomlkit.aot()
    for wanted in tables:
        listed.append(_table_of(wanted))
    document["note"] = listed
    return document


def _put_heads(document: tomlkit.TOMLDocument, heads: Plain) -> None:
    for key in _HEADS:
        if key not in heads:
            document.pop(key, None)
        elif document.get(key) != heads[key]:
            document[key] = _string(heads[key])


def _changed(table: Table, wanted: Plain) -> Table:
    """A note as it is written, with what it is to say."""
    for key in [key for key in table if key not in wanted]:
        del table[key]
    for key, value in wanted.items():
        if key in table and _unwrapped(table[key]) == value:
            continue
        if isinstance(value, dict) and isinstance(table.get(key), Table):
            _changed(table[key], value)
        else:
            table[key] = _item(value)
    return table


def _table_of(wanted: Plain) -> Table:
    table = tomlkit.table()
    for key, value in wanted.items():
        table[key] = _item(value)
    table.add(tomlkit.nl())
    return table


def _item(value: Any) -> Any:
    if isinstance(value, str):
        return _string(value)
    if isinstance(value, dict):
        table = tomlkit.table()
        for key, each in value.items():
            table[key] = _item(each)
        return table
    if isinstance(value, list):
        array = tomlkit.array()
        array.extend(_string(each) if isinstance(each, str) else each for each in value)
        return array.multiline(sum(len(str(each)) for each in value) > 80)
    return tomlkit.item(value)


def _string(value: str) -> Any:
    return tomlkit.string(value)


def _unwrapped(item: Any) -> Any:
    return item.unwrap() if hasattr(item, "unwrap") else item


def _filled(table: Plain) -> Plain:
    """The table without empty ones in it, which say nothing."""
    return {key: value for key, value in table.items() if value not in ({}, [], "", None)}


def _read(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_FILE:
            NotesSheet.load(path)
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        return ""
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "is not UTF-8 text"
        raise SheetError(f"can't read the {NotesSheet.KIND}: {reason}", where=path) from error
