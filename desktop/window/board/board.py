"""The board: all instruments in their places, every one showing the moment under the one cursor."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QApplication, QSizePolicy, QSplitter, QVBoxLayout, QWidget

from desktop.review.foresight import Foresight, foresee
from desktop.review.moment import Moment
from desktop.review.telling import most_telling
from desktop.teaching.hiding import begun_by, unjudged
from desktop.window.board.scrolling import Column, Instruments, reveal
from desktop.window.cursor import Cursor
from desktop.window.diagram.view import DiagramView
from desktop.window.evidence.corrected import CorrectedStrip
from desktop.window.live.lull import Lull, as_of_then
from desktop.window.opening import Ready
from desktop.window.panels.findings import FindingsPanel
from desktop.window.panels.limits import LimitsPanel
from desktop.window.panels.sentence import SentencePanel
from desktop.window.panels.session import SessionPanel
from desktop.window.parts.panel import Panel
from desktop.window.parts.roles import tell_roles
from desktop.window.parts.text import Elided, Text
from desktop.window.parts.times import Times
from desktop.window.replay.bar import ReplayBar
from desktop.window.replay.pace import Pace
from desktop.window.style.look import look
from desktop.window.trends.view import TrendView
from desktop.words import tr

FORETOLD_MS = 1000
"""Looking ahead takes time: it is done no oftener than this."""

_GAP = 8
_COLUMN, _WIDEST = 0.32, 0.4
_CHARACTERS, _DIAGRAM_LINES, _TREND_LINES = 46, 12, 11
"""What diagram and trends need at least, in characters and lines of their text."""
_SHARES = [525, 475]
_AHEAD, _MOST_AHEAD_NS = 0.25, 3_600_000_000_000
"""Room for what is to come, as a share of what was recorded, and at most."""
_LATEST_NS = 900_000_000_000
"""How much of the last time the trends show at first of what grows."""


class Board(QWidget):
    """Shows one review, which may grow.

    shown   a moment is shown (Moment)
    pinned  the cursor goes with the end of what grows, or does so no longer (bool)
    """

    shown = Signal(object)
    pinned = Signal(bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        tell_roles()
        self.cursor_of_time = Cursor()
        self._ready: Ready | None = None
        self.moment: Moment | None = None
        self.pace = Pace(self)
        self.news = Pace(self)
        self.news.set_calm(True)
        self.foretelling = Pace(self, FORETOLD_MS)
        self._lull: Lull | None = None
        self._growing = False
        self._hidden: int | None = None
        self._seen: int | None = None
        self.arranged = False
        self.corrected = CorrectedStrip()
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
        self.stale_words = [_stale_word(panel) for panel in (now, self.limits, self.session)]
        self.left.addWidget(now)
        self.left.addWidget(_framed("", self.trends))
        self.left.setStretchFactor(0, 53)
        self.left.setStretchFactor(1, 47)
        self.left.setSizes(_SHARES)
        self.columns = QSplitter(Qt.Orientation.Horizontal)
        self.instruments = Instruments(self.left)
        self.columns.addWidget(self.instruments)
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
        column.addWidget(self.corrected)
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
        self.trends.view_changed.connect(self._looked)
        self.replay.moved.connect(self._replayed)
        self.replay.held.connect(cursor.release)
        self.replay.playing_changed.connect(self._pace_changed)
        self.findings.chosen.connect(cursor.move)
        self.findings.list.selectionModel().currentChanged.connect(self._reveal)
        self.session.asked.connect(cursor.move)
        self.pace.due.connect(self._show)
        self.news.due.connect(self._catch_up)
        self.foretelling.due.connect(self._foretell)

    def show_ready(self, ready: Ready, instant: int | None = None, *, live: bool = False) -> None:
        """Show a review.

        instant  to show first (UTC nanoseconds), None for the most telling one, or the end of what grows
        live     it grows: `grow` is called after each growth
        """
        review, cursor = ready.review, self.cursor_of_time
        self.hide_after(None)
        self._ready, self._lull = ready, None
        zone, time = review.site.zone, review.recording.time
        cursor.set_live(False)
        cursor.set_range(int(time[0]), int(time[-1]))
        cursor.set_live(live)
        self.trends.set_live(live, _LATEST_NS)
        self.trends.set_ahead(self._room_ahead())
        times = Times(cursor.first, cursor.last, zone)
        self._several_days = times.several_days
        self.sentence.set_times(times)
        self.sentence.make_room(() if live else review.findings)
        self.sentence.set_foretelling(live or bool(review.sessions))
        self.limits.forget()
        self.session.set_sessions(review.sessions, times)
        self.findings.set_findings(review.findings, times)
        self.trends.set_source(ready.trends, ready.store)
        self.replay.set_recording(cursor.first, cursor.last, zone)
        self.replay.set_findings(ready.trends.bands)
        if instant is None:
            instant = cursor.last if live else most_telling(review)
        cursor.place(instant)
        self._tell_pinned()
        self._point(cursor.instant)
        self.pace.now()

    def hide_after(self, instant: int | None, seen: int | None = None, why: str = "") -> None:
        """Show nothing of what comes after an instant (UTC nanoseconds), and don't go there; None: all of it.

        While anything is hidden, nothing is said of what was found.

        seen  how far curves and sessions may be shown so far; None: up to the instant
        why   what is said in place of what was found
        """
        if self._ready is None:
            return
        self.findings.hide_after(instant, why)
        seen = instant if instant is None or seen is None else min(seen, instant)
        if (instant, seen) == (self._hidden, self._seen):
            return
        anew = instant != self._hidden
        self._hidden, self._seen = instant, seen
        self._show_seen()
        if anew:
            self._hide()

    def _show_seen(self) -> None:
        review, time = self._ready.review, self._ready.review.recording.time
        times = Times(int(time[0]), int(time[-1]), review.site.zone)
        self.trends.hide_after(self._seen)
        self.session.set_sessions(begun_by(review.sessions, self._seen), times, self._seen is None)

    def _hide(self) -> None:
        review, time, cursor = self._ready.review, self._ready.review.recording.time, self.cursor_of_time
        self.replay.hide_after(self._hidden)
        self.sentence.set_foretelling(self._hidden is None and (cursor.live or bool(review.sessions)))
        cursor.set_range(int(time[0]), int(time[-1]) if self._hidden is None else self._hidden)
        self._point(cursor.instant)
        self.pace.now()

    def grow(self) -> None:
        """The review that is shown has more rows: water and curves go on at once, words at their pace."""
        ready, cursor = self._ready, self.cursor_of_time
        time = ready.review.recording.time
        self._growing = True
        ready.trends.refresh(ready.review)
        cursor.set_range(int(time[0]), int(time[-1]))
        self.trends.refresh(follow=cursor.pinned)
        self._growing = False
        if cursor.pinned:
            self.diagram.show_moment(self._moment(), words=False)
        self.news.ask()

    def set_lull(self, lull: Lull | None) -> None:
        """Readings have stopped coming; None: they come."""
        if lull != self._lull:
            self._lull = lull
            self.pace.now()

    def go_live(self) -> None:
        """Go to the end of what grows, and with it."""
        self.cursor_of_time.move(self.cursor_of_time.last)
        self.trends.to_end()

    def end_growth(self) -> None:
        """What is shown grows no more; the cursor stays where it is."""
        self.cursor_of_time.set_live(False)
        self.news.stop()
        self._lull = None
        if self._ready is not None:
            self._catch_up()
        self._tell_pinned()

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
        self.news.stop()
        self.foretelling.stop()

    def _follow(self, instant: int) -> None:
        self._tell_pinned()
        self._point(instant)
        self.pace.ask()

    def _room_ahead(self) -> int:
        """How much room a forecast as of the last row needs behind it, nanoseconds."""
        forecast = self._ready.review.forecast
        if forecast is None:
            return 0
        cursor = self.cursor_of_time
        seen = cursor.last - cursor.first
        if cursor.live:
            seen = min(seen, _LATEST_NS)
        return max(0, min(int(forecast.fan.time[-1]) - cursor.last, round(_AHEAD * seen), _MOST_AHEAD_NS))

    def _replayed(self, instant: int) -> None:
        """The end that the replay knows may have moved on."""
        cursor = self.cursor_of_time
        cursor.move(cursor.last if cursor.live and instant == self.replay.clock.last else instant)

    def _tell_pinned(self) -> None:
        pinned = self.cursor_of_time.pinned
        if pinned != self.replay.following:
            self.replay.set_following(pinned)
            self.pinned.emit(pinned)

    def _looked(self) -> None:
        """Who looks at an earlier stretch of time than the end doesn't want to be taken there."""
        window = self.trends.window_of_time
        if self.cursor_of_time.pinned and not self._growing and not window.follows:
            self.cursor_of_time.release()

    def _catch_up(self) -> None:
        """Show what is new in words."""
        ready, cursor = self._ready, self.cursor_of_time
        review = ready.review
        times = Times(cursor.first, cursor.last, review.site.zone)
        if times.several_days != self._several_days:
            self._several_days = times.several_days
            self.sentence.set_times(times)
        self.session.set_sessions(review.sessions, times)
        self.replay.set_recording(cursor.first, cursor.last, review.site.zone)
        self.trends.set_ahead(self._room_ahead())
        if review.findings != self.findings.model.findings:
            self.findings.update_findings(review.findings, times)
            self.replay.set_findings(ready.trends.bands)
        if cursor.pinned:
            self._point(cursor.instant)
        self.pace.now()

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
        moment = self._moment()
        self.moment = moment
        for word in self.stale_words:
            word.setVisible(moment.stale)
        self.sentence.show_moment(moment)
        self.diagram.show_moment(moment)
        self.limits.show_moment(moment)
        self.session.show_moment(moment)
        self.findings.show_moment(moment)
        if moment.session is None or moment.stale or self._hidden is not None:
            self._show_foresight(None)
        else:
            self.foretelling.ask()
        self.shown.emit(moment)

    def _foretell(self) -> None:
        """Say what is to come from the moment that is shown."""
        moment = self.moment
        if self._ready is None or moment is None or moment.session is None or moment.stale:
            return
        self._show_foresight(foresee(self._ready.review, moment.time))

    def _show_foresight(self, seen: Foresight | None) -> None:
        # A charge that something is about to cut short has no end to look forward to.
        ahead = None if self.moment is None or self.moment.severity == "act now" else seen
        self.sentence.show_ahead([] if ahead is None else ahead.lines(self._ready.review.site.zone))
        self.session.show_foresight(seen)
        self.trends.set_fan(None if ahead is None or ahead.forecast is None else ahead.forecast.fan)

    def _moment(self) -> Moment:
        review, lull = self._ready.review, self._lull
        if self._hidden is not None:
            return unjudged(review.moment(self.cursor_of_time.instant), review.sessions, review.site.zone)
        if lull is None or not self.cursor_of_time.pinned:
            return review.moment(self.cursor_of_time.instant)
        return as_of_then(review.moment(lull.since), lull, review.site.zone)


def _stale_word(panel: Panel) -> Text:
    word = Text(tr("stale"), bold=True, size=0.92, tone="attend")
    word.hide()
    panel.head.insertWidget(1, word)
    if panel.head.count() == 2:
        panel.head.addStretch(1)
    return word


def _framed(title: str, widget: QWidget, tall: bool = True) -> Panel:
    panel = Panel(title)
    panel.body.addWidget(widget, 1)
    panel.frame_focus(widget)
    if not tall:
        panel.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
    return panel
