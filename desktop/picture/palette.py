"""The colours of both themes as plain hex, by role: a role says what is meant, a theme what it looks like.

Grounds and lines are grey, water is muted; saturated colour is kept for what is abnormal, and never stands
alone: a shape and a word go with it. The colours of water are set apart by lightness as well as by hue, so that
they stay apart for eyes that can't tell red from green.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

WATERS: tuple[str, ...] = ("generator", "grid", "solar_ac", "solar", "battery", "mixed")
"""Roles of water: the sources, and water of which nothing tells where it comes from."""

SEVERE: tuple[str, ...] = ("act now", "attend", "note")
"""Roles of severities, which are text colours too."""

TEXT_ON: tuple[tuple[str, str], ...] = (
    *((text, ground) for text in ("text", "muted", *SEVERE) for ground in ("ground", "panel")),
    ("text", "bed"),
    ("muted", "bed"),
    ("stored_text", "stored"),
)
"""Every pair of a text's role and the ground that it stands on."""

_LIGHT = {
    "ground": "#f9faf9", "panel": "#ffffff", "text": "#1f2729", "muted": "#566164",
    "line": "#d5dbda", "strong_line": "#8f9b9a", "cursor": "#1f2729",
    "bed": "#e3e8e7", "rim": "#8f9b9a", "bar": "#1f2729", "unknown": "#7d898a",
    "act now": "#c2083f", "attend": "#a05000", "note": "#566164", "overflow": "#c2083f", "unaccounted": "#8c3f70",
    "generator": "#bf8648", "solar": "#e6c656", "solar_ac": "#efdb92", "grid": "#7563a6", "battery": "#55a39c",
    "mixed": "#79858a",
    "stored": "#b9d6d2", "stored_text": "#1f2729",
    "load": "#3d648f", "dc_load": "#5a8fa8", "converter": "#6b6f76", "losses": "#7d848a", "fuel": "#7d5a3c",
}  # fmt: skip

_DARK = {
    "ground": "#1b2022", "panel": "#15191b", "text": "#e8ecec", "muted": "#9eaaac",
    "line": "#333b3e", "strong_line": "#67747a", "cursor": "#e8ecec",
    "bed": "#2a3134", "rim": "#67747a", "bar": "#e8ecec", "unknown": "#8a979a",
    "act now": "#ff5c7f", "attend": "#f0a04b", "note": "#9eaaac", "overflow": "#dc1c63", "unaccounted": "#dc92c0",
    "generator": "#bd8648", "solar": "#dcc570", "solar_ac": "#e6d695", "grid": "#8a78c4", "battery": "#4da398",
    "mixed": "#66717a",
    "stored": "#2f5f5b", "stored_text": "#f2f6f6",
    "load": "#86addc", "dc_load": "#8cc0d8", "converter": "#a9adb4", "losses": "#8a9296", "fuel": "#c09a78",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Theme:
    """One theme: role → "#rrggbb"."""

    name: str
    colours: MappingProxyType[str, str]

    def __getitem__(self, role: str) -> str:
        return self.colours[role]

    def mixed(self, role: str, share: float, ground: str = "ground") -> str:
        """A role's colour laid over a ground's at this share (0..1), opaque."""
        return laid_over(self[role], self[ground], share)

    def edge(self, role: str) -> str:
        """The colour of water's surface: the same water, nearer to the text's colour."""
        return self.mixed("text", 0.5, role)

    def ink(self, role: str) -> str:
        """What shows on this colour: the text's colour or the ground's, whichever contrasts more."""
        return max((self["text"], self["ground"]), key=lambda one: contrast(one, self[role]))


THEMES: dict[str, Theme] = {
    name: Theme(name, MappingProxyType(colours)) for name, colours in (("light", _LIGHT), ("dark", _DARK))
}


def channels(colour: str) -> tuple[float, float, float]:
    """Red, green and blue of "#rrggbb", 0..1, as encoded."""
    red, green, blue = (int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5))
    return red, green, blue


def laid_over(over: str, under: str, share: float) -> str:
    """A colour over another at this share (0..1), opaque."""
    pairs = zip(channels(over), channels(under), strict=True)
    return _hex(tuple(share * a + (1 - share) * b for a, b in pairs))


def linear(colour: str) -> tuple[float, float, float]:
    """Red, green and blue of "#rrggbb" as light, 0..1 (IEC 61966-2-1)."""
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in channels(colour)
    )
    return red, green, blue


@cache
def luminance(colour: str) -> float:
    """Relative luminance, 0..1 (WCAG 2.2)."""
    red, green, blue = linear(colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1..21 (WCAG 2.2)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def _hex(parts: tuple[float, ...]) -> str:
    return "#" + "".join(f"{round(255 * part):02x}" for part in parts)
