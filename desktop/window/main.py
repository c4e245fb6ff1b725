"""The main window: its parts, what they show, and what is remembered. What is shown of a review is the board's."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QGuiApplication, QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QLineEdit,
    QMainWindow,
    QMenuBar,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from desktop.opening import Demo, demos
from desktop.window.appearance import Appearance
from desktop.window.board.board import Board
from desktop.window.boxes import Boxes
from desktop.window.comparing.control import Comparing
from desktop.window.empty import EmptyPage
from desktop.window.evidence.control import LookInto
from desktop.window.files import Files
from desktop.window.live.control import Live
from desktop.window.live.first_page import FirstPage
from desktop.window.live.strip import LiveStrip
from desktop.window.live.watching import Open
from desktop.window.menus import Menus
from desktop.window.notice import Notice
from desktop.window.opening import Opener, Ready
from desktop.window.plan.control import Planning
from desktop.window.procedure import renew_procedure, show_procedure
from desktop.window.settings import Settings
from desktop.window.sheet.editing import SheetEditing
from desktop.window.style import fonts, theme
from desktop.window.teaching.control import Teaching
from desktop.words import Phrase, local, tr

_SIZE = (1440, 900)
_LEAST = (960, 600)


class MainWindow(Files, Appearance, Boxes, QMainWindow):
    """One window, one recording, one cursor."""

    def __init__(self, settings: Settings | None = None, open_one: Open | None = None) -> None:
        super().__init__()
        self.settings = settings or Settings()
        self.demos: Sequence[Demo] = demos()
        self.ready: Ready | None = None
        self._asks = True
        self.opener = Opener(self)
        self.sheet = SheetEditing(self)
        self.teaching = Teaching(self)
        self.live = Live(self, open_one)
        self.look = LookInto(self)
        self.plan = Planning(self)
        self.comparing = Comparing(self)
        fonts.set_text_scale(self.settings.text_scale)
        theme.apply(self.settings.theme)
        self._make_parts()
        self._connect()
        self._restore()

    # What is open

    def show_ready(self, ready: Ready, instant: int | None = None) -> None:
        """Show a review at an instant (UTC nanoseconds), None for the most telling one."""
        if self.live.on:
            self.live.stop()
        self.notice.hide()
        self.ready = ready
        self.board.show_ready(ready, instant)
        self.stack.setCurrentWidget(self.board)
        self.menus.set_open(True)
        self.name_it()
        self.sheet.follow(ready)
        self.look.follow(ready)
        self.plan.follow(ready)
        self.comparing.follow(ready)
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
        self.comparing.follow(None)
        self.teaching.follow(None)

    def show_again(self, ready: Ready) -> None:
        """Show a review; the same recording with another sheet or a correction at the same instant."""
        same = self.ready is not None and ready.wanted is not None and ready.wanted == self.ready.wanted
        self.show_ready(ready, self.board.cursor_of_time.instant if same else None)

    def name_it(self, title: str = "") -> None:
        """Say what is open: its name, site and day; a title alone where the name would tell too much."""
        review = self.ready.review
        if title:
            self.board.origin.show_text(title)
            self.setWindowTitle(f"{title} – Headrace")
            return
        recording, zone = review.recording, review.site.zone
        name = recording.provenance.name or tr("Recording")
        day = f"{local(int(recording.time[0]), zone):%Y-%m-%d}"
        site = review.site.site.name
        text = str(Phrase("{name} · recorded {day}", name=f"{site} · {name}" if site else name, day=day))
        self.board.origin.show_text(text)
        self.setWindowTitle(f"{name} – Headrace")

    def ask_time(self) -> None:
        """Let the user type a time."""
        field = self.board.replay.findChild(QLineEdit)
        field.setFocus(Qt.FocusReason.ShortcutFocusReason)
        field.selectAll()

    def show_procedure(self) -> QDialog:
        """What to do, step after step."""
        return show_procedure(self)

    def end(self) -> None:
        """Close the window, and a recording with it, without a question about that."""
        self._asks = False
        self.close()

    # Events

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys that nothing with the focus wanted."""
        if event.key() == Qt.Key.Key_Space and self.ready is not None:
            self.board.replay.toggle()
        elif event.key() == Qt.Key.Key_Escape and self.isFullScreen():
            self.menus.full.setChecked(False)
            self.set_full_screen(False)
        else:
            super().keyPressEvent(event)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Remember the layout, and end every thread; first it may be asked about a recording, or by a dialog
        whether to keep what was changed."""
        if self._asks and self.live.keeps_open():
            event.ignore()
            return
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
        self.look.close()
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

    def make_anew(self) -> None:
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
        self.comparing.make_anew()

    def _connect(self) -> None:
        self.opener.ready.connect(self.show_again)
        self.opener.unclear.connect(self.show_columns)
        self.sheet.review_asked.connect(self.opener.review_again)
        self.sheet.columns_asked.connect(self.ask_columns)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self.dress)

    def _restore(self) -> None:
        self.resize(*_SIZE)
        if not self.settings.geometry.isEmpty():
            self.restoreGeometry(self.settings.geometry)
        self._restore_parts()

    def _restore_parts(self) -> None:
        self.board.set_motion(self.settings.motion)
        self.dress()
        for name, splitter in (("left", self.board.left), ("columns", self.board.columns)):
            state = self.settings.splitter(name)
            if splitter.restoreState(state):
                self.board.arranged = True

    def _keep_splitters(self) -> None:
        self.settings.set_splitter("left", self.board.left.saveState())
        self.settings.set_splitter("columns", self.board.columns.saveState())
