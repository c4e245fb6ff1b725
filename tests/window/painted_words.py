"""Every text that a window paints, found by painting it on paper that keeps nothing but words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np
from PySide6.QtCore import QPoint, QPointF, QRectF
from PySide6.QtGui import QFont, QImage, QPaintDevice, QPaintEngine, QPainter, QPainterPath, QRegion
from PySide6.QtWidgets import QAbstractScrollArea, QScrollArea, QWidget

from desktop.window.trends.view import TrendView
from desktop.window.trends.words import draw_words

_METRICS = QPaintDevice.PaintDeviceMetric
_DPI = 96


@dataclass(frozen=True)
class Word:
    """A painted text. `ink` and `seen` are in the window's pixels: all of it, and what can be seen of it.

    room  where its widget can be seen, but for scrolling
    """

    text: str
    ink: QRectF
    seen: QRectF
    room: QRectF
    colour: str
    widget: QWidget

    def __str__(self) -> str:
        return f"{self.text!r} of {type(self.widget).__name__} at {told(self.ink)}"


def told(box: QRectF) -> str:
    """Left, top, right and bottom."""
    return f"{box.left():.0f} {box.top():.0f} {box.right():.0f} {box.bottom():.0f}"


class _Engine(QPaintEngine):
    def __init__(self) -> None:
        super().__init__(QPaintEngine.PaintEngineFeature.AllFeatures)
        self.words: list[tuple[str, QRectF, str]] = []

    def begin(self, device: QPaintDevice) -> bool:
        return True

    def end(self) -> bool:
        return True

    def type(self) -> QPaintEngine.Type:
        return QPaintEngine.Type.User

    def updateState(self, state: object) -> None: ...

    def drawPath(self, path: object) -> None: ...

    def drawPolygon(self, *corners: object) -> None: ...

    def drawRects(self, *rects: object) -> None: ...

    def drawLines(self, *lines: object) -> None: ...

    def drawPixmap(self, *pixels: object) -> None: ...

    def drawImage(self, *pixels: object) -> None: ...

    def drawTextItem(self, place: object, item: object) -> None:
        if item.text().strip():
            ink = _ink(item.text(), item.font().toString()).translated(place)
            self.words.append((item.text(), ink, self.painter().pen().color().name()))


@cache
def _ink(text: str, font: str) -> QRectF:
    """The exact outline of a text that begins at the origin."""
    wanted = QFont()
    wanted.fromString(font)
    path = QPainterPath()
    path.addText(QPointF(), wanted, text)
    return path.boundingRect()


class _Paper(QPaintDevice):
    def __init__(self, width: int, height: int) -> None:
        super().__init__()
        self.engine = _Engine()
        self._sizes = {
            _METRICS.PdmWidth: width,
            _METRICS.PdmHeight: height,
            _METRICS.PdmWidthMM: width * 254 // _DPI // 10,
            _METRICS.PdmHeightMM: height * 254 // _DPI // 10,
            _METRICS.PdmNumColors: 1 << 24,
            _METRICS.PdmDepth: 32,
            _METRICS.PdmDpiX: _DPI,
            _METRICS.PdmDpiY: _DPI,
            _METRICS.PdmPhysicalDpiX: _DPI,
            _METRICS.PdmPhysicalDpiY: _DPI,
            _METRICS.PdmDevicePixelRatio: 1,
            _METRICS.PdmDevicePixelRatioScaled: 1 << 16,
        }

    def paintEngine(self) -> QPaintEngine:
        return self.engine

    def metric(self, which: QPaintDevice.PaintDeviceMetric) -> int:
        return self._sizes.get(which, 0)


def words_of(window: QWidget) -> list[Word]:
    """All texts of all widgets that can be seen, as they stand now."""
    found: list[Word] = []
    for widget in [window, *window.findChildren(QWidget)]:
        if widget.isVisibleTo(window) and not widget.isWindow() | widget.size().isEmpty():
            found += _painted(widget, window)
    return found


def _painted(widget: QWidget, window: QWidget) -> Iterator[Word]:
    written = _on_paper(
        widget, lambda paper: widget.render(paper, QPoint(), QRegion(), QWidget.RenderFlag(0))
    )
    if isinstance(widget, TrendView):
        written += _still_words(widget, written)
    seen, room = _sights(widget, window)
    offset = widget.mapTo(window, QPoint())
    for text, ink, colour in written:
        placed = ink.translated(offset)
        yield Word(text, placed, placed & seen, room, colour, widget)


def _on_paper(widget: QWidget, paint: Callable[[QPaintDevice], None]) -> list[tuple[str, QRectF, str]]:
    paper = _Paper(widget.width(), widget.height())
    paint(paper)
    return paper.engine.words


def _still_words(view: TrendView, over: list[tuple[str, QRectF, str]]) -> list[tuple[str, QRectF, str]]:
    """What a trend view has written into its still picture, less the times that its flag has wiped out."""
    if view._frame is None:
        return []

    def paint(paper: QPaintDevice) -> None:
        painter = QPainter(paper)
        painter.setFont(view._small_font())
        draw_words(painter, view._frame)
        painter.end()

    axis = view._frame.scene.layout.axis
    flags = [ink.adjusted(-8, -8, 8, 8) for _, ink, _ in over if axis.contains(ink.center().toPoint())]
    written = _on_paper(view, paint)
    return [each for each in written if not any(each[1].intersects(flag) for flag in flags)]


def _sights(widget: QWidget, window: QWidget) -> tuple[QRectF, QRectF]:
    """What can be seen of a widget; and what could be, were everything around it scrolled to it."""
    seen = room = QRectF(widget.mapTo(window, QPoint()), widget.size())
    scrolled = False
    inside = widget
    while inside is not window:
        parent = inside.parentWidget()
        around = QRectF(parent.mapTo(window, QPoint()), parent.size())
        seen = seen & around
        area = parent.parentWidget()
        if (
            isinstance(area, QAbstractScrollArea)
            and area.viewport() is parent
            and isinstance(area, QScrollArea)
        ):
            scrolled = True
        if not scrolled:
            room = room & around
        inside = parent
    return seen, room


def pixels(picture: QImage) -> np.ndarray:
    """(height, width) colours of a picture as 0xrrggbb."""
    plain = picture.convertToFormat(QImage.Format.Format_RGB32)
    rows = np.frombuffer(plain.constBits(), np.uint32).reshape(plain.height(), plain.bytesPerLine() // 4)
    return rows[:, : plain.width()] & 0xFFFFFF


def box_of(word: Word, picture: np.ndarray) -> np.ndarray:
    """The pixels of a text and next to it."""
    box = word.seen.adjusted(-2, -2, 2, 2).toAlignedRect()
    return picture[max(box.top(), 0) : box.bottom() + 1, max(box.left(), 0) : box.right() + 1]


def ground_of(word: Word, picture: np.ndarray) -> str:
    """The commonest colour around a text."""
    box = box_of(word, picture)
    return commonest(np.concatenate([box[0], box[-1], box[:, 0], box[:, -1]]))


def commonest(colours: np.ndarray) -> str:
    """The colour that most pixels have."""
    values, counts = np.unique(colours, return_counts=True)
    return f"#{values[np.argmax(counts)]:06x}"
