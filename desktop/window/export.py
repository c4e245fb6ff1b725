"""The window as a picture: as bytes, on the clipboard, on paper."""

from __future__ import annotations

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QRectF, Qt
from PySide6.QtGui import QGuiApplication, QPageLayout, QPainter, QPixmap
from PySide6.QtWidgets import QDialog, QWidget

from desktop.words import tr
from recordings.files import write_whole


def png(picture: QPixmap) -> bytes:
    """A picture as PNG."""
    content = QByteArray()
    buffer = QBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    picture.save(buffer, "PNG")
    buffer.close()
    return bytes(content.data())


def save(widget: QWidget, path: str) -> None:
    """Write what a widget shows to a file. WriteError where that can't be."""
    write_whole(path, png(widget.grab()))


def copy(widget: QWidget) -> None:
    """Put what a widget shows on the clipboard."""
    QGuiApplication.clipboard().setPixmap(widget.grab())


def ask_and_print(widget: QWidget) -> None:
    """Ask for a printer, and print what a widget shows on one page."""
    # Few print, and the library costs time that every start would pay.
    from PySide6.QtPrintSupport import QPrintDialog, QPrinter

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setPageOrientation(QPageLayout.Orientation.Landscape)
    dialog = QPrintDialog(printer, widget.window())
    dialog.setWindowTitle(tr("Print"))
    dialog.accepted.connect(lambda: paint_on(printer, widget.grab()))
    # QPrintDialog hides the plain way to open a dialog behind one that wants a slot.
    QDialog.open(dialog)


def paint_on(paper: object, picture: QPixmap) -> None:
    """Paint a picture on paper (a QPagedPaintDevice), as large as fits."""
    painter = QPainter(paper)
    page = QRectF(painter.viewport())
    size = picture.size().toSizeF()
    size.scale(page.size(), Qt.AspectRatioMode.KeepAspectRatio)
    place = QRectF((page.width() - size.width()) / 2, 0, size.width(), size.height())
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    painter.drawPixmap(place, picture, QRectF(picture.rect()))
    painter.end()
