"""The still part of a trend view: all that changes only when the window of time, the data or the size does."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtGui import QFontMetrics, QImage, QPainter

from desktop.picture.trends.columns import Points, Spans
from desktop.picture.trends.covered import covered
from desktop.picture.trends.source import Series
from desktop.picture.trends.value_axis import value_axis
from desktop.window.parts.severity_shapes import draw_mark
from desktop.window.trends.curves import CurvePainter, Scale
from desktop.window.trends.frame import Frame, Scene, device, empty_frame, has_twin, pane_scale
from desktop.window.trends.ground import MARK_SIZE, draw_bands, draw_grid, draw_limit_lines
from desktop.window.trends.layout import PaneBox

_MEASURED_SHARE = 0.5
_MOST_LINES = 4


class TrendPainter:
    """Draws frames. It keeps nothing but buffers: a frame follows from its scene, and lives until the next one."""

    def __init__(self) -> None:
        self._curves = CurvePainter()
        self._image: QImage | None = None

    def frame(self, scene: Scene) -> Frame:
        """Curves, bands, gaps, limits and lines; `words` and `level_names` add what is written."""
        # Fresh memory for a large picture costs as much as filling it.
        frame = empty_frame(scene, self._image)
        self._image = frame.image
        painter = QPainter(frame.image)
        draw_bands(painter, frame)
        for box in scene.layout.panes:
            self._pane(painter, frame, box)
        painter.end()
        frame.image.setDevicePixelRatio(scene.ratio)
        return frame

    def _pane(self, painter: QPainter, frame: Frame, box: PaneBox) -> None:
        scene, key = frame.scene, box.pane.key
        mine = [series for series in scene.shown if series.pane == key]
        drawn = {series.key: scene.store.drawn(series, frame.columns) for series in mine}
        limits = [limit.value for limit in scene.limits(key)]
        lines = box.plot.height() // (2 * QFontMetrics(scene.font).height())
        axis = value_axis(box.pane, drawn.values(), limits, min(max(2, lines), _MOST_LINES))
        frame.axes[key] = axis
        plot = device(box.plot, scene.ratio)
        scale = pane_scale(plot, axis, scene.shelf(scene.ratio), 1.0)
        draw_grid(painter, frame, plot, axis, scale)
        scale = pane_scale(plot, axis, scene.shelf(scene.ratio), box.pane.scale)
        draw_limit_lines(painter, frame, plot, scale, limits)
        frame.covered[key] = [covered(what, frame.columns.count, scale) for what in drawn.values()]
        painter.setClipRect(plot)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        # Readings lie beneath reconciled values, and bulky curves beneath slender ones.
        for series in sorted(mine, key=lambda each: (each.kind == "reconciled", -_bulk(drawn[each.key]))):
            self._curve(painter, frame, plot.left(), drawn[series.key], scale, series, has_twin(series, mine))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setClipping(False)

    def _curve(
        self,
        painter: QPainter,
        frame: Frame,
        left: int,
        what: Points | Spans,
        scale: Scale,
        series: Series,
        behind: bool,
    ) -> None:
        colours, ratio, pixels = frame.scene.colours, frame.scene.ratio, frame.columns.pixels
        colour = colours.mixed(series.role, _MEASURED_SHARE) if behind else colours(series.role)
        width = ratio * (1.0 if behind else 1.5)
        if isinstance(what, Points):
            self._curves.points(painter, left, pixels, what, scale, colour, width)
        else:
            self._curves.spans(painter, left, pixels, what, scale, colour, width)


def draw_marks(painter: QPainter, frame: Frame) -> None:
    """The shapes of the findings in the lane above the panes."""
    layout, ratio = frame.scene.layout, frame.scene.ratio
    for mark in frame.marks:
        place = QPointF(layout.left + mark.at / ratio, layout.lane.center().y() + 0.5)
        draw_mark(painter, place, MARK_SIZE, mark.severity, frame.scene.colours(mark.severity))


def _bulk(what: Points | Spans) -> float:
    return float(np.nansum(what.high - what.low)) if isinstance(what, Spans) else 0.0
