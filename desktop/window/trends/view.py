"""Trends: curves in stacked panes on one time axis, with one cursor."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QRect, QSize, Qt, Signal
from PySide6.QtGui import QAccessible, QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from desktop.charging.forecast.forecast import Fan
from desktop.picture.trends.source import TrendSource
from desktop.picture.trends.store import LevelStore
from desktop.picture.trends.window import TimeWindow
from desktop.window.trends.chooser import CurveChooser
from desktop.window.trends.colours import TrendColours
from desktop.window.trends.fan import FAN_PANE
from desktop.window.trends.frame import Frame, Scene
from desktop.window.trends.gestures import Gestures
from desktop.window.trends.layout import TrendLayout, lay_out
from desktop.window.trends.moving import OverTime
from desktop.window.trends.over import OverPainter, Pointing
from desktop.window.trends.paint import TrendPainter, draw_marks
from desktop.window.trends.shown import Shown
from desktop.window.trends.words import draw_status, draw_words, status_wordings
from desktop.words import tr

_SMALLER = 0.92


class TrendView(OverTime):
    """Shows a `TrendSource`.

    cursor_moved    the user put the cursor at an instant (int, UTC nanoseconds)
    status_changed  what is seen, in words: the stretch of time, and whether it is thinned
    """

    spoken_role = QAccessible.Role.Chart

    cursor_moved = Signal(object)
    status_changed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._gestures = Gestures(self)
        self._colours = TrendColours("light")
        self._shown: Shown | None = None
        self._live = self._noted = False
        self._hidden: int | None = None
        self._hover: int | None = None
        self._fan: Fan | None = None
        self._ahead = 0
        self._frame: Frame | None = None
        self._painter = TrendPainter()
        self._over = OverPainter()
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
        self._shown = Shown(source, store)
        self._shown.hidden = self._hidden
        self._window = TimeWindow.fitted(*self._extent()).latest(self._most)
        self._offer()
        self._redraw()
        self.view_changed.emit(self._window.start, self._window.stop)

    def hide_after(self, instant: int | None) -> None:
        """Show nothing of what comes after an instant (UTC nanoseconds); None: everything."""
        if instant != self._hidden:
            self._hidden = instant
            if self._shown is not None:
                self._shown.hidden = instant
            self._redraw()

    def set_noted(self, noted: bool) -> None:
        """Whether there are notes, which are flagged in a strip of their own."""
        if noted != self._noted:
            self._noted = noted
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
        if self._shown is None or self._window is None:
            return
        changed = self._shown.changed(self._window.stop)
        if self._shown.take_new_curves():
            self._offer()
            self._redraw()
        self._go(self._window.grown(*self._extent(), follow=follow, most=self._most))
        if changed:
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
        if self._shown is not None and self._window is not None:
            self._go(self._window.grown(*self._extent(), most=self._most))

    def set_theme(self, theme: str) -> None:
        """`light` or `dark`."""
        self._colours = TrendColours(theme)
        self._redraw()

    def show_curves(self, keys: frozenset[str]) -> None:
        """Show these curves and no others; panes without curves vanish."""
        if self._shown is not None:
            self._shown.keys = frozenset(keys)
            self._offer()
        self._redraw()

    @property
    def shown_curves(self) -> frozenset[str]:
        """Keys of the curves that are shown."""
        return frozenset() if self._shown is None else self._shown.keys

    @property
    def store(self) -> LevelStore | None:
        """The levels of what is shown; None without a source."""
        return None if self._shown is None else self._shown.store

    @property
    def status(self) -> str:
        """What is seen, in words."""
        return self._status

    # Where things are

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

    @property
    def field(self) -> QRect:
        """Where the mouse moves time, in the widget's coordinates."""
        return self.parts().field

    def parts(self) -> TrendLayout:
        """Where everything lies."""
        panes = [] if self._shown is None else self._shown.panes
        return lay_out(self.width(), self.height(), panes, self._small_font(), noted=self._noted)

    def values_at(self, instant: int) -> dict[str, str]:
        """Text of each shown curve's value at an instant (key → text), as the legends show it."""
        return {} if self._shown is None else self._shown.values_at(instant)

    # What hands do; `gestures` calls these

    def put_cursor(self, instant: int) -> None:
        """The user puts the cursor here: it is kept within what there is, and told."""
        if self._window is not None:
            last = self._window.last if self._shown.last is None else self._shown.last
            self._cursor = min(max(instant, self._window.first), last)
            self.update()
            self.cursor_moved.emit(self._cursor)

    def step_cursor(self, rows: int) -> None:
        """The user moves the cursor by rows, but at least by a pixel's worth of them."""
        if self._frame is None or self._shown.last is None:
            return
        columns = self._frame.columns
        per_pixel = max(1, round(columns.rows_shown / self._frame.across))
        instant = self._shown.stepped(self._cursor, rows * per_pixel, len(columns.time))
        self.put_cursor(instant)
        self.set_cursor(instant, keep_in_view=True)

    def hover(self, x: float | None) -> None:
        """Point at a place: all panes tell their values there. None: no longer."""
        inside = x is not None and self._frame is not None
        self._hover = self._frame.instant_at(x) if inside else None
        self.update()

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        """Still part from its picture, then what changes with what is pointed at."""
        painter = QPainter(self)
        shown = self._shown
        if shown is None or shown.last is None:
            painter.fillRect(self.rect(), self._colours("ground"))
            painter.setPen(self._colours("muted"))
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, tr("Nothing recorded yet"))
            return
        frame = self._still()
        painter.drawImage(QPointF(0, 0), frame.image)
        painter.setFont(self._small_font())
        at = self._hover if self._hover is not None else self._cursor
        texts = shown.values_at(at) if at is not None else dict.fromkeys(shown.keys, "")
        pointing = Pointing(self._cursor, self._hover, self._fan)
        self._over.draw(painter, frame, pointing, texts, shown.source.zone)
        room = self._chooser.x() - frame.scene.layout.status.left() - 10
        draw_status(painter, frame, room, self._wordings)

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
        shown = self._shown
        return Scene(
            shown.store,
            shown.curves,
            shown.bands,
            self._window,
            self.parts(),
            self.size(),
            self.devicePixelRatioF(),
            self._colours,
            self._small_font(),
            self._hidden,
        )

    def _small_font(self) -> QFont:
        font = QFont(self.font())
        font.setPointSizeF(font.pointSizeF() * _SMALLER)
        font.setFeature(QFont.Tag("tnum"), 1)
        return font

    def _extent(self) -> tuple[int, int]:
        """From when to when there is something to see, or will be."""
        return self._shown.extent(self._live, self._ahead)

    def _offer(self) -> None:
        """The chooser offers the curves that there are."""
        source = self._shown.source
        self._chooser.offer(source.panes, source.series, self._shown.keys)

    def _outdate(self) -> None:
        self._frame = None

    def _redraw(self) -> None:
        self._frame = None
        status = self.parts().status
        hint = self._chooser.sizeHint().expandedTo(self._chooser.minimumSize())
        self._chooser.resize(hint)
        self._chooser.move(
            status.right() - hint.width() + 1, status.top() + (status.height() - hint.height()) // 2
        )
        self.update()

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

    def _tell_status(self, frame: Frame) -> None:
        self._wordings = status_wordings(frame, self._shown.source.zone)
        text = self._wordings[0]
        if text != self._status:
            self._status = text
            self.setAccessibleDescription(text)
            self.status_changed.emit(text)
