"""Drawing thousands of short lines at once, in device pixels.

Opaque lines of one pixel, drawn together from one array, are what Qt's raster engine does quickest: in
a picture 1400 pixels wide a span per column takes about 0.8 ms, against 5 to 50 ms for translucent
rectangles, one polygon, or one polyline wider than a pixel. Of lines that fill whole pixels, those of two cost
half to a third of twice as many of one.
"""

from __future__ import annotations

import numpy as np
from pyqtgraph.Qt import internals
from PySide6.QtCore import QLineF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from desktop.picture.trends.columns import Points, Spans


class Scale:
    """From a curve's values to pixels from the top.

    `low` lies at `bottom`, `high` at `top`. What is higher is held at the top; what is lower is held at the
    bottom, or on a shelf that lies `shelf` pixels below it.
    """

    def __init__(
        self, low: float, high: float, top: float, bottom: float, scale: float = 1.0, shelf: float = 0.0
    ) -> None:
        self._gain = (top - bottom) / (high - low) * scale
        self._offset = bottom + low * (bottom - top) / (high - low)
        self._top, self._bottom, self._shelf = top, bottom, shelf

    def __call__(self, values: np.ndarray) -> np.ndarray:
        y = np.clip(values * self._gain + self._offset, self._top, None)
        return np.where(y > self._bottom + 0.5, self._bottom + self._shelf, y)


class CurvePainter:
    """Draws curves; keeps its buffer from one frame to the next."""

    def __init__(self) -> None:
        self._lines = internals.PrimitiveArray(QLineF, 4)

    def spans(
        self,
        painter: QPainter,
        left: float,
        pixels: int,
        spans: Spans,
        scale: Scale,
        colour: QColor,
        width: float,
    ) -> None:
        """A vertical line in each column, `pixels` wide, from its lowest to its highest.

        `width` is the thickness of a line that runs level.
        """
        some = np.flatnonzero(np.isfinite(spans.low))
        ends = self._buffer(len(some))
        ends[:, 0] = ends[:, 2] = left + (some + 0.5) * pixels
        ends[:, 1] = scale(spans.high[some]) - width / 2
        ends[:, 3] = scale(spans.low[some]) + width / 2
        self._draw(painter, colour, float(pixels), Qt.PenCapStyle.FlatCap)

    def points(
        self,
        painter: QPainter,
        left: float,
        pixels: int,
        points: Points,
        scale: Scale,
        colour: QColor,
        width: float,
    ) -> None:
        """A line from each reading to the next, over columns `pixels` wide; one that stands alone is a dot."""
        x, y = left + points.at * pixels, scale(points.value)
        joined = points.joined[:-1]
        ends = self._buffer(int(np.count_nonzero(joined)))
        ends[:, 0], ends[:, 1] = x[:-1][joined], y[:-1][joined]
        ends[:, 2], ends[:, 3] = x[1:][joined], y[1:][joined]
        self._draw(painter, colour, width)
        alone = ~points.joined
        alone[1:] &= ~joined
        dots = self._buffer(int(np.count_nonzero(alone)))
        dots[:, 0], dots[:, 1] = x[alone] - 0.5, y[alone]
        dots[:, 2], dots[:, 3] = x[alone] + 0.5, y[alone]
        self._draw(painter, colour, width + 1)

    def _buffer(self, count: int) -> np.ndarray:
        self._lines.resize(count)
        return np.asarray(self._lines.ndarray())

    def _draw(
        self,
        painter: QPainter,
        colour: QColor,
        width: float,
        cap: Qt.PenCapStyle = Qt.PenCapStyle.SquareCap,
    ) -> None:
        if not len(self._lines):
            return
        painter.setPen(QPen(colour, width, Qt.PenStyle.SolidLine, cap))
        painter.drawLines(*self._lines.drawargs())
