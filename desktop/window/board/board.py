"""The board: all instruments in their places, every one showing the moment under the one cursor."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QApplication, QSizePolicy, QSplitter, QVBoxLayout, QWidget

from desktop.review.moment import Moment
from desktop.window.board.scrolling import Column, Instruments, reveal
from desktop.window.cursor import Cursor, most_telling
from desktop.window.diagram.view import DiagramView
from desktop.window.opening import Ready
from desktop.window.panels.findings import FindingsPanel
from desktop.window.panels.limits import LimitsPanel
from desktop.window.panels.sentence import SentencePanel
from desktop.window.panels.session import SessionPanel
from desktop.window.parts.panel import Panel
from desktop.window.parts.roles import tell_roles
from desktop.window.parts.text import Elided
from desktop.window.parts.times import Times
from desktop.window.replay.bar import ReplayBar
from desktop.window.replay.pace import Pace
from desktop.window.style.look import look
from desktop.window.trends.view import TrendView
from desktop.words import tr

_GAP = 8
_COLUMN, _WIDEST = 0.32, 0.4
_CHARACTERS, _DIAGRAM_LINES, _TREND_LINES = 46, 13, 11
"""What diagram and trends need at least, in characters and lines of their text."""
_SHARES = [525, 475]


class Board(QWidget):
    """Shows one review.

    shown  a moment is shown (Moment)
    """

    shown = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        tell_roles()
        self.cursor_of_time = Cursor()
        self._ready: Ready | None = None
        self.moment: Moment | None = None
        self.pace = Pace(self)
        self.arranged = False
        self.sentence = SentencePanel()
        self.diagram = DiagramView()
        self.origin = Elided(tone="muted", size=0.92)
        self.trends = TrendView()
        self.limits = LimitsPanel()
        self.session = SessionPanel()
        self.findings = FindingsPanel()
        self.replay = ReplayBar()
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        self.left = QSplitter(Qt.Orientation.Vertical)
        now = _framed(tr("Power now"), self.diagram)
        self.origin.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        now.head.addWidget(self.origin, 1)
        self.left.addWidget(now)
        self.left.addWidget(_framed("", self.trends))
        self.left.setStretchFactor(0, 53)
        self.left.setStretchFactor(1, 47)
        self.left.setSizes(_SHARES)
        self.columns = QSplitter(Qt.Orientation.Horizontal)
        self.columns.addWidget(Instruments(self.left))
        self.columns.addWidget(self._right())
        self.columns.setStretchFactor(0, 1)
        self.columns.setStretchFactor(1, 0)
        self._measure()
        look().changed.connect(self._measure)
        for splitter in (self.left, self.columns):
            splitter.setChildrenCollapsible(False)
            splitter.setHandleWidth(_GAP)
        column = QVBoxLayout(self)
        column.setContentsMargins(_GAP, _GAP, _GAP, _GAP)
        column.setSpacing(_GAP)
        column.addWidget(self.sentence)
        column.addWidget(self.columns, 1)
        column.addWidget(_framed("", self.replay, tall=False))

    def _measure(self) -> None:
        metrics = self.fontMetrics()
        for part, lines in ((self.diagram, _DIAGRAM_LINES), (self.trends, _TREND_LINES)):
            part.setMinimumSize(metrics.averageCharWidth() * _CHARACTERS, metrics.lineSpacing() * lines)

    def _right(self) -> Column:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(_GAP)
        column.addWidget(self.limits)
        column.addWidget(self.session)
        column.addWidget(self.findings, 1)
        self.right = Column(inside, self.findings)
        return self.right

    def _connect(self) -> None:
        cursor = self.cursor_of_time
        cursor.watch(self._follow)
        self.trends.cursor_moved.connect(cursor.move)
        self.replay.moved.connect(cursor.move)
        self.replay.playing_changed.connect(self._pace_changed)
        self.findings.chosen.connect(cursor.move)
        self.findings.list.selectionModel().currentChanged.connect(self._reveal)
        self.session.asked.connect(cursor.move)
        self.pace.due.connect(self._show)

    def show_ready(self, ready: Ready, instant: int | None = None) -> None:
        """Show a review at an instant (UTC nanoseconds), None for the most telling one."""
        review, cursor = ready.review, self.cursor_of_time
        self._ready = ready
        zone, time = review.site.zone, review.recording.time
        cursor.set_range(int(time[0]), int(time[-1]))
        times = Times(cursor.first, cursor.last, zone)
        self.sentence.set_times(times)
        self.limits.forget()
        self.session.set_sessions(review.sessions, times)
        self.findings.set_findings(review.findings, times)
        self.trends.set_source(ready.trends, ready.store)
        self.replay.set_recording(cursor.first, cursor.last, zone)
        self.replay.set_findings(ready.trends.bands)
        start = most_telling(review) if instant is None else instant
        cursor.place(start)
        self._point(cursor.instant)
        self.pace.now()

    def show_like(self, other: Board) -> None:
        """See the same curves and stretch of time as another board that shows the same review."""
        self.trends.show_curves(other.trends.shown_curves)
        seen = other.trends.window_of_time
        if seen is not None:
            self.trends.show_between(seen.start, seen.stop)

    def usual_layout(self) -> None:
        """As it is at first."""
        self.left.setSizes(_SHARES)
        whole = self.columns.width()
        roomy = min(self.limits.side_by_side() + self.right.beside(), round(_WIDEST * whole))
        wanted = max(self.right.needed(), roomy, round(_COLUMN * whole))
        self.columns.setSizes([max(1, whole - wanted - _GAP), wanted])

    def showEvent(self, event: QShowEvent) -> None:
        """At first, and where nothing was remembered, everything has its usual share. Keys have a place."""
        super().showEvent(event)
        if not self.arranged:
            self.arranged = True
            self.layout().activate()
            self.usual_layout()
        # What had the focus before has gone out of sight with its page.
        focused = QApplication.focusWidget()
        if focused is None or not focused.isVisible():
            self.sentence.setFocus(Qt.FocusReason.OtherFocusReason)

    def set_theme(self, name: str) -> None:
        """`light` or `dark`, for those who paint by themselves."""
        for part in (self.diagram, self.trends, self.replay):
            part.set_theme(name)

    def set_motion(self, moving: bool) -> None:
        """Whether what flows may be drawn moving."""
        self.diagram.set_motion(moving)

    def stop(self) -> None:
        """Stand still: no timer runs on."""
        if self.replay.clock.playing:
            self.replay.toggle()
        self.pace.stop()

    def _follow(self, instant: int) -> None:
        self._point(instant)
        self.pace.ask()

    def _point(self, instant: int) -> None:
        self.trends.set_cursor(instant, keep_in_view=True)
        self.replay.set_instant(instant)

    def _reveal(self, row: QModelIndex) -> None:
        listed = self.findings.list
        if listed.hasFocus():
            listed.scrollTo(row)
            reveal(listed.viewport(), listed.visualRect(row))

    def _pace_changed(self, playing: bool) -> None:
        self.sentence.set_calm(playing)
        self.pace.set_calm(playing)
        self.pace.now()

    def _show(self) -> None:
        if self._ready is None:
            return
        moment = self._ready.review.moment(self.cursor_of_time.instant)
        self.moment = moment
        self.sentence.show_moment(moment)
        self.diagram.show_moment(moment)
        self.limits.show_moment(moment)
        self.session.show_moment(moment)
        self.findings.show_moment(moment)
        self.shown.emit(moment)


def _framed(title: str, widget: QWidget, tall: bool = True) -> Panel:
    panel = Panel(title)
    panel.body.addWidget(widget, 1)
    panel.frame_focus(widget)
    if not tall:
        panel.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
    return panel
