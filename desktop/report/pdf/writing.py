"""Writes a report as PDF, on a machine with or without a screen."""

from __future__ import annotations

import os
import sys
from os import PathLike

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, Qt
from PySide6.QtGui import QPageLayout, QPageSize, QPainter, QPdfWriter
from PySide6.QtWidgets import QApplication

from desktop.report.blocks import Page
from desktop.report.page import page_of
from desktop.report.pages import paginate
from desktop.report.pdf.ink import Lines
from desktop.report.pdf.setting import page_pieces
from desktop.report.pdf.sheet import DOTS_PER_INCH, MARGINS_MM, PAPERS, POINT, SMALL, colour, font
from desktop.review import Review
from recordings.files import write_whole

_MARGIN_LINE, _FOOT_LINE = 16.0 * POINT, 22.0 * POINT
"""What the lines at head and foot of a page take."""


def write_pdf(review: Review, path: str | PathLike[str], *, paper: str = "A4") -> None:
    """Write the report as PDF, whole or not at all. WriteError where it can't be."""
    write_whole(path, report_pdf(review, paper=paper))


def report_pdf(review: Review, *, paper: str = "A4") -> bytes:
    """The report of a review as PDF, in the language that is spoken now.

    paper  a key of `desktop.report.pdf.sheet.PAPERS`
    """
    _application()
    page = page_of(review)
    content = QByteArray()
    buffer = QBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(DOTS_PER_INCH)
    writer.setPageLayout(
        QPageLayout(
            QPageSize(PAPERS[paper]),
            QPageLayout.Orientation.Portrait,
            MARGINS_MM,
            QPageLayout.Unit.Millimeter,
        )
    )
    writer.setTitle(page.title)
    writer.setCreator("Headrace")
    _paint(page, writer)
    buffer.close()
    return bytes(content.data())


def _paint(page: Page, writer: QPdfWriter) -> None:
    painter = QPainter(writer)
    wide, high = float(writer.width()), float(writer.height())
    pages = paginate(page_pieces(page, wide), high - _MARGIN_LINE - _FOOT_LINE)
    for number, placed in enumerate(pages, start=1):
        if number > 1:
            writer.newPage()
            _line(painter, page.title, 0.0, 0.0, wide)
        for each in placed:
            each.piece.ink(painter, _MARGIN_LINE + each.top, each.before)
        foot = high - SMALL * POINT * 1.2
        _line(painter, page.footer, 0.0, foot, 0.85 * wide)
        _line(painter, f"{number} / {len(pages)}", 0.85 * wide, foot, 0.15 * wide, right=True)
    painter.end()


def _line(painter: QPainter, text: str, x: float, top: float, width: float, right: bool = False) -> None:
    side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
    Lines([(text, font(SMALL - 0.8), colour("muted"))], width, side).draw(painter, x, top, 0)


def _application() -> None:
    """Letters need an application; where none runs, one that needs no screen.

    It is one that windows can use as well: there can be no second one later.
    """
    if QApplication.instance() is None:
        if sys.platform.startswith("linux"):
            os.environ["QT_QPA_PLATFORM"] = "offscreen"
        _Kept.application = QApplication([])


class _Kept:
    """Keeps the application that was made here: Qt must not lose it."""

    application: QApplication | None = None
