"""Fonts: sizes relative to the application's, digits that keep their width."""

from __future__ import annotations

from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from desktop.window.style.look import look

TEXT_SCALES: tuple[float, ...] = (1.0, 1.25, 1.5, 2.0)

_BASE = "headraceBaseFont"
_TABULAR = QFont.Tag("tnum")


def set_text_scale(scale: float) -> None:
    """Show all text larger by this factor than the system asks for."""
    app = QApplication.instance()
    base = app.property(_BASE)
    if base is None:
        base = QFont(QApplication.font())
        app.setProperty(_BASE, base)
    font = QFont(base)
    font.setPointSizeF(max(base.pointSizeF(), 1.0) * scale)
    font.setFeature(_TABULAR, 1)
    QApplication.setFont(font)
    look().changed.emit()


def set_base(points: float) -> None:
    """What 100 % text size means where no system tells."""
    font = QFont(QApplication.font())
    font.setPointSizeF(points)
    QApplication.instance().setProperty(_BASE, font)


def sized(size: float = 1.0, bold: bool = False) -> QFont:
    """The application's font in another size."""
    font = QFont(QApplication.font())
    font.setPointSizeF(font.pointSizeF() * size)
    font.setBold(bold)
    return font
