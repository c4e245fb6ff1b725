"""Light and dark: which of them is shown, and the application's colours in it."""

from __future__ import annotations

from functools import cache

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication, QStyleFactory

from desktop.picture.palette import THEMES as PALETTES
from desktop.window.style.look import look

THEMES: tuple[str, ...] = ("system", "light", "dark")

GROUNDS: dict[str, tuple[str, float]] = {
    "window": ("muted", 0.07),
    "track": ("muted", 0.18),
    "beyond": ("muted", 0.36),
    "standing": ("muted", 0.06),
    "selected": ("muted", 0.11),
    "button": ("muted", 0.10),
    "field": ("muted", 0.03),
    "disabled": ("muted", 0.60),
}
"""Grounds that follow from the ground: so much of another colour over it."""

_EDGE = 140
_PROPERTY = "headraceTheme"


def current() -> str:
    """`light` or `dark`: what the application shows."""
    app = QApplication.instance()
    return str((app and app.property(_PROPERTY)) or "light")


def colour(role: str) -> QColor:
    """A colour of the theme that is shown."""
    return colour_in(current(), role)


@cache
def colour_in(name: str, role: str) -> QColor:
    """A colour of a theme."""
    shown = PALETTES[name]
    if role in GROUNDS:
        return QColor(shown.mixed(*GROUNDS[role]))
    return QColor(shown[role])


def resolved(wanted: str) -> str:
    """`light` or `dark` for a choice of THEMES; `system` is what the desktop shows."""
    if wanted != "system":
        return wanted
    scheme = QApplication.styleHints().colorScheme()
    return "dark" if scheme == Qt.ColorScheme.Dark else "light"


def apply(wanted: str) -> str:
    """Show the whole application in a theme of THEMES. The theme that is shown then, `light` or `dark`."""
    app = QApplication.instance()
    name = resolved(wanted)
    if app.property(_PROPERTY) != name:
        if app.property(_PROPERTY) is None:
            app.setStyle(QStyleFactory.create("Fusion"))
        app.setProperty(_PROPERTY, name)
        palette = _palette(name)
        QApplication.setPalette(palette)
        # The style draws a field's edge this much darker than the window, which is nothing in the dark.
        palette.setColor(QPalette.ColorRole.Window, colour_in(name, "strong_line").lighter(_EDGE))
        QApplication.setPalette(palette, "QLineEdit")
        look().changed.emit()
    return name


def _palette(name: str) -> QPalette:
    roles = QPalette.ColorRole
    text, muted = colour_in(name, "text"), colour_in(name, "muted")
    table = {
        roles.Window: colour_in(name, "window"),
        roles.WindowText: text,
        roles.Base: colour_in(name, "field"),
        roles.AlternateBase: colour_in(name, "window"),
        roles.Text: text,
        roles.PlaceholderText: muted,
        roles.Button: colour_in(name, "button"),
        roles.ButtonText: text,
        roles.BrightText: colour_in(name, "act now"),
        roles.ToolTipBase: colour_in(name, "ground"),
        roles.ToolTipText: text,
        roles.Highlight: text,
        roles.HighlightedText: colour_in(name, "ground"),
        roles.Link: text,
    }
    palette = QPalette(table[roles.Button], table[roles.Window])
    for role, tone in table.items():
        palette.setColor(role, tone)
    for role in (roles.WindowText, roles.Text, roles.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, role, colour_in(name, "disabled"))
    return palette
