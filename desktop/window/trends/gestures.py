"""What hands do to a trend view: wheel, drag, pinch, keys; turned into moves of its window and its cursor."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent, QNativeGestureEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QGestureEvent, QPinchGesture

if TYPE_CHECKING:
    from desktop.window.trends.view import TrendView

_NOTCH = 120.0
_ZOOM_PER_NOTCH = 0.8
_PAN_PER_NOTCH = 0.1
_STEP = 0.1
_ZOOM_STEP = 0.7
_GRIP = 6.0
"""Pixels beside the cursor within which a press takes hold of it."""


class Gestures:
    """Hears a view's events. A press on the cursor's line drags the cursor, elsewhere it drags time."""

    def __init__(self, view: TrendView) -> None:
        self._view = view
        self._pressed: QPointF | None = None
        self._last = 0.0
        self._dragging = False
        self._holding_cursor = False
        self._takers = {
            QEvent.Type.Wheel: self._wheel,
            QEvent.Type.MouseButtonPress: self._press,
            QEvent.Type.MouseMove: self._move,
            QEvent.Type.MouseButtonRelease: self._release,
            QEvent.Type.MouseButtonDblClick: self._double,
            QEvent.Type.Leave: self._leave,
            QEvent.Type.KeyPress: self._key,
            QEvent.Type.NativeGesture: self._native,
            QEvent.Type.Gesture: self._gesture,
        }

    def take(self, event: QEvent) -> bool:
        """True where the event was meant for time or cursor and is done with."""
        taker = self._takers.get(event.type())
        if taker is None or self._view.window_of_time is None or not taker(event):
            return False
        event.accept()
        return True

    def _wheel(self, event: QWheelEvent) -> bool:
        pixels, angle = event.pixelDelta(), event.angleDelta()
        sideways = abs(angle.x()) > abs(angle.y())
        if sideways or event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            if not pixels.isNull() and sideways:
                self._view.pan(-pixels.x() / self._view.field.width())
            else:
                turned = angle.x() if sideways else angle.y()
                self._view.pan(-turned / _NOTCH * _PAN_PER_NOTCH)
            return True
        about = self._view.instant_at(event.position().x())
        self._view.zoom(_ZOOM_PER_NOTCH ** (angle.y() / _NOTCH), about)
        return True

    def _press(self, event: QMouseEvent) -> bool:
        place = event.position()
        if event.button() != Qt.MouseButton.LeftButton or not self._view.field.contains(place.toPoint()):
            return False
        self._view.setFocus(Qt.FocusReason.MouseFocusReason)
        self._pressed, self._last, self._dragging = place, place.x(), False
        self._holding_cursor = self._on_cursor(place.x())
        return True

    def _move(self, event: QMouseEvent) -> bool:
        place = event.position()
        if self._pressed is None:
            inside = self._view.field.contains(place.toPoint())
            self._view.hover(place.x() if inside else None)
            self._shape(inside and self._on_cursor(place.x()))
            return True
        far = abs(place.x() - self._pressed.x()) >= QApplication.startDragDistance() / 2
        self._dragging = self._dragging or far
        if self._holding_cursor:
            self._put(place.x())
        elif self._dragging:
            self._view.hover(None)
            self._view.setCursor(Qt.CursorShape.ClosedHandCursor)
            self._view.pan((self._last - place.x()) / self._view.field.width())
            self._last = place.x()
        return True

    def _release(self, event: QMouseEvent) -> bool:
        if self._pressed is None or event.button() != Qt.MouseButton.LeftButton:
            return False
        if self._holding_cursor or not self._dragging:
            self._put(event.position().x())
        self._pressed = None
        self._shape(False)
        return True

    def _double(self, event: QMouseEvent) -> bool:
        if not self._view.field.contains(event.position().toPoint()):
            return False
        self._view.fit()
        return True

    def _leave(self, event: QEvent) -> bool:
        self._view.hover(None)
        return False

    def _key(self, event: QKeyEvent) -> bool:
        view, key = self._view, event.key()
        control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if control and key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            view.step_cursor(1 if key == Qt.Key.Key_Right else -1)
            return True
        if event.modifiers() & (Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.ControlModifier):
            return False
        actions = {
            Qt.Key.Key_Left: lambda: view.pan(-_STEP),
            Qt.Key.Key_Right: lambda: view.pan(_STEP),
            Qt.Key.Key_PageUp: lambda: view.pan(-1.0),
            Qt.Key.Key_PageDown: lambda: view.pan(1.0),
            Qt.Key.Key_Up: lambda: view.zoom(_ZOOM_STEP),
            Qt.Key.Key_Down: lambda: view.zoom(1 / _ZOOM_STEP),
            Qt.Key.Key_Plus: lambda: view.zoom(_ZOOM_STEP),
            Qt.Key.Key_Equal: lambda: view.zoom(_ZOOM_STEP),
            Qt.Key.Key_Minus: lambda: view.zoom(1 / _ZOOM_STEP),
            Qt.Key.Key_Home: view.to_start,
            Qt.Key.Key_End: view.to_end,
            Qt.Key.Key_0: view.fit,
        }
        action = actions.get(Qt.Key(key))
        if action is None:
            return False
        action()
        return True

    def _native(self, event: QNativeGestureEvent) -> bool:
        about = self._view.instant_at(event.position().x())
        if event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
            self._view.zoom(1 / max(0.1, 1 + event.value()), about)
            return True
        if event.gestureType() == Qt.NativeGestureType.SmartZoomNativeGesture:
            self._view.fit()
            return True
        return False

    def _gesture(self, event: QGestureEvent) -> bool:
        pinch = event.gesture(Qt.GestureType.PinchGesture)
        if not isinstance(pinch, QPinchGesture):
            return False
        # Two fingers that move are no click.
        self._pressed = None
        centre = self._view.mapFromGlobal(pinch.centerPoint().toPoint()).x()
        before = self._view.mapFromGlobal(pinch.lastCenterPoint().toPoint()).x()
        if pinch.state() == Qt.GestureState.GestureUpdated:
            self._view.pan((before - centre) / self._view.field.width())
        if math.isfinite(pinch.scaleFactor()) and pinch.scaleFactor() > 0:
            self._view.zoom(1 / pinch.scaleFactor(), self._view.instant_at(centre))
        return True

    def _on_cursor(self, x: float) -> bool:
        cursor = self._view.cursor_instant
        place = None if cursor is None else self._view.place_of(cursor)
        return place is not None and abs(place - x) <= _GRIP

    def _put(self, x: float) -> None:
        instant = self._view.instant_at(x)
        if instant is not None:
            self._view.put_cursor(instant)

    def _shape(self, on_cursor: bool) -> None:
        self._view.setCursor(
            Qt.CursorShape.SizeHorCursor if on_cursor else Qt.CursorShape.CrossCursor,
        )
