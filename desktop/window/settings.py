"""What the program remembers from one start to the next."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

from desktop.window.language import LANGUAGES
from desktop.window.live.wish import Wish
from desktop.window.style.fonts import TEXT_SCALES
from desktop.window.style.theme import THEMES

_MOST_RECENT = 10


@dataclass(frozen=True, slots=True)
class Opened:
    """Recordings that were opened together, and the site sheet that was named for them ("" for none)."""

    paths: tuple[str, ...]
    site: str = ""

    @property
    def name(self) -> str:
        """What to call them in a menu."""
        first = Path(self.paths[0]).name
        return first if len(self.paths) == 1 else f"{first} + {len(self.paths) - 1}"


class Forgotten:
    """As much of QSettings as the window needs; gone with the window. No file is touched."""

    def __init__(self) -> None:
        self._values: dict[str, object] = {}

    def value(self, key: str, default: object = None) -> object:
        """What was set, else the default."""
        return self._values.get(key, default)

    def setValue(self, key: str, value: object) -> None:
        """Set it."""
        self._values[key] = value

    def remove(self, key: str) -> None:
        """Nothing is set any more."""
        self._values.pop(key, None)

    def sync(self) -> None:
        """There is nothing to write."""


class Settings:
    """Values with names. What can't be read is as if it had never been written."""

    def __init__(self, store: QSettings | Forgotten | None = None) -> None:
        if store is None:
            scope = QSettings.Scope.UserScope
            store = QSettings(QSettings.Format.IniFormat, scope, "headrace", "headrace")
        self._store = store

    @property
    def theme(self) -> str:
        """One of THEMES."""
        value = str(self._store.value("view/theme", "system"))
        return value if value in THEMES else "system"

    @theme.setter
    def theme(self, value: str) -> None:
        self._store.setValue("view/theme", value)

    @property
    def language(self) -> str:
        """One of LANGUAGES."""
        value = str(self._store.value("view/language", "system"))
        return value if value in LANGUAGES else "system"

    @language.setter
    def language(self, value: str) -> None:
        self._store.setValue("view/language", value)

    @property
    def text_scale(self) -> float:
        """One of TEXT_SCALES."""
        value = str(self._store.value("view/text_scale", "1.0"))
        return next((scale for scale in TEXT_SCALES if str(scale) == value), 1.0)

    @text_scale.setter
    def text_scale(self, value: float) -> None:
        self._store.setValue("view/text_scale", str(value))

    @property
    def motion(self) -> bool:
        """Whether what flows may be drawn moving."""
        return str(self._store.value("view/motion", "true")) != "false"

    @motion.setter
    def motion(self, value: bool) -> None:
        self._store.setValue("view/motion", "true" if value else "false")

    @property
    def alarm_sound(self) -> bool:
        """Whether alarms are heard."""
        return str(self._store.value("live/alarm_sound", "true")) != "false"

    @alarm_sound.setter
    def alarm_sound(self, value: bool) -> None:
        self._store.setValue("live/alarm_sound", "true" if value else "false")

    @property
    def geometry(self) -> QByteArray:
        """The window's place and size, empty at first."""
        return self._bytes("window/geometry")

    @geometry.setter
    def geometry(self, value: QByteArray) -> None:
        self._store.setValue("window/geometry", value)

    def splitter(self, name: str) -> QByteArray:
        """How a splitter was left, empty at first."""
        return self._bytes(f"window/splitter_{name}")

    def set_splitter(self, name: str, value: QByteArray) -> None:
        """Remember how a splitter is."""
        self._store.setValue(f"window/splitter_{name}", value)

    @property
    def folder(self) -> str:
        """Where the last file was opened or written."""
        return str(self._store.value("files/folder", ""))

    @folder.setter
    def folder(self, value: str) -> None:
        self._store.setValue("files/folder", value)

    @property
    def last_site(self) -> str:
        """The site sheet that was named last, "" for none."""
        return str(self._store.value("files/last_site", ""))

    @property
    def recent(self) -> list[Opened]:
        """What was opened lately, the last first."""
        try:
            entries = json.loads(str(self._store.value("files/recent", "[]")))
            return [
                Opened(tuple(map(str, each["paths"])), str(each["site"])) for each in entries if each["paths"]
            ]
        except (ValueError, TypeError, KeyError):
            return []

    def remember(self, paths: Sequence[str | Path], site: str | Path | None) -> None:
        """These recordings were opened."""
        opened = Opened(tuple(str(Path(path).absolute()) for path in paths), str(site or ""))
        kept = [each for each in self.recent if each.paths != opened.paths]
        entries = [{"paths": each.paths, "site": each.site} for each in [opened, *kept][:_MOST_RECENT]]
        self._store.setValue("files/recent", json.dumps(entries))
        self.folder = str(Path(opened.paths[0]).parent)
        if site:
            self._store.setValue("files/last_site", str(site))

    def forget_recent(self) -> None:
        """Nothing was opened lately."""
        self._store.remove("files/recent")

    @property
    def sources(self) -> list[Wish]:
        """What was watched lately, the last first."""
        try:
            entries = json.loads(str(self._store.value("live/sources", "[]")))
            return [
                Wish(str(each["source"]), Path(each["site"]) if each["site"] else None)
                for each in entries
                if each["source"]
            ]
        except (ValueError, TypeError, KeyError):
            return []

    def remember_source(self, wish: Wish) -> None:
        """This was watched."""
        source = wish.source if "://" in wish.source else str(Path(wish.source).absolute())
        site = str(wish.site.absolute()) if wish.site is not None else ""
        kept = [each for each in self.sources if (each.source, str(each.site or "")) != (source, site)]
        entries = [{"source": source, "site": site}]
        entries += [{"source": each.source, "site": str(each.site or "")} for each in kept]
        self._store.setValue("live/sources", json.dumps(entries[:_MOST_RECENT]))

    def forget_sources(self) -> None:
        """Nothing was watched lately."""
        self._store.remove("live/sources")

    def save(self) -> None:
        """Write everything down now."""
        self._store.sync()

    def _bytes(self, key: str) -> QByteArray:
        value = self._store.value(key)
        return value if isinstance(value, QByteArray) else QByteArray()
