"""The procedure on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QFont, QTextBlockFormat, QTextCharFormat, QTextCursor, QTextDocument
from PySide6.QtWidgets import QDialog, QWidget

from desktop.procedure.as_text import Kind, Line
from desktop.words import tr

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

_POINTS: dict[Kind, float] = {"title": 17.0, "phase": 12.0}
_TEXT_POINTS, _SMALL_POINTS = 9.5, 8.5
_SMALL: frozenset[Kind] = frozenset({"why", "note"})
_BOLD: frozenset[Kind] = frozenset({"title", "phase", "step"})
_INDENTED: frozenset[Kind] = frozenset({"state", "why", "caution"})
_INDENT, _ABOVE = 18.0, 5.0


def document_of(lines: list[Line], dots_per_inch: float) -> QTextDocument:
    """The lines as a document, black on white, for paper of this resolution."""
    document = QTextDocument()
    document.setDefaultFont(QFont("sans-serif"))
    cursor = QTextCursor(document)
    for number, line in enumerate(lines):
        block, letters = _formats(line, dots_per_inch / 72)
        if number:
            cursor.insertBlock(block, letters)
        else:
            cursor.setBlockFormat(block)
            cursor.setCharFormat(letters)
        cursor.insertText(line.text, letters)
    return document


def ask_and_print(lines: list[Line], window: QWidget) -> QDialog:
    """Ask for a printer, and print the lines."""
    # Few print, and the library costs time that every start would pay.
    from PySide6.QtPrintSupport import QPrintDialog, QPrinter

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    dialog = QPrintDialog(printer, window)
    dialog.setWindowTitle(tr("Print"))
    dialog.accepted.connect(lambda: print_on(printer, lines))
    # The print dialog's own `open` asks for a slot beside the signal.
    QDialog.open(dialog)
    return dialog


def print_on(printer: QPrinter, lines: list[Line]) -> None:
    """Print the lines, with page numbers."""
    document_of(lines, printer.logicalDpiY()).print_(printer)


def _formats(line: Line, point: float) -> tuple[QTextBlockFormat, QTextCharFormat]:
    block, letters = QTextBlockFormat(), QTextCharFormat()
    small = _SMALL_POINTS if line.kind in _SMALL else _TEXT_POINTS
    letters.setFontPointSize(_POINTS.get(line.kind, small))
    letters.setFontWeight(QFont.Weight.Bold if line.kind in _BOLD else QFont.Weight.Normal)
    letters.setFontItalic(line.kind == "caution")
    block.setLeftMargin(point * (_INDENT if line.kind in _INDENTED else 0.0))
    # Qt scales what is above a block to the paper by itself, and what is left of it not.
    block.setTopMargin({"phase": 2 * _ABOVE, "step": _ABOVE}.get(line.kind, 0.0))
    return block, letters
