"""Handing over: the report of what is open, as a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog

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
        (write_pdf if name.lower().endswith(".pdf") else write_html)(window.ready.review, name)
    except HeadraceError as error:
        window.notice.show_error(str(error))
        return
    window.settings.folder = str(Path(name).parent)
