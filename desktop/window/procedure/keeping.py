"""Keeps the procedure together with what the window shows: one list, which follows the cursor."""

from __future__ import annotations

import time
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt

from desktop.procedure.course import Course, Standing
from desktop.window.parts.times import Times
from desktop.words import tr

if TYPE_CHECKING:
    from desktop.review import Review
    from desktop.review.moment import Moment
    from desktop.window.board.board import Board
    from desktop.window.main import MainWindow
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
    """Ticks stay while the list is closed. Another recording has another list."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self.setObjectName(_NAME)
        self._window = window
        self._board: Board | None = None
        self._review: Review | None = None
        self.course = Course()
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
            self.dialog.anew_asked.connect(self._begin_anew)
            self.dialog.finished.connect(self._closed)
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

    def _follow(self, moment: Moment) -> None:
        if self.dialog is not None:
            self._look(moment)

    def _look(self, moment: Moment | None = None) -> None:
        ready = self._window.ready
        review = None if ready is None else ready.review
        if review is not self._review:
            self._review = review
            self.course = Course(review)
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
            self.dialog.show_standing(self.standing, self._times, heading)

    def _times(self, instant: int) -> str:
        if self._review is None:
            zone = datetime.now().astimezone().tzinfo
            return Times(zone=zone)(instant) if zone is not None else Times()(instant)
        stamps = self._review.recording.time
        return Times(int(stamps[0]), int(stamps[-1]), self._review.site.zone)(instant)

    def _tick(self, key: str) -> None:
        self.course.toggle(key, self._as_of_now())
        self._look()

    def _begin_anew(self) -> None:
        self.course.begin_anew(self._as_of_now())
        self._look()

    def _as_of_now(self) -> Standing:
        if self._review is None:
            self.standing = self.course.alone(time.time_ns())
        return self.standing

    def _closed(self) -> None:
        self.dialog = None
