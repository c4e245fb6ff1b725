"""The box of a step, whose shape tells how the step stands: told apart without their colours."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QCheckBox, QSizePolicy, QWidget

from desktop.diagnosis.finding import SEVERITIES, Severity
from desktop.procedure.situation import StepState
from desktop.window.parts.severity_shapes import draw_mark
from desktop.window.style import theme

_LEAST_SIDE = 24
"""The least that a finger or an unsteady hand finds (WCAG 2.2, 2.5.8)."""

_CHECK = ((-0.22, 0.02), (-0.05, 0.19), (0.24, -0.17))


class StepBox(QCheckBox):
    """An empty box (open, not now), a broken one (can't be told), one with a bar (not seen), one with a check
    (ticked), a broken one with a check (ticked against the readings), a disc with a check (seen), a ring (it goes
    on), a triangle (wrong now), a diamond (mind it, or it went wrong).

    Who presses it asks for a tick, and the answer is shown.

    asked  it was pressed, and readings haven't ticked it already
    """

    asked = Signal()

    def __init__(self, size: float = 1.0, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._size = size
        self._seen = False
        self._shape = "open"
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_state(self, state: StepState, severity: Severity | None = None) -> None:
        """Checked where the step is done. `severity`: of what is wrong with it; None where nothing is."""
        self._seen = state.state == "done"
        self._shape = severity or state.state
        self.setChecked(state.done)
        self.update()

    def nextCheckState(self) -> None:
        """Nobody takes back what readings show."""
        if not self._seen:
            self.asked.emit()

    def sizeHint(self) -> QSize:
        """A square."""
        side = max(_LEAST_SIDE, round(self.fontMetrics().height() * 1.5 * self._size))
        return QSize(side, side)

    def minimumSizeHint(self) -> QSize:
        """The same."""
        return self.sizeHint()

    def hitButton(self, at: QPoint) -> bool:
        """All of it."""
        return self.rect().contains(at)

    def changeEvent(self, event: QEvent) -> None:
        """Another font: another size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.updateGeometry()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """The frame around the step comes."""
        super().focusInEvent(event)
        self.parentWidget().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """The frame goes."""
        super().focusOutEvent(event)
        self.parentWidget().update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The shape."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        side = 0.72 * min(self.width(), self.height())
        centre = QPointF(self.width() / 2, self.height() / 2)
        if self._shape in SEVERITIES:
            draw_mark(painter, centre, side, self._shape, theme.colour(self._shape))
        elif self._shape == "done":
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(theme.colour("text"))
            painter.drawEllipse(centre, side / 2, side / 2)
            _paint_check(painter, centre, 0.9 * side, "ground")
        elif self._shape == "lasting":
            _paint_ring(painter, centre, side)
        else:
            broken = self._shape in ("can't tell", "overruled")
            _paint_box(painter, centre, 0.86 * side, broken=broken)
            if self._shape in ("ticked", "overruled"):
                _paint_check(painter, centre, 1.1 * side, "text")
            elif self._shape == "not seen":
                _paint_bar(painter, centre, 0.45 * side)


def _paint_box(painter: QPainter, centre: QPointF, side: float, *, broken: bool) -> None:
    pen = QPen(theme.colour("muted"), max(1.4, 0.09 * side))
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    if broken:
        pen.setDashPattern([1.8, 1.6])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(QRectF(centre.x() - side / 2, centre.y() - side / 2, side, side))


def _paint_ring(painter: QPainter, centre: QPointF, side: float) -> None:
    thick = max(1.6, 0.16 * side)
    painter.setPen(QPen(theme.colour("text"), thick))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    radius = (side - thick) / 2
    painter.drawEllipse(centre, radius, radius)


def _paint_bar(painter: QPainter, centre: QPointF, side: float) -> None:
    painter.setPen(QPen(theme.colour("muted"), max(1.6, 0.2 * side)))
    painter.drawLine(QPointF(centre.x() - side / 2, centre.y()), QPointF(centre.x() + side / 2, centre.y()))


def _paint_check(painter: QPainter, centre: QPointF, side: float, ink: str) -> None:
    pen = QPen(theme.colour(ink), max(1.6, 0.12 * side))
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    corners = [QPointF(centre.x() + x * side, centre.y() + y * side) for x, y in _CHECK]
    painter.drawPolyline(QPolygonF(corners))
