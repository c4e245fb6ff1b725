"""Trends: curves in stacked panes on one time axis, with one cursor."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRect, QSize, Qt, Signal
from PySide6.QtGui import QAccessible, QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from desktop.charging.forecast.forecast import Fan
from desktop.picture.trends.bands import BandTable, over_by
from desktop.picture.trends.fan import fan_from
from desktop.picture.trends.source import Pane, Series, TrendSource
from desktop.picture.trends.store import LevelStore
from desktop.picture.trends.window import TimeWindow
from desktop.window.trends.chooser import CurveChooser
from desktop.window.trends.colours import TrendColours
from desktop.window.trends.fan import FAN_PANE, draw_fan
from desktop.window.trends.gestures import Gestures
from desktop.window.trends.layout import TrendLayout, lay_out
from desktop.window.trends.paint import Frame, Scene, TrendPainter, draw_marks
from desktop.window.trends.words import (
    draw_flag,
    draw_legend,
    draw_status,
    draw_words,
    stretch_text,
    thinning_text,
)
from desktop.words import Phrase, clock, tr

_SECOND = 1_000_000_000
_SMALLER = 0.92
_PAPER = 120 * _SECOND
"""What grows has at least so much of a time axis, so that it isn't drawn anew at another scale with each row."""


class TrendView(QWidget):
    """Shows a `TrendSource`.

    cursor_moved    the user put the cursor at an instant (int, UTC nanoseconds)
    view_changed    another window of time is seen (start, stop; int, UTC nanoseconds)
    status_changed  what is seen, in words: the stretch of time, and whether it is thinned
    """

    spoken_role = QAccessible.Role.Chart

    cursor_moved = Signal(object)
    view_changed = Signal(object, object)
    status_changed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._window: TimeWindow | None = None
        self._gestures = Gestures(self)
        self._colours = TrendColours("light")
        self._store: LevelStore | None = None
        self._shown: frozenset[str] = frozenset()
        self._offered: frozenset[str] = frozenset()
        self._live = False
        self._most: int | None = None
        self._seen = (0, 0)
        self._bands = BandTable([])
        self._hidden: int | None = None
        self._cursor: int | None = None
        self._hover: int | None = None
        self._fan: Fan | None = None
        self._ahead = 0
        self._frame: Frame | None = None
        self._painter = TrendPainter()
        self._status = ""
        self._wordings: tuple[str, ...] = ()
        self._chooser = CurveChooser(self)
        self._chooser.chosen.connect(self.show_curves)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setMinimumSize(320, 180)
        self.setAccessibleName(tr("Trends"))
        self.setAttribute(Qt.WidgetAttribute.WA_AcceptTouchEvents)
        self.grabGesture(Qt.GestureType.PinchGesture)
        self._redraw()

    # What is shown

    def set_source(self, source: TrendSource, store: LevelStore | None = None) -> None:
        """Show a source, all of it; `store` where its levels were prepared already."""
        self._store = store if store is not None and store.source is source else LevelStore(source)
        self._shown = frozenset(each.key for each in source.series if each.shown)
        self._offered = frozenset(each.key for each in source.series)
        self._seen = (source.revision, len(source.time))
        self._bands = BandTable(source.bands)
        self._window = TimeWindow.fitted(*self._extent()).latest(self._most)
        self._chooser.offer(source.panes, source.series, self._shown)
        self._redraw()
        self.view_changed.emit(self._window.start, self._window.stop)

    def hide_after(self, instant: int | None) -> None:
        """Show nothing of what comes after an instant (UTC nanoseconds); None: everything."""
        if instant != self._hidden:
            self._hidden = instant
            self._redraw()

    def set_live(self, live: bool, most: int | None = None) -> None:
        """Whether the source grows while it is shown; to be told before the source.

        most  how much of the last time is seen at first, nanoseconds; the whole where it is None
        """
        self._live, self._most = live, most if live else None

    def refresh(self, follow: bool = True) -> None:
        """The source has grown or changed: draw it anew. A window that sees the end goes with it.

        follow  False: the same stretch of time stays seen, and is drawn anew only where it has changed
        """
        if self._store is None or self._window is None:
            return
        source = self._store.source
        changed = self._changed(source)
        self._offer_new(source)
        self._go(self._window.grown(*self._extent(), follow=follow, most=self._most))
        if changed:
            self._redraw()

    def _changed(self, source: TrendSource) -> bool:
        """Whether what is seen looks otherwise than before; the source is known from now on."""
        bands = list(source.bands)
        revision, rows = self._seen
        self._seen = source.revision, len(source.time)
        if revision != source.revision or bands != self._bands.bands:
            self._bands = BandTable(bands)
            return True
        added = source.time[rows:]
        return bool(len(added)) and int(added[0]) <= self._window.stop + source.bridge

    def _offer_new(self, source: TrendSource) -> None:
        """Curves that weren't there before are shown as they are at first; the others stay as they were chosen."""
        keys = frozenset(each.key for each in source.series)
        if keys != self._offered:
            new = keys - self._offered
            self._shown |= frozenset(each.key for each in source.series if each.shown and each.key in new)
            self._offered |= keys
            self._chooser.offer(source.panes, source.series, self._shown)
            self._redraw()

    def set_cursor(self, instant: int, keep_in_view: bool = False) -> None:
        """Put the cursor at an instant (UTC nanoseconds); nothing is emitted but a change of view."""
        self._repaint_flag()
        self._cursor = instant
        if keep_in_view and self._window is not None:
            self._go(self._window.showing(instant))
        self._repaint_flag()

    def set_fan(self, fan: Fan | None) -> None:
        """Show what the state of charge is expected to do from the cursor on; None for nothing."""
        if fan is not self._fan:
            self._fan = fan
            self.update()

    def set_ahead(self, nanoseconds: int) -> None:
        """Leave so much room behind the last row, for what is still to come."""
        self._ahead = nanoseconds
        if self._store is not None and self._window is not None:
            self._go(self._window.grown(*self._extent(), most=self._most))

    def set_theme(self, theme: str) -> None:
        """`light` or `dark`."""
        self._colours = TrendColours(theme)
        self._redraw()

    def show_curves(self, keys: frozenset[str]) -> None:
        """Show these curves and no others; panes without curves vanish."""
        self._shown = frozenset(keys)
        if self._store is not None:
            self._chooser.offer(self._store.source.panes, self._store.source.series, self._shown)
        self._redraw()

    @property
    def shown_curves(self) -> frozenset[str]:
        """Keys of the curves that are shown."""
        return self._shown

    @property
    def status(self) -> str:
        """What is seen, in words."""
        return self._status

    @property
    def cursor_instant(self) -> int | None:
        """Where the cursor is, UTC nanoseconds."""
        return self._cursor

    # Moving in time; `trend_gestures` calls these

    @property
    def window_of_time(self) -> TimeWindow | None:
        """What is seen, None without a source."""
        return self._window

    def pan(self, share: float) -> None:
        """Move on by a share of what is seen; negative goes back."""
        if self._window is not None:
            self._go(self._window.moved(share * self._window.span))

    def zoom(self, factor: float, about: int | None = None) -> None:
        """See a stretch longer by this factor; `about` stays in place, else the cursor, else the middle."""
        if self._window is None:
            return
        if about is None:
            inside = self._cursor is not None and self._window.start <= self._cursor <= self._window.stop
            about = self._cursor if inside else (self._window.start + self._window.stop) // 2
        self._go(self._window.zoomed(factor, about))

    def fit(self) -> None:
        """See everything."""
        if self._window is not None:
            self._most = None
            self._go(TimeWindow.fitted(self._window.first, self._window.last))

    def show_between(self, start: int, stop: int) -> None:
        """See [start, stop], UTC nanoseconds, as far as there is something."""
        if self._window is not None:
            self._go(self._window.between(start, stop))

    def to_start(self) -> None:
        """See the beginning."""
        if self._window is not None:
            self._go(self._window.at_first())

    def to_end(self) -> None:
        """See the end."""
        if self._window is not None:
            self._go(self._window.at_last())

    def instant_at(self, x: float) -> int | None:
        """The instant at a place of the widget, UTC nanoseconds."""
        if self._frame is not None:
            return self._frame.instant_at(x)
        if self._window is None:
            return None
        # Another window of time that isn't drawn yet: a hand may be quicker than the next frame.
        parts = self.parts()
        return self._window.start + round((x - parts.left) / parts.width * self._window.span)

    def place_of(self, instant: int) -> float | None:
        """Where an instant lies in the widget."""
        return None if self._frame is None else self._frame.x_of(instant)

    def put_cursor(self, instant: int) -> None:
        """The user puts the cursor here: it is kept within what there is, and told."""
        if self._window is not None:
            last = int(self._store.source.time[-1]) if len(self._store.source.time) else self._window.last
            last = last if self._hidden is None else min(last, self._hidden)
            self._cursor = min(max(instant, self._window.first), last)
            self.update()
            self.cursor_moved.emit(self._cursor)

    def step_cursor(self, rows: int) -> None:
        """The user moves the cursor by rows, but at least by a pixel's worth of them."""
        if self._store is None or self._frame is None or not len(self._store.source.time):
            return
        time, columns = self._store.source.time, self._frame.columns
        at = int(time[-1]) if self._cursor is None else self._cursor
        row = int(np.searchsorted(time, at, side="right")) - 1
        per_pixel = max(1, round(columns.rows_shown / columns.count))
        last = len(time) if self._hidden is None else len(columns.time)
        row = min(max(row + rows * per_pixel, 0), last - 1)
        self.put_cursor(int(time[row]))
        self.set_cursor(int(time[row]), keep_in_view=True)

    def hover(self, x: float | None) -> None:
        """Point at a place: all panes tell their values there. None: no longer."""
        inside = x is not None and self._frame is not None
        self._hover = self._frame.instant_at(x) if inside else None
        self.update()

    @property
    def field(self) -> QRect:
        """Where the mouse moves time, in the widget's coordinates."""
        return self.parts().field

    def values_at(self, instant: int) -> dict[str, str]:
        """Text of each shown curve's value at an instant (key → text), as the legends show it."""
        if self._store is None:
            return {}
        source = self._store.source
        row = -1 if self._hidden is not None and instant > self._hidden else _row_at(source, instant)
        texts = {}
        for series in self._curves():
            value = float(series.values()[row]) if row >= 0 else float("nan")
            texts[series.key] = str(Phrase(f"{{value:{series.unit}}}", value=value))
        return texts

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        """Still part from its picture, then legends and lines."""
        painter = QPainter(self)
        if self._store is None or self._window is None or not len(self._store.source.time):
            painter.fillRect(self.rect(), self._colours("ground"))
            painter.setPen(self._colours("muted"))
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, tr("Nothing recorded yet"))
            return
        frame = self._still()
        painter.drawImage(QPointF(0, 0), frame.image)
        painter.setFont(self._small_font())
        at = self._hover if self._hover is not None else self._cursor
        texts = self.values_at(at) if at is not None else dict.fromkeys(self._shown, "")
        fan = None if self._fan is None or self._cursor is None else fan_from(self._fan, self._cursor)
        ends = {box.pane.key: draw_legend(painter, frame, box, texts) for box in frame.scene.layout.panes}
        if fan is not None:
            draw_fan(painter, frame, fan, ends.get(FAN_PANE, 0.0))
        zone = self._store.source.zone
        if self._cursor is not None:
            draw_flag(painter, frame, self._cursor, clock(self._cursor, zone), strong=True)
        if self._hover is not None:
            draw_flag(painter, frame, self._hover, clock(self._hover, zone), strong=False)
        self._write_status(painter, frame)

    def resizeEvent(self, event: QEvent) -> None:
        """The chooser stays in its corner."""
        self._redraw()

    def changeEvent(self, event: QEvent) -> None:
        """Another font or language."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.LanguageChange):
            self._redraw()

    def event(self, event: QEvent) -> bool:
        """Gestures come here first."""
        return self._gestures.take(event) or super().event(event)

    def sizeHint(self) -> QSize:
        """Room for four panes."""
        return QSize(840, 300)

    def _still(self) -> Frame:
        if self._frame is None or self._frame.scene.ratio != self.devicePixelRatioF():
            self._frame = self._painter.frame(self._scene())
            painter = QPainter(self._frame.image)
            painter.setFont(self._small_font())
            draw_words(painter, self._frame)
            draw_marks(painter, self._frame)
            painter.end()
            self._tell_status(self._frame)
        return self._frame

    def _scene(self) -> Scene:
        return Scene(
            self._store,
            self._curves(),
            self._bands if self._hidden is None else BandTable(over_by(self._bands.bands, self._hidden)),
            self._window,
            self.parts(),
            self.size(),
            self.devicePixelRatioF(),
            self._colours,
            self._small_font(),
            self._hidden,
        )

    def parts(self) -> TrendLayout:
        """Where everything lies."""
        return lay_out(self.width(), self.height(), self._panes(), self._small_font())

    def _curves(self) -> list[Series]:
        return [each for each in self._store.source.series if each.key in self._shown] if self._store else []

    def _panes(self) -> list[Pane]:
        used = {each.pane for each in self._curves()}
        return [pane for pane in self._store.source.panes if pane.key in used] if self._store else []

    def _small_font(self) -> QFont:
        font = QFont(self.font())
        font.setPointSizeF(font.pointSizeF() * _SMALLER)
        font.setFeature(QFont.Tag("tnum"), 1)
        return font

    def _extent(self) -> tuple[int, int]:
        """From when to when there is something to see, or will be."""
        time = self._store.source.time
        if not len(time):
            return 0, _SECOND
        first, last = int(time[0]), int(time[-1])
        return first, (max(last, first + _PAPER) if self._live else last) + self._ahead

    def _redraw(self) -> None:
        self._frame = None
        status = self.parts().status
        hint = self._chooser.sizeHint().expandedTo(self._chooser.minimumSize())
        self._chooser.resize(hint)
        self._chooser.move(
            status.right() - hint.width() + 1, status.top() + (status.height() - hint.height()) // 2
        )
        self.update()

    def _go(self, window: TimeWindow) -> None:
        if window == self._window:
            return
        moved = self._window is None or (window.start, window.stop) != (self._window.start, self._window.stop)
        self._window = window
        self._frame = None
        self.update()
        if moved:
            self.view_changed.emit(window.start, window.stop)

    def _repaint_flag(self) -> None:
        """Repaint what changes with the cursor: its line, the times below and the values above the panes."""
        if self._frame is None or self._cursor is None:
            self.update()
            return
        layout = self._frame.scene.layout
        x = round(self._frame.x_of(self._cursor))
        self.update(QRect(x - 3, layout.lane.top(), 7, layout.axis.bottom() - layout.lane.top()))
        self.update(QRect(0, layout.axis.top(), self.width(), layout.status.top() - layout.axis.top()))
        for box in layout.panes:
            self.update(QRect(0, box.caption.top(), self.width(), box.caption.height()))
            if self._fan is not None and box.pane.key == FAN_PANE:
                self.update(box.plot)

    # The status line

    def _tell_status(self, frame: Frame) -> None:
        parts = [stretch_text(frame, self._store.source.zone), thinning_text(frame)]
        if frame.scene.layout.unseen:
            parts.append(str(Phrase("panes without room: {count}", count=str(frame.scene.layout.unseen))))
        self._wordings = tuple(" · ".join(parts[:count]) for count in range(len(parts), 0, -1))
        text = self._wordings[0]
        if text != self._status:
            self._status = text
            self.setAccessibleDescription(text)
            self.status_changed.emit(text)

    def _write_status(self, painter: QPainter, frame: Frame) -> None:
        room = self._chooser.x() - frame.scene.layout.status.left() - 10
        draw_status(painter, frame, room, self._wordings)


def _row_at(source: TrendSource, instant: int) -> int:
    """The row that holds at an instant; -1 before the first, in a gap, and long after the last."""
    time = source.time
    row = int(np.searchsorted(time, instant, side="right")) - 1
    if row < 0 or instant - int(time[row]) > source.bridge:
        return -1
    return -1 if _in_gap(source.gaps, instant) else row


def _in_gap(gaps: np.ndarray, instant: int) -> bool:
    following = int(np.searchsorted(gaps[:, 1], instant, side="right"))
    return following < len(gaps) and int(gaps[following, 0]) < instant
