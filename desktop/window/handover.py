"""Handing over what is open: as a report, as a picture, as a pack."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog, QFileDialog

from desktop.window import export
from desktop.words import tr
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from desktop.window.main import MainWindow


def ask_report(window: MainWindow) -> None:
    """Let the user choose where the report goes: HTML, or PDF by the name's ending."""
    filters = [tr("Reports as HTML (*.html)"), tr("Reports as PDF (*.pdf)")]
    dialog = window.file_dialog(tr("Write a report"), filters)
    dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
    dialog.setDefaultSuffix("html")
    dialog.filterSelected.connect(
        lambda chosen: dialog.setDefaultSuffix("pdf" if "pdf" in chosen else "html")
    )
    dialog.fileSelected.connect(lambda name: write_report(window, name))
    dialog.open()


def write_report(window: MainWindow, name: str) -> None:
    """Write it; what went wrong is told in the window."""
    # Few write one, and what lays out pages takes time to load.
    from desktop.report.html import write_html
    from desktop.report.pdf.writing import write_pdf

    try:
        # The report puts a lying meter right itself, and says so beside what was recorded.
        review = (window.ready.recorded or window.ready).review
        (write_pdf if name.lower().endswith(".pdf") else write_html)(review, name)
    except HeadraceError as error:
        window.notice.show_error(str(error))
        return
    window.settings.folder = str(Path(name).parent)


def ask_picture(window: MainWindow) -> None:
    """Let the user choose where a picture of what is shown goes."""
    dialog = window.file_dialog(tr("Export picture"), [tr("Pictures (*.png)")])
    dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
    dialog.setDefaultSuffix("png")
    dialog.fileSelected.connect(lambda name: export_picture(window, name))
    dialog.open()


def export_picture(window: MainWindow, name: str) -> None:
    """Write what is shown as PNG; what went wrong is told in the window."""
    try:
        export.save(window.board, name)
    except HeadraceError as error:
        window.notice.show_error(str(error))
        return
    window.settings.folder = str(Path(name).parent)


def copy_picture(window: MainWindow) -> None:
    """Put what is shown on the clipboard."""
    export.copy(window.board)


def print_picture(window: MainWindow) -> None:
    """Ask for a printer, and print what is shown."""
    export.ask_and_print(window.board)


def show_pack(window: MainWindow) -> QDialog | None:
    """Show what a pack of what is open would hold, and let the user write it."""
    ready = window.ready
    if ready is None or ready.wanted is None:
        window.notice.show_error(tr("A pack is made of files: open the recording from its file first."))
        return None
    # Few take a recording along each day.
    from desktop.window.packing.dialog import PackDialog

    try:
        dialog = PackDialog(ready, window)
    except HeadraceError as error:
        window.notice.show_error(str(error))
        return None
    dialog.place_asked.connect(lambda: _ask_place(window, dialog))
    return window.shown_dialog(dialog)


def _ask_place(window: MainWindow, dialog: QDialog) -> None:
    place = window.file_dialog(tr("Write a pack"), [tr("Packs (*.zip)")])
    place.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
    place.setDefaultSuffix("zip")
    place.selectFile(dialog.usual_name)
    place.fileSelected.connect(dialog.write)
    place.fileSelected.connect(lambda name: setattr(window.settings, "folder", str(Path(name).parent)))
    place.open()
