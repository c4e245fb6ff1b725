"""Paints the shapes of a flow diagram in a theme. Nothing is decided here."""

from __future__ import annotations

from functools import cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainter, QPainterPath, QPen, QPixmap, QPolygonF

from desktop.picture.diagram.chevrons import chevrons
from desktop.picture.diagram.shapes import Area, Line, Mark, Path, Picture, Text
from desktop.picture.palette import THEMES, Theme
from desktop.window.parts.severity_shapes import draw_mark
from desktop.window.style import fonts

_STALE = 0.35
"""The share of colour that is left of water that is too old to be believed."""

_ALIGN = {
    "left": Qt.AlignmentFlag.AlignLeft,
    "centre": Qt.AlignmentFlag.AlignHCenter,
    "right": Qt.AlignmentFlag.AlignRight,
}


class DiagramPainter:
    """Paints pictures in one theme."""

    def __init__(self, theme: str) -> None:
        self._theme: Theme = THEMES[theme]
        self._scale = 1.0

    def paint(self, painter: QPainter, picture: Picture) -> None:
        """Everything but the chevrons."""
        painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
        painter.fillRect(QRectF(0, 0, picture.width, picture.height), self._colour("ground"))
        beds = [area for area in picture.areas if area.kind in ("bed", "unknown", "reservoir", "stored")]
        for area in beds:
            self._area(painter, area, picture.stale)
        for line in picture.lines:
            if line.kind == "rim":
                self._line(painter, line)
        for area in picture.areas:
            if area.kind in ("water", "overflow", "stub"):
                self._area(painter, area, picture.stale)
        for line in picture.lines:
            if line.kind != "rim":
                self._line(painter, line)
        for area in picture.areas:
            if area.kind in ("bus", "lock"):
                self._area(painter, area, picture.stale)
        for mark in picture.marks:
            self._mark(painter, mark)
        for text in picture.texts:
            self._text(painter, text)

    def paint_chevrons(self, painter: QPainter, picture: Picture, phase: float = 0.0) -> None:
        """The chevrons, drifted by a phase of 0..1."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for current in picture.currents:
            thick = min(max(0.13 * picture.em, 1.4), 3.0)
            painter.setPen(_pen(self._chevron_colour(current.source, current.width, picture.em), thick))
            for corners in chevrons(current, picture.em, phase):
                painter.drawPolyline(QPolygonF([QPointF(*corner) for corner in corners]))

    def _chevron_colour(self, source: str, width: float, em: float) -> QColor:
        if source == "unaccounted" or width < 0.3 * em:
            return self._colour("text")
        colour = QColor(self._theme.ink(source))
        colour.setAlphaF(0.85)
        return colour

    def _colour(self, role: str) -> QColor:
        return _colour(self._theme[role])

    def _water(self, role: str, stale: bool) -> QColor:
        return _colour(self._theme.mixed(role, _STALE, "bed")) if stale else self._colour(role)

    def _area(self, painter: QPainter, area: Area, stale: bool) -> None:
        path = qt_path(area.path)
        if area.kind == "lock":
            painter.setPen(_pen(self._colour("bar"), 1.6))
            painter.setBrush(self._colour("panel"))
            painter.drawPath(path)
            return
        painter.setPen(Qt.PenStyle.NoPen)
        if area.kind == "water":
            painter.fillPath(path, self._water(area.role, stale))
            if area.source == "mixed":
                painter.fillPath(path, self._pattern("dots", self._theme.ink("mixed")))
        elif area.kind == "overflow":
            painter.fillPath(path, self._colour(area.role))
            painter.fillPath(path, self._pattern("hatch", self._theme["ground"]))
        elif area.kind == "stub":
            painter.fillPath(path, self._colour("ground"))
            painter.fillPath(path, self._pattern("hatch", self._theme["unaccounted"]))
            painter.strokePath(path, _pen(self._colour("unaccounted"), 1.2))
        elif area.kind == "unknown":
            painter.fillPath(path, self._pattern("dots", self._theme["unknown"]))
        else:
            painter.fillPath(path, self._water(area.role, stale and area.kind == "stored"))

    def _pattern(self, name: str, colour: str) -> QBrush:
        brush = QBrush(_tile(name, colour))
        return brush

    def _line(self, painter: QPainter, line: Line) -> None:
        if line.kind == "surface":
            pen = _pen(_colour(self._theme.edge(line.role)), line.thickness)
        else:
            pen = _pen(self._colour(line.role), line.thickness, line.dash)
        painter.strokePath(qt_path(line.path), pen)

    def _text(self, painter: QPainter, text: Text) -> None:
        painter.setFont(font_of(text.size, text.bold))
        painter.setPen(self._colour(text.role))
        box = text.box
        rect = QRectF(box.left - 1, box.top - 1, box.width + 2, box.height + 2)
        painter.drawText(
            rect, _ALIGN[text.align] | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextDontClip, text.text
        )

    def _mark(self, painter: QPainter, mark: Mark) -> None:
        colour = self._colour(mark.severity)
        draw_mark(painter, QPointF(*mark.centre), mark.size, mark.severity, colour)


def font_of(size: float, bold: bool) -> QFont:
    """The application's font in another size, its digits all of one width."""
    font = fonts.sized(size, bold)
    font.setFeature(QFont.Tag("tnum"), 1)
    return font


def qt_path(path: Path) -> QPainterPath:
    """A path of shapes as Qt's."""
    made = QPainterPath()
    for name, *numbers in path:
        if name == "M":
            made.moveTo(*numbers)
        elif name == "L":
            made.lineTo(*numbers)
        elif name == "C":
            made.cubicTo(*numbers)
        else:
            made.closeSubpath()
    return made


def _pen(colour: QColor, thickness: float, dash: tuple[float, float] | None = None) -> QPen:
    pen = QPen(colour, thickness)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    if dash is not None:
        pen.setDashPattern([part / thickness for part in dash])
    return pen


@cache
def _colour(name: str) -> QColor:
    return QColor(name)


@cache
def _tile(name: str, colour: str) -> QPixmap:
    """A small piece of a pattern that is laid out over an area."""
    side = 8 if name == "hatch" else 6
    ratio = 2
    tile = QPixmap(side * ratio, side * ratio)
    tile.setDevicePixelRatio(ratio)
    tile.fill(Qt.GlobalColor.transparent)
    painter = QPainter(tile)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if name == "hatch":
        painter.setPen(QPen(QColor(colour), 1.6))
        for shift in (-side, 0, side):
            painter.drawLine(QPointF(shift - 1, side + 1), QPointF(shift + side + 1, -1))
    else:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colour))
        painter.drawEllipse(QPointF(side / 2, side / 2), 0.9, 0.9)
    painter.end()
    return tile
