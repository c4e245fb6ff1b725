"""Parts of the flow diagram that are pointed out, or are to be chosen by mouse or keys."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QEvent, QObject, QPoint, QRectF, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPainterPathStroker,
    QPaintEvent,
)
from PySide6.QtWidgets import QWidget

from desktop.picture.diagram.parts import box_of, part_at, part_name, parts, paths_of
from desktop.picture.diagram.shapes import Picture
from desktop.window.diagram.paint import qt_path
from desktop.window.diagram.view import DiagramView
from desktop.window.style import theme
from desktop.window.style.look import look

_STEPS = {Qt.Key.Key_Right: 1, Qt.Key.Key_Down: 1, Qt.Key.Key_Left: -1, Qt.Key.Key_Up: -1}
_CHOOSE = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space)
_POINTED, _HELD = 2.0, 3.5
_HALO = 3.0
_PAD = 4


class PartChooser(QWidget):
    """Lies over a diagram and outlines parts of it.

    chosen  the user chose a part (its name)
    """

    chosen = Signal(str)

    def __init__(self, diagram: DiagramView) -> None:
        super().__init__(diagram)
        self._diagram = diagram
        self._pointed: tuple[str, ...] = ()
        self._choosing = False
        self._held = ""
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.resize(diagram.size())
        diagram.installEventFilter(self)
        look().changed.connect(self.update)

    @property
    def choosing(self) -> bool:
        """True while a part is to be chosen."""
        return self._choosing

    @property
    def held(self) -> str:
        """The part under the mouse or the keys; "" for none."""
        return self._held

    @property
    def pointed(self) -> tuple[str, ...]:
        """The parts that are pointed out."""
        return self._pointed

    def point_at(self, names: Iterable[str]) -> None:
        """Outline these parts; those that aren't drawn are left out."""
        self._pointed = tuple(names)
        self.update()

    def set_choosing(self, choosing: bool) -> None:
        """Whether a click, or arrows and Enter, choose a part."""
        self._choosing, self._held = choosing, ""
        self._diagram.setMouseTracking(choosing)
        if not choosing:
            self._diagram.unsetCursor()
        self.update()

    def step(self, count: int) -> None:
        """Hold another part, by so many on."""
        picture = self._diagram.picture
        names = parts(picture) if picture is not None else ()
        if not names:
            return
        at = names.index(self._held) if self._held in names else (-1 if count > 0 else 0)
        self._hold(names[(at + count) % len(names)])
        if QAccessible.isActive():
            QAccessible.updateAccessibility(
                QAccessibleAnnouncementEvent(self._diagram, part_name(self._held))
            )

    # Events

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The diagram is resized, or something is done in it."""
        kind = event.type()
        if kind == QEvent.Type.Resize:
            self.resize(self._diagram.size())
        elif not self._choosing:
            return False
        elif kind == QEvent.Type.MouseMove and isinstance(event, QMouseEvent):
            self._hover(event.position().toPoint())
        elif kind == QEvent.Type.Leave:
            self._hold("")
        elif kind == QEvent.Type.MouseButtonRelease and isinstance(event, QMouseEvent):
            return self._click(event)
        elif kind == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            return self._key(event)
        return False

    def paintEvent(self, event: QPaintEvent) -> None:
        """The outlines."""
        picture = self._diagram.picture
        if picture is None or not (self._pointed or self._held):
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for name in self._pointed:
            _outline(painter, picture, name, _POINTED)
        if self._held:
            _outline(painter, picture, self._held, _HELD)
            _name(painter, picture, self._held)

    def _click(self, event: QMouseEvent) -> bool:
        if event.button() != Qt.MouseButton.LeftButton:
            return False
        part = self._part(event.position().toPoint())
        if part:
            self.chosen.emit(part)
        return bool(part)

    def _key(self, event: QKeyEvent) -> bool:
        key = Qt.Key(event.key())
        if event.modifiers() & (Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier):
            return False
        if key in _STEPS:
            self.step(_STEPS[key])
            return True
        if key in _CHOOSE and self._held:
            self.chosen.emit(self._held)
            return True
        return False

    def _hover(self, place: QPoint) -> None:
        part = self._part(place)
        self._hold(part)
        self._diagram.setCursor(Qt.CursorShape.PointingHandCursor if part else Qt.CursorShape.ArrowCursor)

    def _hold(self, part: str) -> None:
        if part != self._held:
            self._held = part
            self.update()

    def _part(self, place: QPoint) -> str:
        picture = self._diagram.picture
        return "" if picture is None else part_at(picture, place.x() + 0.5, place.y() + 0.5)


def _name(painter: QPainter, picture: Picture, part: str) -> None:
    """What a part is called, beside it: many are too small to bear their name."""
    box = box_of(picture, part)
    if box is None:
        return
    metrics, text = painter.fontMetrics(), part_name(part)
    width, height = metrics.horizontalAdvance(text) + 2 * _PAD, metrics.height() + _PAD
    left = min(max(box.left, 1.0), picture.width - width - 1.0)
    below = box.bottom + _PAD + height <= picture.height
    tag = QRectF(left, box.bottom + _PAD if below else max(box.top - _PAD - height, 1.0), width, height)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.fillRect(tag, theme.colour("text"))
    painter.setPen(theme.colour("ground"))
    painter.drawText(tag, Qt.AlignmentFlag.AlignCenter, text)


def _outline(painter: QPainter, picture: Picture, part: str, thickness: float) -> None:
    """A line around a part, with a halo that sets it off from whatever lies below."""
    whole = QPainterPath()
    for path in paths_of(picture, part):
        whole = whole.united(qt_path(path))
    for width, role in ((thickness + _HALO, "ground"), (thickness, "text")):
        stroker = QPainterPathStroker()
        stroker.setWidth(width)
        stroker.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.fillPath(stroker.createStroke(whole), theme.colour(role))
