"""Keeps the procedure together with what the window shows: one list, which follows the cursor."""

from __future__ import annotations

import time
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QRect, Qt, QTimer

from desktop.procedure.course import ANEW, Course, Standing
from desktop.procedure.plants import PlantTicks
from desktop.procedure.steps import NUMBER
from desktop.window.parts.times import Times
from desktop.window.procedure.placing import beside
from desktop.words import Phrase, tr

if TYPE_CHECKING:
    from desktop.procedure.ticks import Ticks
    from desktop.review import Review
    from desktop.review.moment import Moment
    from desktop.window.board.board import Board
    from desktop.window.main import MainWindow
    from desktop.window.opening import Ready
    from desktop.window.procedure.dialog import ProcedureDialog

_NAME = "headraceProcedure"


def show_procedure(window: MainWindow) -> ProcedureDialog:
    """Show the procedure beside a window; where it is shown already, bring it to the front."""
    return _of(window).show()


def renew_procedure(window: MainWindow) -> None:
    """The window has other parts, which speak another language: the list too, if there is one."""
    kept = window.findChild(ProcedureKeeping, _NAME)
    if kept is not None:
        kept.renew()


def _of(window: MainWindow) -> ProcedureKeeping:
    kept = window.findChild(ProcedureKeeping, _NAME)
    return ProcedureKeeping(window) if kept is None else kept


class ProcedureKeeping(QObject):
    """Ticks stay while the list is closed, and while something else is shown: each plant has its own."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self.setObjectName(_NAME)
        self._window = window
        self._board: Board | None = None
        self._review: Review | None = None
        self._ticks = PlantTicks()
        self._large = False
        self._placed = QRect()
        self._over_board = False
        self.course = Course(ticks=self._ticks.alone)
        self.standing: Standing = self.course.alone(time.time_ns())
        self.dialog: ProcedureDialog | None = None

    def show(self) -> ProcedureDialog:
        """Show the list."""
        self._watch()
        if self.dialog is None:
            # Few look at it at every start.
            from desktop.window.procedure.dialog import ProcedureDialog

            self.dialog = ProcedureDialog(self.standing, self._times, self._window)
            self.dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
            self.dialog.ticked.connect(self._tick)
            self.dialog.connected.connect(self._connected)
            self.dialog.anew_asked.connect(self._begin_anew)
            self.dialog.back_asked.connect(self._take_back)
            self.dialog.zoom_asked.connect(self._window.shift_text_scale)
            self._place()
            self.dialog.finished.connect(self._closed)
            self._look()
            self.dialog.set_large(self._large)
            # How high it has to be shows only when its words have found their places.
            QTimer.singleShot(0, self.dialog, self._place_again)
        else:
            self._look()
        self.dialog.show()
        self.dialog.raise_()
        self.dialog.activateWindow()
        return self.dialog

    def renew(self) -> None:
        """Make the list again, where there is one."""
        if self.dialog is not None:
            self.dialog.close()
            self.show()

    def _watch(self) -> None:
        board = self._window.board
        if self._board is not board:
            self._board = board
            board.shown.connect(self._follow)
            self._window.live.watching.began.connect(self._leave, Qt.ConnectionType.UniqueConnection)

    def _follow(self, moment: Moment) -> None:
        if self.dialog is not None:
            self._look(moment)
            if not self._over_board and self.dialog.geometry() == self._placed:
                self._place()

    def _place_again(self) -> None:
        if self.dialog is not None and not self.dialog.large:
            self._place()

    def _place(self) -> None:
        """Beside the window; over it only where there is no other room, and then not over what calls in it."""
        self._over_board = self._window.board.columns.isVisible()
        self._placed = beside(self._window, self.dialog)
        self.dialog.setGeometry(self._placed)

    def _leave(self) -> None:
        """What was followed is left for something that has no readings yet."""
        if self.dialog is not None:
            self._look()

    def _look(self, moment: Moment | None = None) -> None:
        ready = self._window.ready
        review = None if ready is None else ready.review
        if review is not self._review:
            self._review = review
            self.course = Course(review, self._ticks_of(ready))
        moment = self._window.board.moment if moment is None else moment
        if self._review is None or moment is None:
            self.standing = self.course.alone(time.time_ns())
            heading = tr("Follows no readings: every step is yours to tick.")
        else:
            from desktop.window.procedure.dialog import belonging

            self.standing = self.course.at(moment)
            site = self._review.site.site.name
            heading = belonging(
                site or self._review.recording.provenance.name or tr("Recording"), self._times(moment.time)
            )
        if self.dialog is not None:
            self.dialog.show_standing(self.standing, self._times, heading, self._last_said())

    def _ticks_of(self, ready: Ready | None) -> Ticks:
        """Another sheet, or something put right in a recording, is the same plant still."""
        if ready is None:
            return self._ticks.alone
        if ready.wanted is not None:
            return self._ticks.of(ready.wanted.paths, live=False)
        wish = self._window.live.watching.wish
        if self._window.live.growing and wish is not None:
            return self._ticks.of(wish.source, live=True)
        return self._ticks.of(ready.review.recording.provenance.name, live=False)

    def _last_said(self) -> str:
        last = self.course.last_said(self.standing)
        if last is None:
            return ""
        if last == ANEW:
            return tr("&Take back the new beginning")
        return str(Phrase("&Take back step {number:d}", number=NUMBER[last]))

    def _times(self, instant: int) -> str:
        if self._review is None:
            zone = datetime.now().astimezone().tzinfo
            return Times(zone=zone)(instant) if zone is not None else Times()(instant)
        stamps = self._review.recording.time
        return Times(int(stamps[0]), int(stamps[-1]), self._review.site.zone)(instant)

    def _tick(self, key: str) -> None:
        self.course.toggle(key, self._as_of_now())
        self._look()

    def _connected(self) -> None:
        self.course.connected_before(self._as_of_now())
        self._look()

    def _take_back(self) -> None:
        self.course.take_back(self._as_of_now())
        self._look()

    def _begin_anew(self) -> None:
        self.course.begin_anew(self._as_of_now())
        self._look()

    def _as_of_now(self) -> Standing:
        if self._review is None:
            self.standing = self.course.alone(time.time_ns())
        return self.standing

    def _closed(self) -> None:
        self._large = self.dialog is not None and self.dialog.large
        self.dialog = None
