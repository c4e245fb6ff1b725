"""The window: its menus, what it opens, and what it remembers. What is shown of a review is the board's."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QGuiApplication, QKeyEvent
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QFileDialog,
    QLineEdit,
    QMainWindow,
    QMenuBar,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from desktop.opening import Demo, demos
from desktop.window import export, language
from desktop.window.board.board import Board
from desktop.window.empty import EmptyPage
from desktop.window.evidence.control import LookInto
from desktop.window.live.control import Live
from desktop.window.live.first_page import FirstPage
from desktop.window.live.strip import LiveStrip
from desktop.window.live.watching import Open
from desktop.window.menus import Menus
from desktop.window.notice import Notice
from desktop.window.opening import Opener, Ready, Wanted, dropped_paths
from desktop.window.plan.control import Planning
from desktop.window.procedure import renew_procedure, show_procedure
from desktop.window.settings import Opened, Settings
from desktop.window.sheet.editing import SheetEditing
from desktop.window.style import fonts, theme
from desktop.window.teaching.control import Teaching
from desktop.words import Phrase, local, tr
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from desktop.sheet.columns import ColumnQuestion

_SIZE = (1440, 900)
_LEAST = (960, 600)


class MainWindow(QMainWindow):
    """One window, one recording, one cursor."""

    def __init__(self, settings: Settings | None = None, open_one: Open | None = None) -> None:
        super().__init__()
        self.settings = settings or Settings()
        self.demos: Sequence[Demo] = demos()
        self.ready: Ready | None = None
        self.opener = Opener(self)
        self.sheet = SheetEditing(self)
        self.teaching = Teaching(self)
        self.live = Live(self, open_one)
        self.look = LookInto(self)
        self.plan = Planning(self)
        fonts.set_text_scale(self.settings.text_scale)
        theme.apply(self.settings.theme)
        self._make_parts()
        self._connect()
        self._restore()

    # What is open

    def open_paths(self, wanted: Wanted) -> None:
        """Read and review in the background, then show it. What is shown stays until then."""
        self.opener.open(wanted)

    def show_ready(self, ready: Ready, instant: int | None = None) -> None:
        """Show a review at an instant (UTC nanoseconds), None for the most telling one."""
        if self.live.on:
            self.live.stop()
        self.notice.hide()
        self.ready = ready
        self.board.show_ready(ready, instant)
        self.stack.setCurrentWidget(self.board)
        self.menus.set_open(True)
        self._name_it(ready)
        self.sheet.follow(ready)
        self.look.follow(ready)
        self.plan.follow(ready)
        self.teaching.follow(ready)
        if ready.wanted is not None and not self.is_demo(ready.wanted):
            self.settings.remember(ready.wanted.paths, ready.wanted.site)

    def show_live(self, ready: Ready, instant: int | None = None) -> None:
        """Show the review of what is watched, which grows."""
        self.ready = ready
        self.board.show_ready(ready, instant, live=True)
        self.stack.setCurrentWidget(self.board)
        self.menus.set_open(True)
        self.board.origin.show_text(self.live.origin())
        self.look.follow(ready)
        self.plan.follow(ready)
        self.teaching.follow(None)

    def ask_open(self) -> None:
        """Let the user choose recordings, and a site sheet among them."""
        filters = [tr("Recordings (*.csv *.txt *.tsv *.log *.parquet *.zip)"), tr("All files (*)")]
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

    def open_demo(self, demo: Demo) -> None:
        """Open a recording that came along."""
        self.open_paths(Wanted((demo.path,)))

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

    # Pictures

    def ask_export(self) -> None:
        """Let the user choose where the picture goes."""
        dialog = self.file_dialog(tr("Export picture"), [tr("Pictures (*.png)")])
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("png")
        dialog.fileSelected.connect(self.export_picture)
        dialog.open()

    def export_picture(self, name: str) -> None:
        """Write what is shown as PNG."""
        try:
            export.save(self.board, name)
        except HeadraceError as error:
            self.notice.show_error(str(error))
            return
        self.settings.folder = str(Path(name).parent)

    def copy_picture(self) -> None:
        """Put what is shown on the clipboard."""
        export.copy(self.board)

    def print_picture(self) -> None:
        """Ask for a printer, and print what is shown."""
        export.ask_and_print(self.board)

    # The view

    def set_theme(self, name: str) -> None:
        """One of `theme.THEMES`."""
        self.settings.theme = name
        self._dress()

    def set_language(self, name: str) -> None:
        """One of `language.LANGUAGES`. What is shown stays, in other words."""
        self.settings.language = name
        language.apply(name)
        self._make_anew()

    def set_text_scale(self, scale: float) -> None:
        """One of `fonts.TEXT_SCALES`."""
        self.settings.text_scale = scale
        fonts.set_text_scale(scale)
        for part in self.findChildren(QWidget):
            # Some kinds of buttons keep the size that their old font needed.
            part.updateGeometry()
        self._show_choices()

    def shift_text_scale(self, steps: int) -> None:
        """Larger or smaller by steps."""
        scales = fonts.TEXT_SCALES
        index = scales.index(self.settings.text_scale) + steps
        self.set_text_scale(scales[min(max(index, 0), len(scales) - 1)])

    def set_motion(self, moving: bool) -> None:
        """Whether what flows may be drawn moving."""
        self.settings.motion = moving
        self.board.set_motion(moving)
        self._show_choices()

    def set_full_screen(self, full: bool) -> None:
        """The whole screen, or a window."""
        if full:
            self.showFullScreen()
        else:
            self.showNormal()

    def ask_time(self) -> None:
        """Let the user type a time."""
        field = self.board.replay.findChild(QLineEdit)
        field.setFocus(Qt.FocusReason.ShortcutFocusReason)
        field.selectAll()

    def show_about(self) -> QDialog:
        """What this is."""
        # Few look, and the versions take time to gather.
        from desktop.window.about import AboutBox

        return self.shown_dialog(AboutBox(self))

    def show_procedure(self) -> QDialog:
        """What to do, step after step."""
        return show_procedure(self)

    def show_cautions(self) -> QDialog:
        """What can hurt."""
        from desktop.window.about import CautionsBox

        return self.shown_dialog(CautionsBox(self))

    def show_details(self) -> QDialog:
        """The review as text, and how the recording was read."""
        from desktop.window.details import DetailsBox

        return self.shown_dialog(DetailsBox(self.ready.review, self))

    def shown_dialog(self, dialog: QDialog) -> QDialog:
        """Show a dialog over the window; it is gone once it is closed."""
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()
        return dialog

    # Events

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Files may be dropped."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open them."""
        event.acceptProposedAction()
        self.open_names([url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys that nothing with the focus wanted."""
        if event.key() == Qt.Key.Key_Space and self.ready is not None:
            self.board.replay.toggle()
        elif event.key() == Qt.Key.Key_Escape and self.isFullScreen():
            self.menus.full.setChecked(False)
            self.set_full_screen(False)
        else:
            super().keyPressEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """Full screen may be left by other ways than ours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.WindowStateChange:
            self.menus.full.setChecked(self.isFullScreen())

    def closeEvent(self, event: QCloseEvent) -> None:
        """Remember the layout, and end every thread; a dialog may ask first whether to keep what was changed."""
        for dialog in self.findChildren(QDialog):
            if dialog.isVisible() and not dialog.close():
                event.ignore()
                return
        self.settings.geometry = self.saveGeometry()
        self._keep_splitters()
        self.settings.save()
        self.board.stop()
        self.live.close()
        self.opener.close()
        super().closeEvent(event)

    # Putting together

    def _make_parts(self) -> None:
        self.notice = Notice()
        self.board = Board()
        self.empty = EmptyPage(self.demos)
        self.strip, self.first = LiveStrip(), FirstPage()
        self._lay_out()
        self.menus = Menus(self)
        self._connect_parts()

    def _make_anew(self) -> None:
        """Another set of parts that shows the same: parts take their words when they are made."""
        board, work = self.board, self.notice.work
        board.stop()
        if board.arranged:
            self._keep_splitters()
        self.setMenuBar(QMenuBar())
        self._make_parts()
        self._restore_parts()
        if self.ready is not None:
            show = self.show_live if self.live.growing else self.show_ready
            show(self.ready, board.cursor_of_time.instant)
            self.board.show_like(board)
        if work:
            self.notice.show_work(work)
        if self.sheet.dialog is not None and not self.sheet.dialog.changed:
            self.sheet.dialog.reject()
            self.show_sheet()
        renew_procedure(self)

    def _lay_out(self) -> None:
        self.stack = QStackedWidget()
        self.stack.addWidget(self.empty)
        self.stack.addWidget(self.board)
        self.stack.addWidget(self.first)
        middle = QWidget()
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.notice)
        column.addWidget(self.strip.framed)
        column.addWidget(self.teaching.make_parts().framed)
        column.addWidget(self.stack, 1)
        self.setCentralWidget(middle)
        self.setWindowTitle("Headrace")
        self.setAcceptDrops(True)
        self.setMinimumSize(*_LEAST)

    def _connect_parts(self) -> None:
        self.empty.open_asked.connect(self.ask_open)
        self.empty.demo_asked.connect(self.open_demo)
        self.notice.cancelled.connect(self.opener.stop)
        self.opener.started.connect(self.notice.show_work)
        self.opener.progressed.connect(self.notice.show_progress)
        self.opener.failed.connect(self.notice.show_error)
        self.sheet.failed.connect(self.notice.show_error)
        self.live.connect_parts()
        self.teaching.connect_parts()
        self.look.connect_parts()
        self.plan.make_anew()

    def _connect(self) -> None:
        self.opener.ready.connect(self.show_again)
        self.opener.unclear.connect(self.show_columns)
        self.sheet.review_asked.connect(self.opener.review_again)
        self.sheet.columns_asked.connect(self.ask_columns)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._dress)

    def _restore(self) -> None:
        self.resize(*_SIZE)
        if not self.settings.geometry.isEmpty():
            self.restoreGeometry(self.settings.geometry)
        self._restore_parts()

    def _restore_parts(self) -> None:
        self.board.set_motion(self.settings.motion)
        self._dress()
        for name, splitter in (("left", self.board.left), ("columns", self.board.columns)):
            state = self.settings.splitter(name)
            if splitter.restoreState(state):
                self.board.arranged = True

    def _keep_splitters(self) -> None:
        self.settings.set_splitter("left", self.board.left.saveState())
        self.settings.set_splitter("columns", self.board.columns.saveState())

    def _dress(self) -> None:
        self.board.set_theme(theme.apply(self.settings.theme))
        self._show_choices()

    def _show_choices(self) -> None:
        settings = self.settings
        self.menus.show_choices(settings)

    def show_again(self, ready: Ready) -> None:
        """Show a review; the same recording with another sheet or a correction at the same instant."""
        same = self.ready is not None and ready.wanted is not None and ready.wanted == self.ready.wanted
        self.show_ready(ready, self.board.cursor_of_time.instant if same else None)

    def _name_it(self, ready: Ready) -> None:
        recording, zone = ready.review.recording, ready.review.site.zone
        name = recording.provenance.name or tr("Recording")
        day = f"{local(int(recording.time[0]), zone):%Y-%m-%d}"
        site = ready.review.site.site.name
        text = str(Phrase("{name} · recorded {day}", name=f"{site} · {name}" if site else name, day=day))
        self.board.origin.show_text(text)
        self.setWindowTitle(f"{name} – Headrace")

    def is_demo(self, wanted: Wanted) -> bool:
        """Whether these files came along with the program."""
        return wanted.paths in [(demo.path,) for demo in self.demos]

    def file_dialog(self, title: str, filters: Sequence[str]) -> QFileDialog:
        """A dialog that chooses files."""
        dialog = QFileDialog(self, title, self.settings.folder)
        dialog.setNameFilters(filters)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        if QApplication.platformName() == "offscreen":
            dialog.setOption(QFileDialog.Option.DontUseNativeDialog)
        return dialog
