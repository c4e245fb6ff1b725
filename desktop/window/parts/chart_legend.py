"""The legend of a chart: its title, and a swatch with a name for everything that is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen

from desktop.picture.charts.chart import Chart, Shape
from desktop.window.parts.chart_ink import AREA_SHARE, STRETCH_ROLE, draw_dot
from desktop.window.trends.colours import TrendColours

_SWATCH, _GAP = 18.0, 6.0

Kind = Literal["title", "line", "dashed", "area", "stretch", "disc", "ring", "cross", "star"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One name, and how what it names is drawn."""

    text: str
    kind: Kind
    role: str = "muted"

    def width(self, font: QFont) -> float:
        """Pixels that it takes."""
        if self.kind == "title":
            return QFontMetricsF(_bold(font)).horizontalAdvance(self.text)
        return _SWATCH + _GAP + QFontMetricsF(font).horizontalAdvance(self.text)

    def paint(self, painter: QPainter, colours: TrendColours, font: QFont, at: QPointF) -> None:
        """Draw it with its upper left corner there."""
        metrics = QFontMetricsF(font)
        baseline = QPointF(at.x(), at.y() + metrics.ascent() + 1)
        painter.setPen(colours("muted"))
        painter.setFont(_bold(font) if self.kind == "title" else font)
        if self.kind == "title":
            painter.drawText(baseline, self.text)
            return
        painter.drawText(baseline + QPointF(_SWATCH + _GAP, 0), self.text)
        middle = at.y() + metrics.height() / 2 + 1
        box = QRectF(at.x(), middle - 5, _SWATCH, 10)
        self._swatch(painter, colours, box)

    def _swatch(self, painter: QPainter, colours: TrendColours, box: QRectF) -> None:
        if self.kind in ("line", "dashed"):
            pen = QPen(colours(self.role), 2)
            if self.kind == "dashed":
                pen.setDashPattern([3.0, 2.0])
            painter.setPen(pen)
            y = box.center().y()
            painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
        elif self.kind == "area":
            painter.fillRect(box, colours.mixed(self.role, AREA_SHARE))
        elif self.kind == "stretch":
            painter.fillRect(box, colours(STRETCH_ROLE))
        else:
            draw_dot(painter, box.center(), self.kind, colours(self.role))


def entries(chart: Chart) -> list[Entry]:
    """The title, then everything that has a name, each once."""
    named: list[Entry] = [Entry(str(chart.title), "title")]
    named += [
        Entry(str(each.label), "dashed" if each.dashed else "line", each.role)
        for each in chart.curves
        if each.label
    ]
    named += [Entry(str(each.label), "area", each.role) for each in chart.areas]
    named += [Entry(str(each.label), _kind(each.shape), each.role) for each in chart.dots]
    named += [Entry(str(each.label), "stretch") for each in chart.stretches]
    return list(dict.fromkeys(named))


def _kind(shape: Shape) -> Kind:
    return shape


def _bold(font: QFont) -> QFont:
    bold = QFont(font)
    bold.setBold(True)
    return bold
