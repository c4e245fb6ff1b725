"""Changes as shares of what there was before: a dot, with a bar as far as chance reaches, beside a line for none.

As in a forest plot (Lewis & Clarke 2001): a bar that crosses the line is no more than chance.
"""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from desktop.comparison.table import Shift
from desktop.window.style import fonts, theme
from desktop.window.style.look import look
from desktop.words import Phrase, decimal

_SCALES = (0.1, 0.25, 0.5, 1.0)
_DOT, _BAR = 4.0, 2.0
_SMALL = 0.92
_LETTERS, _LEAST_LETTERS = 28, 20


def scale_of(shifts: Iterable[Shift]) -> float:
    """What the ends of the scale stand for: the least that holds all of them, and the whole at most."""
    widest = max((abs(each.value) + each.reach for each in shifts), default=0.0)
    return next((scale for scale in _SCALES if widest <= scale), _SCALES[-1])


def shift_text(shift: Shift) -> str:
    """`+33 % ± 8 %`."""
    value, reach = 100 * shift.value, 100 * shift.reach
    digits = 0 if max(abs(value), reach) >= 10 else 1
    sign = "+" if value > 0 else ""
    told = f"{sign}{decimal(value, digits)} %"
    return f"{told} ± {decimal(reach, digits)} %" if reach > 0 else told


class _Strip(QWidget):
    """Something along the scale from less to more."""

    def __init__(self, scale: float) -> None:
        super().__init__()
        self._scale = scale
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        look().changed.connect(self.updateGeometry)

    def sizeHint(self) -> QSize:
        """A line high."""
        metrics = self.fontMetrics()
        return QSize(metrics.averageCharWidth() * _LETTERS, metrics.height())

    def minimumSizeHint(self) -> QSize:
        """None: where there is little room, numbers and words matter more."""
        return QSize(0, self.sizeHint().height())

    @property
    def has_room(self) -> bool:
        """Whether it can be read."""
        return self.width() >= self.fontMetrics().averageCharWidth() * _LEAST_LETTERS

    def place(self, share: float) -> float:
        """Where a share lies, in pixels; what is beyond the scale lies at its end."""
        room = self.width() / 2 - _DOT - 1
        return self.width() / 2 + max(-1.0, min(1.0, share / self._scale)) * room


class ShiftScale(_Strip):
    """The ends of the scale, and its middle."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """Three numbers."""
        if not self.has_room:
            return
        painter = QPainter(self)
        painter.setFont(fonts.sized(_SMALL))
        painter.setPen(theme.colour("muted"))
        end = decimal(100 * self._scale, 0)
        bottom = Qt.AlignmentFlag.AlignBottom
        for text, side in (
            (f"−{end} %", Qt.AlignmentFlag.AlignLeft),
            ("0", Qt.AlignmentFlag.AlignHCenter),
            (f"+{end} %", Qt.AlignmentFlag.AlignRight),
        ):
            painter.drawText(self.rect(), int(side | bottom), text)


class ShiftMark(_Strip):
    """One change on the scale: a disc where it is more than chance, a ring where it isn't."""

    def __init__(self, shift: Shift, changed: bool, scale: float) -> None:
        super().__init__(scale)
        self.shift, self._changed = shift, changed
        told = Phrase("{shift} of what there was before", shift=shift_text(shift))
        self.setAccessibleName(str(told))
        self.setToolTip(str(told))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Bar and dot; an arrowhead where they go on beyond the scale."""
        if not self.has_room:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        tone = theme.colour("text" if self._changed else "muted")
        middle = self.height() / 2
        low, high = self.shift.value - self.shift.reach, self.shift.value + self.shift.reach
        if self.shift.reach > 0:
            left, right = self.place(low), self.place(high)
            painter.fillRect(QRectF(left, middle - _BAR / 2, right - left, _BAR), tone)
        painter.setPen(QPen(tone, 1.6))
        painter.setBrush(tone if self._changed else theme.colour("ground"))
        if abs(self.shift.value) <= self._scale:
            painter.drawEllipse(QPointF(self.place(self.shift.value), middle), _DOT, _DOT)
        painter.setBrush(tone)
        for beyond, way in ((low < -self._scale, -1), (high > self._scale, 1)):
            if beyond:
                painter.drawPolygon(self._arrow(way, middle))

    def _arrow(self, way: int, middle: float) -> QPolygonF:
        tip = self.place(way * self._scale) + way * _DOT
        back = tip - way * 1.6 * _DOT
        return QPolygonF([QPointF(tip, middle), QPointF(back, middle - _DOT), QPointF(back, middle + _DOT)])
