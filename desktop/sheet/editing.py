"""Changing a site sheet as a careful person would: comments, order and everything untouched stay as written."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, MutableMapping, Sequence
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import Table

from desktop.opening import sheet_for, sheet_within
from desktop.site import ColumnRule, Site
from recordings.errors import SheetError
from recordings.files import write_whole

Plain = dict[str, Any]


class SheetDraft:
    """A sheet that is being changed.

    Nothing is written before `save`, and nothing that isn't a right sheet. `path` is the sheet's file, None for
    a sheet that has none yet.
    """

    def __init__(self, text: str = "", path: Path | None = None) -> None:
        self.path = path
        self._original = text
        self._breaks = "\r\n" if "\r\n" in text else "\n"
        plain = text.replace("\r\n", "\n")
        # A wrong sheet is refused before anything of it is shown.
        Site.parse(plain, str(path or ""))
        self._start = plain
        self._table: Plain = tomllib.loads(plain)
        self._document = tomlkit.parse(plain if not plain or plain.endswith("\n") else plain + "\n")

    @classmethod
    def load(cls, path: str | Path, otherwise: str = "") -> SheetDraft:
        """The sheet of a file. SheetError where it is wrong.

        otherwise  the text to begin with where there is no such file
        """
        path = Path(path)
        text = _read(path)
        if text or path.exists():
            return cls(text, path)
        draft = cls(otherwise, path)
        draft._original = ""
        return draft

    def copy(self) -> SheetDraft:
        """The same draft once more: changing one leaves the other."""
        twin = SheetDraft(self.text, self.path)
        twin._original, twin._start, twin._breaks = self._original, self._start, self._breaks
        return twin

    @property
    def text(self) -> str:
        """The sheet as it would be written, with plain line breaks. SheetError where a change got lost."""
        text = tomlkit.dumps(self._document)
        try:
            kept = _filled(tomllib.loads(text)) == _filled(self._table)
        except tomllib.TOMLDecodeError:
            kept = False
        if not kept:
            raise SheetError(
                "the way in which this sheet is written doesn't allow the change here",
                where=self.path or Site.KIND,
                mend="write each section once, as [section] with one key per line",
            )
        return text

    @property
    def changed(self) -> bool:
        """Whether saving would write anything."""
        return _filled(self._table) != _filled(tomllib.loads(self._start))

    def table(self) -> Plain:
        """The sheet as nested tables."""
        return tomllib.loads(self.text)

    def site(self) -> Site:
        """The sheet as it is now. SheetError where it is wrong."""
        return Site.parse(self.text, str(self.path or ""))

    def value(self, section: str, key: str) -> Any:
        """What the sheet itself says; None where it says nothing."""
        table = self._table.get(section)
        return table.get(key) if isinstance(table, dict) else None

    def set(self, section: str, key: str, value: Any) -> None:
        """Say a value; None takes the key out."""
        if self.value(section, key) != value or isinstance(value, bool):
            self._change((section,), key, value)

    def entry(self, section: str, channel: str) -> Plain:
        """What the sheet says of a channel in a table such as `meters`."""
        return dict(self._table.get(section, {}).get(channel, {}))

    def channels(self, section: str) -> tuple[str, ...]:
        """The channels of which it says something there."""
        return tuple(self._table.get(section, {}))

    def set_meter(self, channel: str, values: Mapping[str, float | None]) -> None:
        """Say how good a meter is (`percent`, `floor_w`); None takes a key out, and the meter with its last."""
        left = {
            key: value
            for key, value in (self.entry("meters", channel) | dict(values)).items()
            if value is not None
        }
        if not left:
            self._drop("meters", channel)
            return
        for key, value in values.items():
            if self.entry("meters", channel).get(key) != value:
                self._change(("meters", channel), key, value)

    def set_rules(self, rules: Mapping[str, ColumnRule]) -> None:
        """Make these the rules of `[columns]`; those that stay the same stay as written."""
        for channel in self.channels("columns"):
            if channel not in rules:
                self._drop("columns", channel)
        for channel, rule in rules.items():
            wanted = rule.model_dump(exclude_none=True)
            if self.entry("columns", channel) != wanted or channel not in self.channels("columns"):
                self._change(("columns",), channel, wanted)

    def devices(self) -> list[Plain]:
        """What the sheet says of each device."""
        return self.entries("device")

    def set_devices(self, devices: Sequence[Mapping[str, str]]) -> None:
        """Make these the devices; `source`, `role` and `map` of each, as far as they are known."""
        self.set_entries("device", devices)

    def entries(self, section: str) -> list[Plain]:
        """What the sheet says of each entry of a section that comes more than once, such as `appliance`."""
        return [dict(each) for each in self._table.get(section, [])]

    def set_entries(self, section: str, entries: Sequence[Mapping[str, Any]]) -> None:
        """Make these the entries of such a section."""
        wanted = [dict(each) for each in entries]
        if wanted == self.entries(section):
            return
        self._table.pop(section, None)
        if section in self._document:
            del self._document[section]
        if not wanted:
            return
        self._table[section] = wanted
        listed = tomlkit.aot()
        for each in wanted:
            table = tomlkit.table()
            table.update({key: _written(value) for key, value in each.items()})
            listed.append(table)
        self._close()
        self._document[section] = listed

    def save(self, path: str | Path | None = None) -> Site:
        """Write the sheet to its file, or to another one.

        SheetError where it is wrong, or where something else has changed the file meanwhile.
        """
        target = Path(path) if path is not None else self.path
        if target is None:
            raise SheetError("the site sheet has no file yet", mend="say where to write it")
        site = self.site()
        if target == self.path and _read(target) != self._original:
            raise SheetError(
                "was changed by something else since it was read",
                where=target,
                mend="close it and open it again",
            )
        if target != self.path or self.changed or not target.exists():
            content = self.text.replace("\n", self._breaks)
            write_whole(target, content.encode("utf-8"))
            self._original = content
        self.path, self._start = target, self.text
        return site

    def _change(self, folder: tuple[str, ...], key: str, value: Any) -> None:
        table: Any = self._table
        if folder[0] not in table:
            self._close()
        node: Any = self._document
        for name in folder:
            table = table.setdefault(name, {})
            if name not in node:
                _put(node, name, tomlkit.table(is_super_table=name == "meters" or None))
            node = node[name]
        if value is None:
            table.pop(key, None)
            if key in node:
                del node[key]
            return
        table[key] = value
        written = _written(value)
        if key in node:
            node[key] = written
        else:
            _put(node, key, written)

    def _drop(self, section: str, channel: str) -> None:
        if channel in self._table.get(section, {}):
            del self._table[section][channel]
            del self._document[section][channel]

    def _close(self) -> None:
        """A new table begins after an empty line."""
        text = tomlkit.dumps(self._document)
        if text.strip() and not text.endswith("\n\n"):
            self._document = tomlkit.parse(text + "\n")


def draft_for(paths: Sequence[Path], site_path: Path | None = None) -> SheetDraft:
    """The sheet that holds for recordings opened together, to be changed; that of a pack becomes a file beside it.

    HeadraceError where it can't be read.
    """
    within = "" if site_path is not None else sheet_within(paths)
    return SheetDraft.load(sheet_for(paths, site_path), within)


def _read(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        return ""
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "is not UTF-8 text"
        raise SheetError(f"can't read the {Site.KIND}: {reason}", where=path) from error


def _filled(table: Plain) -> Plain:
    """The table without empty ones in it, which say nothing."""
    inner = {key: _filled(value) if isinstance(value, dict) else value for key, value in table.items()}
    return {key: value for key, value in inner.items() if value not in ({}, [])}


def _put(node: MutableMapping[str, Any], key: str, item: Any) -> None:
    """Add a key after the last one of a table: comments and empty lines that follow belong to what comes next."""
    if not isinstance(node, Table):
        node[key] = item
        return
    body = node.value.body
    following: list[Any] = []
    while body and body[-1][0] is None:
        following.insert(0, body.pop())
    node.add(key, item)
    body.extend(following)


def _written(value: Any) -> Any:
    if isinstance(value, dict):
        table = tomlkit.inline_table()
        table.update({key: _written(each) for key, each in value.items()})
        return table
    if isinstance(value, float) and value == int(value) and abs(value) < 1e15:
        return tomlkit.item(int(value))
    return tomlkit.item(value)
