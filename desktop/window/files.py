"""What the user opens: recordings, packs, site sheets, demos; by dialog, by drop, or once more."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog

from desktop.opening import Demo
from desktop.window.opening import Opener, Ready, Wanted, dropped_paths
from desktop.window.settings import Opened, Settings
from desktop.words import tr

if TYPE_CHECKING:
    from desktop.sheet.columns import ColumnQuestion
    from desktop.window.live.control import Live
    from desktop.window.notice import Notice
    from desktop.window.sheet.editing import SheetEditing


class Files:
    """The part of the main window that asks for files, and has them opened.

    ready  what is shown; None where nothing is open yet
    """

    settings: Settings
    opener: Opener
    sheet: SheetEditing
    live: Live
    notice: Notice
    demos: Sequence[Demo]
    ready: Ready | None

    def open_paths(self, wanted: Wanted) -> None:
        """Read and review in the background, then show it. What is shown stays until then."""
        self.live.leave_for(lambda: self.opener.open(wanted))

    def open_names(self, names: Sequence[str]) -> None:
        """Open files that were chosen or dropped together; a site sheet alone is used for what is open."""
        paths, sheet = dropped_paths(names)
        if paths:
            self.open_paths(Wanted(tuple(paths), sheet))
        elif sheet is not None:
            self._use_site(str(sheet))

    def open_again(self, opened: Opened) -> None:
        """Open what was opened before."""
        site = Path(opened.site) if opened.site else None
        self.open_paths(Wanted(tuple(map(Path, opened.paths)), site))

    def open_demo(self, demo: Demo) -> None:
        """Open a recording that came along."""
        self.open_paths(Wanted((demo.path,)))

    def is_demo(self, wanted: Wanted) -> bool:
        """Whether these files came along with the program."""
        return wanted.paths in [(demo.path,) for demo in self.demos]

    # Asking

    def ask_open(self) -> None:
        """Let the user choose recordings, and a site sheet among them."""
        filters = [recordings_filter(), tr("All files (*)")]
        dialog = self.file_dialog(tr("Open recordings"), filters)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
        dialog.filesSelected.connect(self.open_names)
        dialog.open()

    def ask_site(self) -> None:
        """Let the user choose another sheet for what is open."""
        dialog = self.file_dialog(tr("Use a site sheet"), [tr("Site sheets (*.toml)"), tr("All files (*)")])
        if self.settings.last_site:
            dialog.selectFile(self.settings.last_site)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self._use_site)
        dialog.open()

    def ask_columns(self) -> None:
        """Let the user settle which column of the open recording is which channel."""
        wanted = self._wanted()
        if wanted is not None:
            self.opener.look_at_columns(wanted)

    def show_columns(self, wanted: Wanted, asked: ColumnQuestion) -> QDialog:
        """Ask which column is which; open what was wanted once that is settled."""
        # Few recordings leave anything to ask.
        from desktop.window.columns.dialog import ColumnsDialog

        self.notice.hide()
        dialog = ColumnsDialog(asked, not self.is_demo(wanted), self)
        dialog.answered.connect(lambda: self.open_paths(Wanted(wanted.paths, wanted.site)))
        if asked.error is not None:
            dialog.rejected.connect(lambda: self.notice.show_error(str(asked.error)))
        return self.shown_dialog(dialog)

    def show_sheet(self) -> None:
        """Let the user edit the site sheet of what is open."""
        wanted = self._wanted()
        if wanted is not None:
            self.sheet.show_for(self.ready, writable=not self.is_demo(wanted))

    def _use_site(self, name: str) -> None:
        wanted = self._wanted()
        if wanted is not None:
            self.open_paths(Wanted(wanted.paths, Path(name), wanted.day_first))

    def _wanted(self) -> Wanted | None:
        """The files that are open; where there are none, it is said so."""
        wanted = self.ready.wanted if self.ready is not None else None
        if wanted is None:
            self.notice.show_error(tr("A site sheet belongs to a recording: open the recording first."))
        return wanted

    # Dialogs

    def file_dialog(self, title: str, filters: Sequence[str]) -> QFileDialog:
        """A dialog that chooses files."""
        dialog = QFileDialog(self, title, self.settings.folder)
        dialog.setNameFilters(filters)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        if QApplication.platformName() == "offscreen":
            dialog.setOption(QFileDialog.Option.DontUseNativeDialog)
        return dialog

    def shown_dialog(self, dialog: QDialog) -> QDialog:
        """Show a dialog over the window; it is gone once it is closed."""
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()
        return dialog

    # Dropping

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Files may be dropped."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open them."""
        event.acceptProposedAction()
        self.open_names([url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()])


def recordings_filter() -> str:
    """What a dialog that chooses recordings offers first."""
    return tr("Recordings (*.csv *.txt *.tsv *.log *.parquet *.zip)")
