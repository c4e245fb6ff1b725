"""A severity's shape as a small widget."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from desktop.diagnosis.finding import Severity
from desktop.window.parts.severity_shapes import draw_mark
from desktop.window.style import theme


class Mark(QWidget):
    """Shows a severity, or nothing, as large as its font is high times `size`."""

    def __init__(self, size: float = 1.0, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._size = size
        self._severity: Severity | None = None
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_severity(self, severity: Severity | None) -> None:
        """Show this one; None for none."""
        if severity != self._severity:
            self._severity = severity
            self.update()

    def sizeHint(self) -> QSize:
        """A square."""
        side = round(self.fontMetrics().ascent() * self._size)
        return QSize(side, side)

    def changeEvent(self, event: QEvent) -> None:
        """Another font: another size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.updateGeometry()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The shape."""
        if self._severity is None:
            return
        painter = QPainter(self)
        side = min(self.width(), self.height()) - 1
        centre = QPointF(self.width() / 2, self.height() / 2)
        draw_mark(painter, centre, side, self._severity, theme.colour(self._severity))
