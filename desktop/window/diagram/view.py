"""The flow diagram as a widget: it shows one moment, and paints what the layout says."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from PySide6.QtCore import QEvent, QSize, Qt, QTimer
from PySide6.QtGui import (
    QAccessible,
    QAccessibleEvent,
    QFontMetricsF,
    QPainter,
    QPaintEvent,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QApplication, QSizePolicy, QWidget

from desktop.picture.diagram import Picture, layout
from desktop.picture.diagram.shapes import Measure
from desktop.review.moment import Moment
from desktop.window.diagram.paint import DiagramPainter, font_of
from desktop.window.diagram.words import spoken
from desktop.window.style import theme as themes
from desktop.window.style.look import look
from desktop.words import tr

_FRAME_MS = 66
_DRIFT_S = 4.0
"""Seconds in which a chevron reaches the place of the next one."""


class DiagramView(QWidget):
    """Shows where power flows at one moment. Chevrons stand still until `set_motion(True)`."""

    spoken_role = QAccessible.Role.Graphic

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._moment: Moment | None = None
        self._theme = themes.current()
        self._picture: Picture | None = None
        self._held: Picture | None = None
        self._still: QPixmap | None = None
        self._phase = 0.0
        self._timer = QTimer(self)
        self._timer.setInterval(_FRAME_MS)
        self._timer.timeout.connect(self._drift)
        self.setAccessibleName(tr("Power flow"))
        # There is nothing to do in it, but a screen reader has much to read.
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(280, 180)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        look().changed.connect(self._dress)

    @property
    def moment(self) -> Moment | None:
        """What is shown."""
        return self._moment

    @property
    def picture(self) -> Picture | None:
        """The shapes that are shown, in the widget's own pixels; None while there is no moment."""
        if self._picture is None and self._moment is not None:
            picture = layout(self._moment, self.width(), self.height(), measured())
            self._picture = picture if self._held is None else with_words_of(self._held, picture)
        return self._picture

    def show_moment(self, moment: Moment, *, words: bool = True) -> None:
        """Show another moment; without `words` its water alone, while numbers stay as they are."""
        held = self._held or self._picture
        self._moment = moment
        self._forget()
        if not words:
            self._held = held
            return
        description = spoken(moment)
        if description != self.accessibleDescription():
            self.setAccessibleDescription(description)
            if QAccessible.isActive():
                QAccessible.updateAccessibility(QAccessibleEvent(self, QAccessible.Event.DescriptionChanged))

    def set_theme(self, name: str) -> None:
        """Paint in `light` or `dark`."""
        if name != self._theme:
            self._theme = name
            self._forget()

    def set_motion(self, moves: bool) -> None:
        """Let chevrons drift slowly, or stand still."""
        if moves:
            self._timer.start()
        else:
            self._timer.stop()
            self._phase = 0.0
            self.update()

    @property
    def moves(self) -> bool:
        """True while chevrons drift."""
        return self._timer.isActive()

    def sizeHint(self) -> QSize:
        """A comfortable size."""
        return QSize(900, 440)

    def render_picture(self, painter: QPainter) -> None:
        """Paint the picture as it is shown, for a printer or a file."""
        picture = self.picture
        if picture is not None:
            paint = DiagramPainter(self._theme)
            paint.paint(painter, picture)
            paint.paint_chevrons(painter, picture, self._phase)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The picture, and the chevrons over it. While they move, what stands still comes from store."""
        painter = QPainter(self)
        picture = self.picture
        paint = DiagramPainter(self._theme)
        if picture is None:
            painter.fillRect(self.rect(), themes.colour_in(self._theme, "ground"))
            return
        if self.moves:
            ratio = self.devicePixelRatioF()
            if self._still is None or self._still.devicePixelRatio() != ratio:
                self._still = self._painted(paint, picture, ratio)
            painter.drawPixmap(0, 0, self._still)
        else:
            paint.paint(painter, picture)
        paint.paint_chevrons(painter, picture, self._phase)

    def _painted(self, paint: DiagramPainter, picture: Picture, ratio: float) -> QPixmap:
        still = QPixmap(self.size() * ratio)
        still.setDevicePixelRatio(ratio)
        painter = QPainter(still)
        paint.paint(painter, picture)
        painter.end()
        return still

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another page, unless Qt only repeats the size."""
        if self._picture is None or (self._picture.width, self._picture.height) != self.size().toTuple():
            self._forget()

    def changeEvent(self, event: QEvent) -> None:
        """The application has another font, theme or language."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.ApplicationFontChange, QEvent.Type.FontChange):
            self._forget()
        elif event.type() == QEvent.Type.LanguageChange:
            self.setAccessibleName(tr("Power flow"))
            self._forget()

    def _dress(self) -> None:
        self._theme = themes.current()
        self._forget()

    def _drift(self) -> None:
        if not self.isVisible():
            return
        self._phase = (self._phase + _FRAME_MS / 1000 / _DRIFT_S) % 1.0
        self.update()

    def _forget(self) -> None:
        self._picture = self._held = None
        self._still = None
        self.update()


def with_words_of(held: Picture, picture: Picture) -> Picture:
    """A picture with the words of the one before it; itself where it has other things to tell of."""
    same = (held.width, held.height, held.em) == (picture.width, picture.height, picture.em)
    same &= (held.stale, len(held.marks)) == (picture.stale, len(picture.marks))
    if not same or [text.of for text in held.texts] != [text.of for text in picture.texts]:
        return picture
    return replace(picture, texts=held.texts, marks=held.marks)


def measured() -> Measure:
    """A measure of text in the application's font."""
    return _measure(QApplication.font().toString())


@lru_cache(maxsize=8)
def _measure(font: str) -> Measure:
    """One measure per font, which remembers what it has measured."""
    metrics: dict[tuple[float, bool], QFontMetricsF] = {}

    @lru_cache(maxsize=4096)
    def measure(text: str, size: float, bold: bool) -> tuple[float, float]:
        key = (size, bold)
        if key not in metrics:
            metrics[key] = QFontMetricsF(font_of(size, bold))
        return metrics[key].horizontalAdvance(text), metrics[key].height()

    return measure
