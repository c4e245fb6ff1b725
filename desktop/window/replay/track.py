"""The bar on which a replay moves: the recording from end to end, with its findings, notes and loop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractSlider, QToolTip, QWidget

from desktop.picture.trends.bands import BandTable, Mark
from desktop.picture.trends.source import Band
from desktop.teaching.hiding import judged
from desktop.window.parts.severity_shapes import draw_mark
from desktop.window.parts.tips import plain_tip
from desktop.window.trends.colours import TrendColours
from desktop.words import Phrase, tr

_END = 12
_HANDLE = 8.0
_MARK = 9.0
_SHARE = 1000


@dataclass(frozen=True, slots=True)
class Note:
    """Something a person wrote at an instant (UTC nanoseconds)."""

    at: int
    text: str


class ReplayTrack(QAbstractSlider):
    """A slider over time. Its integer value is thousandths of the whole, for screen readers; `put` is exact.

    put     the user moved it to an instant (int, UTC nanoseconds)
    """

    put = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._first, self._last, self._instant = 0, 1, 0
        self._bands: list[Band] = []
        self._hidden: int | None = None
        self._table = BandTable([])
        self._notes: list[Note] = []
        self._loop: tuple[int | None, int | None] = (None, None)
        self._colours = TrendColours("light")
        self._held = False
        self.setRange(0, _SHARE)
        self.setOrientation(Qt.Orientation.Horizontal)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(tr("Position in the recording"))
        self.setMinimumSize(120, 36)

    def set_theme(self, theme: str) -> None:
        """`light` or `dark`."""
        self._colours = TrendColours(theme)
        self.update()

    def set_range_of_time(self, first: int, last: int) -> None:
        """The recording's ends, UTC nanoseconds."""
        self._first, self._last = first, max(last, first + 1)
        self.set_instant(self._instant)

    def set_instant(self, instant: int) -> None:
        """Move the handle; nothing is emitted."""
        self._instant = min(max(instant, self._first), self._last)
        self.blockSignals(True)
        self.setValue(round(_SHARE * (self._instant - self._first) / (self._last - self._first)))
        self.blockSignals(False)
        self.update()

    def set_marks(self, findings: Sequence[Band], notes: Sequence[Note] = ()) -> None:
        """Findings and notes to mark."""
        self._bands, self._notes = list(findings), list(notes)
        self.hide_after(self._hidden)

    def hide_after(self, instant: int | None) -> None:
        """Mark no finding, and no note after an instant (UTC nanoseconds), and don't go there; None: everything."""
        self._hidden = instant
        self._table = BandTable(judged(self._bands, instant))
        self.update()

    def set_loop(self, a: int | None, b: int | None) -> None:
        """A and B, where set."""
        self._loop = (a, b)
        self.update()

    def place_of(self, instant: int) -> float:
        """Where an instant lies."""
        return _END + self._pixels * (instant - self._first) / (self._last - self._first)

    def instant_at(self, x: float) -> int:
        """The instant at a place, within the recording."""
        share = min(max((x - _END) / self._pixels, 0.0), 1.0)
        return self._first + round(share * (self._last - self._first))

    def marks(self) -> list[Mark]:
        """The marks as drawn; their places count from the track's left end."""
        width = (self._last - self._first) / self._pixels
        return self._table.marks(self._first, width, self._pixels, _MARK + 1)

    @property
    def _pixels(self) -> float:
        return float(max(1, self.width() - 2 * _END))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Track, loop, marks, handle."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = self.height() * 0.64
        at = self.place_of(self._instant)
        painter.fillRect(QRectF(_END, middle - 1.5, self._pixels, 3), self._colours("strong_line"))
        painter.fillRect(QRectF(_END, middle - 1.5, at - _END, 3), self._colours("text"))
        self._draw_loop(painter, middle)
        self._draw_notes(painter, middle)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._colours("text"))
        painter.drawEllipse(QPointF(at, middle), _HANDLE, _HANDLE)
        for mark in self.marks():
            place = QPointF(_END + mark.at, middle - _HANDLE - _MARK / 2 - 3)
            draw_mark(painter, place, _MARK, mark.severity, self._colours(mark.severity))
            painter.fillRect(
                QRectF(place.x() - 0.5, place.y() + _MARK / 2, 1, middle - 1.5 - place.y() - _MARK / 2),
                self._colours(mark.severity),
            )
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(self._colours("text"), 1.5))
            painter.drawEllipse(QPointF(at, middle), _HANDLE + 3, _HANDLE + 3)

    def _draw_loop(self, painter: QPainter, middle: float) -> None:
        painter.setFont(self.font())
        metrics = painter.fontMetrics()
        a, b = self._loop
        if a is not None and b is not None:
            left, right = sorted((self.place_of(a), self.place_of(b)))
            painter.fillRect(QRectF(left, middle - 4, right - left, 8), self._colours.mixed("text", 0.45))
        for name, instant in (("A", a), ("B", b)):
            if instant is None:
                continue
            x = self.place_of(instant)
            painter.fillRect(QRectF(x - 1, middle - 7, 2, 14), self._colours("text"))
            painter.setPen(self._colours("text"))
            beside = x + 4 if name == "B" else x - 4 - metrics.horizontalAdvance(name)
            painter.drawText(QPointF(beside, middle + 5 + metrics.capHeight()), name)

    def _draw_notes(self, painter: QPainter, middle: float) -> None:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._colours("text"))
        for note in self._seen_notes():
            x = self.place_of(note.at)
            flag = [QPointF(x, middle + 4), QPointF(x + 8, middle + 7), QPointF(x, middle + 10)]
            painter.drawPolygon(QPolygonF(flag))
            painter.fillRect(QRectF(x - 0.5, middle + 2, 1.5, 11), self._colours("text"))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A mark near the press is gone to exactly, else the place itself."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        self._held = True
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        mark = self._mark_near(event.position())
        self._put(self._table.bands[mark.index].start if mark else self.instant_at(event.position().x()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Scrub."""
        if self._held:
            self._put(self.instant_at(event.position().x()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        self._held = False

    def wheelEvent(self, event: QWheelEvent) -> None:
        """A hundredth per notch."""
        self._step(-event.angleDelta().y() / 120 / 100)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows a two-hundredth, pages a tenth, Home and End."""
        steps = {
            Qt.Key.Key_Left: -0.005,
            Qt.Key.Key_Down: -0.005,
            Qt.Key.Key_Right: 0.005,
            Qt.Key.Key_Up: 0.005,
            Qt.Key.Key_PageUp: -0.1,
            Qt.Key.Key_PageDown: 0.1,
            Qt.Key.Key_Home: -1.0,
            Qt.Key.Key_End: 1.0,
        }
        step = steps.get(Qt.Key(event.key()))
        if step is None or event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            event.ignore()
        else:
            self._step(step)

    def sliderChange(self, change: QAbstractSlider.SliderChange) -> None:
        """A screen reader or another tool set the value."""
        super().sliderChange(change)
        if change == QAbstractSlider.SliderChange.SliderValueChange and not self.signalsBlocked():
            self._put(self._first + round(self.value() / _SHARE * (self._last - self._first)))

    def event(self, event: QEvent) -> bool:
        """Tell what a mark stands for."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), plain_tip(self.told_at(QPointF(event.pos()))), self)
            return True
        return super().event(event)

    def told_at(self, place: QPointF) -> str:
        """What the mark or note at a place says; "" where there is none."""
        mark = self._mark_near(place)
        if mark is not None:
            title = self._table.bands[mark.index].title
            if mark.count > 1:
                return str(Phrase("{title}, and {count} more", title=title, count=str(mark.count - 1)))
            return str(title)
        near = [note for note in self._seen_notes() if abs(self.place_of(note.at) - place.x()) <= _MARK]
        return near[0].text if near else ""

    def sizeHint(self) -> QSize:
        """Wide and low."""
        return QSize(480, 40)

    def _seen_notes(self) -> list[Note]:
        return [note for note in self._notes if self._hidden is None or note.at <= self._hidden]

    def _mark_near(self, place: QPointF) -> Mark | None:
        if place.y() > self.height() * 0.64 - _HANDLE:
            return None
        near = [mark for mark in self.marks() if abs(_END + mark.at - place.x()) <= _MARK]
        return min(near, key=lambda mark: abs(_END + mark.at - place.x()), default=None)

    def _step(self, share: float) -> None:
        self._put(self._instant + round(share * (self._last - self._first)))

    def _put(self, instant: int) -> None:
        self.set_instant(instant if self._hidden is None else min(instant, self._hidden))
        self.put.emit(self._instant)
