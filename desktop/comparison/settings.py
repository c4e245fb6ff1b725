"""Settings of the two site sheets that differ."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from desktop.channel_names import CHANNEL_NAMES
from desktop.sheet.facts import CHOICES
from desktop.sheet.keys import KEYS, SECTIONS
from desktop.sheet.numbers import shown
from desktop.site import Site
from desktop.words import NOT_KNOWN, Phrase, template, tr
from recordings.errors import printable

_KEYS = {key.path: key for key in KEYS}
_QUANTITIES = ("W", "A", "V", "Hz", "%", "°C")


@dataclass(frozen=True, slots=True)
class SettingChange:
    """A key that the sheets tell differently; None where one of them tells nothing."""

    section: str
    key: str
    a: Any
    b: Any

    @property
    def label(self) -> Phrase:
        """What it is called."""
        table, _, channel = self.section.partition(".")
        section, key = SECTIONS[table], _KEYS[table, self.key].label
        if channel:
            return Phrase(
                "{section}, {channel}: {key}", section=section, channel=CHANNEL_NAMES[channel], key=key
            )
        return Phrase("{section}: {key}", section=section, key=key)

    def said(self, value: Any) -> Phrase:
        """One side's value, to be shown."""
        unit = _KEYS[self.section.partition(".")[0], self.key].unit
        if value is None:
            return Phrase(NOT_KNOWN)
        if value is True or value is False:
            return Phrase(template("yes") if value else template("no"))
        if isinstance(value, str):
            return Phrase("{text}", text=CHOICES.get(value, printable(value)))
        if unit in _QUANTITIES:
            return Phrase(f"{{value:{unit}}}", value=float(value))
        return Phrase("{text}", text=f"{shown(value)} {tr(unit) if unit else ''}".strip())


def setting_changes(a: Site, b: Site) -> tuple[SettingChange, ...]:
    """In the order of the sheet. What the plant is called, and how its log is read, are no settings."""
    meters = dict.fromkeys([*a.meters, *b.meters])
    left, right = _told(a, meters), _told(b, meters)
    paths = [*left, *(path for path in right if path not in left)]
    return tuple(
        SettingChange(*path, left.get(path), right.get(path))
        for path in paths
        if left.get(path) != right.get(path)
    )


def _told(site: Site, meters: Iterable[str]) -> dict[tuple[str, str], Any]:
    """What holds, given or assumed, of everything and of these meters."""
    told = {
        (section, key): value
        for section, key, value, _ in site.items()
        if section != "site" and not section.startswith("meters.")
    }
    classes = {(f"meters.{name}", key): value for name in meters for key, value in site.meter(name)}
    return told | classes
