"""Notes in the trends: a small flag below them at each moment or span, and the text of the one looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QFontMetrics, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from desktop.window.style import fonts, theme
from desktop.window.style.look import look
from desktop.window.trends.view import TrendView
from desktop.words import kept_together

_NEAR = 7.0
_FLAG, _POLE = (8.0, 6.0), 10.0
_PAD, _WIDEST = 8, 360
_SMALL = 0.92
_WRAPPED = int(Qt.TextFlag.TextWordWrap)


@dataclass(frozen=True, slots=True)
class Flag:
    """A note as it is shown: from an instant to another one (UTC nanoseconds), with its text."""

    at: int
    end: int
    text: str


class NoteFlags(QWidget):
    """Lies over a trend view. The mouse over a flag, or the cursor on its moment, shows its text."""

    def __init__(self, trends: TrendView) -> None:
        super().__init__(trends)
        self._trends = trends
        self._flags: list[Flag] = []
        self._hovered: Flag | None = None
        self._told: Flag | None = None
        self._quiet = False
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.resize(trends.size())
        trends.installEventFilter(self)
        trends.view_changed.connect(self.update)
        look().changed.connect(self.update)

    def set_flags(self, flags: Sequence[Flag], *, room: bool) -> None:
        """Show these and no others. `room`: whether there is room for them, which is kept for those to come."""
        self._flags = list(flags)
        self._trends.set_noted(room)
        self._hovered = None
        self.setAccessibleDescription("\n".join(flag.text for flag in flags))
        self.update()

    @property
    def flags(self) -> list[Flag]:
        """What is shown."""
        return self._flags

    def set_quiet(self, quiet: bool) -> None:
        """Whether the cursor on a note's moment shows no text, since the note is told elsewhere."""
        self._quiet = quiet
        self.update()

    def told(self) -> Flag | None:
        """The one whose text is shown: under the mouse, else on whose moment the cursor stands."""
        if self._hovered is not None or self._quiet:
            return self._hovered
        cursor = self._trends.cursor_instant
        return next((flag for flag in self._flags if flag.at == cursor), None)

    def refresh(self) -> None:
        """The cursor stands elsewhere."""
        if self.told() is not self._told:
            self.update()

    def place_of(self, flag: Flag) -> QPointF | None:
        """Where the foot of a flag's pole is; None where it isn't seen."""
        parts, x = self._trends.parts(), self._trends.place_of(flag.at)
        if x is None or not parts.panes or not parts.left - 0.5 <= x <= parts.left + parts.width + 0.5:
            return None
        return QPointF(x, parts.notes.bottom())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The view is resized, or the mouse moves or presses in it."""
        kind = event.type()
        if kind == QEvent.Type.Resize:
            self.resize(self._trends.size())
        elif kind == QEvent.Type.Leave:
            self._hover(None)
        elif kind == QEvent.Type.MouseMove and isinstance(event, QMouseEvent) and not event.buttons():
            self._hover(self._near(event.position()))
        elif kind == QEvent.Type.MouseButtonPress and isinstance(event, QMouseEvent):
            flag = self._near(event.position())
            if flag is not None and event.button() == Qt.MouseButton.LeftButton:
                self._trends.put_cursor(flag.at)
                return True
        return False

    def paintEvent(self, event: QPaintEvent) -> None:
        """Spans, poles and flags; over them the text."""
        if not self._flags:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        told = self._told = self.told()
        for flag in self._flags:
            self._draw(painter, flag, flag is told)
        if told is not None and self.place_of(told) is not None:
            self._write(painter, told)

    def _draw(self, painter: QPainter, flag: Flag, strong: bool) -> None:
        foot = self.place_of(flag)
        self._draw_span(painter, flag)
        if foot is None:
            return
        wide, high = _FLAG
        top = foot.y() - _POLE
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.colour("text" if strong else "muted"))
        painter.fillRect(QRectF(foot.x() - 0.75, top, 1.5, _POLE), painter.brush())
        corners = [
            QPointF(foot.x(), top),
            QPointF(foot.x() + wide, top + high / 2),
            QPointF(foot.x(), top + high),
        ]
        painter.drawPolygon(QPolygonF(corners))

    def _draw_span(self, painter: QPainter, flag: Flag) -> None:
        parts = self._trends.parts()
        ends = [self._trends.place_of(each) for each in (flag.at, flag.end)]
        if flag.end <= flag.at or None in ends or not parts.panes:
            return
        left, right = (min(max(x, parts.left), parts.left + parts.width) for x in ends)
        if right > left:
            level = parts.notes.bottom() - 1.5
            painter.fillRect(QRectF(left, level, right - left, 3), theme.colour("muted"))

    def _write(self, painter: QPainter, flag: Flag) -> None:
        box, room, text = self.box_of(flag)
        painter.setPen(QPen(theme.colour("strong_line"), 1))
        painter.setBrush(theme.colour("panel"))
        painter.drawRect(QRectF(box).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.setFont(fonts.sized(_SMALL))
        painter.setPen(theme.colour("text"))
        painter.drawText(room, _WRAPPED, text)

    def box_of(self, flag: Flag) -> tuple[QRect, QRect, str]:
        """Where a text is written, the room within, and as much of the text as has room: beside its flag."""
        parts = self._trends.parts()
        field = parts.field
        metrics = QFontMetrics(fonts.sized(_SMALL))
        wide = min(_WIDEST * max(1, metrics.height() // 14), round(field.width() * 0.46)) - 2 * _PAD
        most = parts.notes.top() - parts.lane.bottom() - 4 - 2 * _PAD
        text = _fitting(kept_together(flag.text), wide, most, metrics)
        inside = metrics.boundingRect(QRect(0, 0, wide, 1 << 16), _WRAPPED, text).size()
        x = self._trends.place_of(flag.at) or 0.0
        width, height = inside.width() + 2 * _PAD, inside.height() + 2 * _PAD
        # On the side of the past, where there is room: what comes next is looked at beside it.
        left = x - 10 - width if x - 10 - width >= field.left() else x + 12
        left = min(max(left, field.left()), field.right() - width)
        foot = parts.panes[-1].plot.bottom() - 4
        box = QRect(round(left), max(foot - height, parts.lane.bottom() + 3), width, height)
        return box, box.adjusted(_PAD, _PAD, -_PAD, -_PAD), text

    def _near(self, place: QPointF) -> Flag | None:
        feet = [(self.place_of(flag), flag) for flag in self._flags]
        near = [
            (abs(foot.x() - place.x()), number, flag)
            for number, (foot, flag) in enumerate(feet)
            if foot is not None
            and -2 <= place.x() - foot.x() + _NEAR / 2 <= _FLAG[0] + _NEAR
            and -3 * _FLAG[1] <= place.y() - foot.y() <= _NEAR
        ]
        return min(near)[2] if near else None

    def _hover(self, flag: Flag | None) -> None:
        if flag is not self._hovered:
            self._hovered = flag
            self.update()


def _fitting(text: str, wide: int, most: int, metrics: QFontMetrics) -> str:
    """The text, or its first words and an ellipsis where it is higher than `most` pixels."""
    words = text.split(" ")
    for count in range(len(words), 0, -max(1, len(words) // 24)):
        part = text if count == len(words) else " ".join(words[:count]) + " …"
        if metrics.boundingRect(QRect(0, 0, wide, 1 << 16), _WRAPPED, part).height() <= most:
            return part
    return "…"
