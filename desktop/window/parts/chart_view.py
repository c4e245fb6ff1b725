"""A chart: a title with its legend, marks above the plot, curves and dots within, axes beside it."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize
from PySide6.QtGui import QAccessible, QFont, QFontMetricsF, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from desktop.picture.charts.chart import Chart
from desktop.window.parts.chart_ink import ChartInk
from desktop.window.parts.chart_legend import Entry, entries
from desktop.window.style import fonts, theme
from desktop.window.style.look import look
from desktop.window.trends.colours import TrendColours

_LETTERS = 46
_PLOT_LINES = 9
_SMALLER = 0.92
_SPACE, _SIDE = 14.0, 4.0


class ChartView(QWidget):
    """Paints one chart, as high as its legend and marks need."""

    spoken_role = QAccessible.Role.Chart

    def __init__(self, lines: int = _PLOT_LINES, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.chart: Chart | None = None
        self._lines = lines
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self._dress()
        look().changed.connect(self._dress)

    def show_chart(self, chart: Chart | None) -> None:
        """Show this one; nothing is seen of None."""
        self.chart = chart
        if self.parentWidget() is not None:
            # Without one it would be a window of its own.
            self.setVisible(chart is not None)
        if chart is not None:
            self.setAccessibleName(str(chart.title))
            self.setAccessibleDescription(str(chart.told))
        self.updateGeometry()
        self.update()

    def hasHeightForWidth(self) -> bool:
        """The legend wraps."""
        return True

    def heightForWidth(self, width: int) -> int:
        """For its words in this width, and a plot of usual height."""
        return round(self._above(width) + self._row() * (self._lines + 2.6))

    def sizeHint(self) -> QSize:
        """A comfortable width."""
        width = round(self._metrics().averageCharWidth() * 1.6 * _LETTERS)
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        """As narrow as the longest entry of the legend."""
        widest = max((each.width(self._font()) for each in self._entries()), default=0.0)
        width = round(max(self._metrics().averageCharWidth() * _LETTERS, widest + 2 * _SIDE))
        return QSize(width, self.heightForWidth(width))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another width wraps the legend elsewhere."""
        super().resizeEvent(event)
        self.setMinimumHeight(self.heightForWidth(self.width()))

    def paintEvent(self, event: QPaintEvent) -> None:
        """All of it."""
        if self.chart is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self._font())
        colours = TrendColours(theme.current())
        painter.fillRect(self.rect(), colours("ground"))
        self._paint_legend(painter, colours)
        ink = ChartInk(self.chart, colours, self._metrics(), self.plot())
        ink.axes(painter)
        self._paint_marks(painter, colours, ink)
        ink.content(painter)

    def plot(self) -> QRectF:
        """Where curves are drawn, in the widget's coordinates."""
        left, wide = self._sides(self.width())
        top = self._above(self.width())
        bottom = self.height() - 2.4 * self._row()
        return QRectF(left, top, wide, max(20.0, bottom - top))

    def _sides(self, width: float) -> tuple[float, float]:
        """Left edge and width of the plot."""
        metrics, chart = self._metrics(), self.chart
        gutter = max((metrics.horizontalAdvance(text) for _, text in chart.y.ticks), default=0.0) + 12
        last = metrics.horizontalAdvance(chart.x.ticks[-1][1]) / 2 if chart.x.ticks else 0.0
        return gutter, max(20.0, width - gutter - last - 8)

    # Words above the plot

    def _paint_legend(self, painter: QPainter, colours: TrendColours) -> None:
        font = self._font()
        for entry, x, row in self._placed(self.width()):
            entry.paint(painter, colours, font, QPointF(x, row * self._row()))
        painter.setFont(font)

    def _paint_marks(self, painter: QPainter, colours: TrendColours, ink: ChartInk) -> None:
        metrics = self._metrics()
        first = self._legend_rows(self.width()) * self._row()
        places = self._mark_places(self.width())
        for mark, (left, row) in zip(self.chart.uprights, places, strict=True):
            top = first + row * self._row()
            painter.setPen(colours(mark.role))
            painter.drawText(QPointF(left, top + metrics.ascent() + 1), str(mark.label))
            # From below all labels, so that no line runs through one.
            ink.upright(painter, mark, ink.top - 0.4 * metrics.height())

    def _mark_places(self, width: float) -> list[tuple[float, int]]:
        """Left end and row of each mark's label. The lowest row is the first one that has room, so that no line
        runs through a label."""
        if self.chart is None:
            return []
        metrics, (start, room), axis = self._metrics(), self._sides(width), self.chart.x
        taken: list[tuple[float, float, int]] = []
        for mark in self.chart.uprights:
            wide = metrics.horizontalAdvance(str(mark.label))
            middle = start + (mark.x - axis.low) / (axis.high - axis.low) * room
            left = min(max(middle - wide / 2, _SIDE), width - wide - _SIDE)
            row = 0
            while any(row == r and left < b + 8 and a < left + wide + 8 for a, b, r in taken):
                row += 1
            taken.append((left, left + wide, row))
        most = max((row for _, _, row in taken), default=0)
        return [(left, most - row) for left, _, row in taken]

    def _above(self, width: int) -> float:
        marks = max((row + 1 for _, row in self._mark_places(width)), default=0)
        # Half of the topmost value stands above the plot.
        return (self._legend_rows(width) + marks + 0.5) * self._row() + 3

    def _legend_rows(self, width: int) -> int:
        return max((row for _, _, row in self._placed(width)), default=0) + 1

    def _placed(self, width: int) -> list[tuple[Entry, float, int]]:
        """Each entry of the legend with its left end and its row."""
        font, x, row = self._font(), _SIDE, 0
        placed: list[tuple[Entry, float, int]] = []
        for entry in self._entries():
            wide = entry.width(font)
            if x > _SIDE and x + wide > width - _SIDE:
                x, row = _SIDE, row + 1
            placed.append((entry, x, row))
            x += wide + _SPACE
        return placed

    def _entries(self) -> list[Entry]:
        return entries(self.chart) if self.chart is not None else []

    def _row(self) -> float:
        return self._metrics().height() + 3

    def _metrics(self) -> QFontMetricsF:
        return QFontMetricsF(self._font())

    def _font(self) -> QFont:
        return fonts.sized(_SMALLER)

    def _dress(self) -> None:
        self.setMinimumHeight(0)
        self.updateGeometry()
        if self.width() > 0:
            self.setMinimumHeight(self.heightForWidth(self.width()))
        self.update()
