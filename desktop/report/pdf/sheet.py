"""Paper, letters and colours of the PDF. The unit of length is a tenth of a point."""

from __future__ import annotations

from functools import cache

from PySide6.QtCore import QMarginsF
from PySide6.QtGui import QColor, QFont, QPageSize

from desktop.picture.palette import THEMES

POINT = 10.0
"""A point in units of length."""

DOTS_PER_INCH = 720
"""At this resolution a unit of length is a dot."""

MARGINS_MM = QMarginsF(18, 16, 18, 16)
PAPERS = {"A4": QPageSize.PageSizeId.A4, "Letter": QPageSize.PageSizeId.Letter}

TEXT, SMALL, DENSE, HEADING, TITLE, VERDICT, FACT = 10.0, 8.8, 8.0, 14.5, 21.0, 12.5, 15.0
"""Sizes of letters, points."""

SMALLEST = 6.5
"""No letters are smaller, not even in a table of many columns."""

LEADING = 1.35
"""From line to line, as a multiple of the letters' size."""

FAMILIES = ["Helvetica", "Arial", "Liberation Sans", "Nimbus Sans", "DejaVu Sans", "sans-serif"]


@cache
def font(points: float, bold: bool = False) -> QFont:
    """Letters of a size, without hinting, so that their widths are those of the outlines.

    They aren't drawn together either: "fi" as one sign would not be found by who searches for it.
    """
    letters = QFont(FAMILIES)
    letters.setPixelSize(round(points * POINT))
    letters.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    letters.setBold(bold)
    letters.setFeature(QFont.Tag("liga"), 0)
    return letters


def colour(role: str) -> QColor:
    """A colour of the light theme: paper is white."""
    return QColor(THEMES["light"][role])
