"""A panel: a quiet frame with a title."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRectF, Qt
from PySide6.QtGui import QAccessible, QFocusEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from desktop.window.parts.text import Text
from desktop.window.style import theme

_ROOM = 12
_BY_KEY = (
    Qt.FocusReason.TabFocusReason,
    Qt.FocusReason.BacktabFocusReason,
    Qt.FocusReason.ShortcutFocusReason,
)


class Panel(QWidget):
    """Holds its content in `body`, below a line with the title and, in `head`, whatever belongs beside it.

    Its frame is strong while something that it was told of by `frame_focus` has the focus by key, and while it is
    pointed out.
    """

    spoken_role = QAccessible.Role.Grouping

    def __init__(self, title: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._focused = self._pointed = False
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(_ROOM, _ROOM - 4, _ROOM, _ROOM - 2)
        self.body.setSpacing(4)
        self.head = QHBoxLayout()
        self.head.setSpacing(6)
        self.title = Text(title.upper(), size=0.92, bold=True, tone="muted")
        self.setAccessibleName(title)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        if title:
            self.head.addWidget(self.title)
            self.body.addLayout(self.head)

    def frame_focus(self, widget: QWidget) -> None:
        """Show with the frame when this widget has the focus: itself, or what fills the panel."""
        widget.installEventFilter(self)

    def point_out(self, pointed: bool) -> None:
        """Draw the eye to it, or don't any more."""
        if pointed != self._pointed:
            self._pointed = pointed
            self.update()

    @property
    def pointed_out(self) -> bool:
        """True while it is pointed out."""
        return self._pointed

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The focus comes or goes."""
        if isinstance(event, QFocusEvent):
            self._focused = event.gotFocus() and event.reason() in _BY_KEY
            self.update()
        return super().eventFilter(watched, event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Ground and frame."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), theme.colour("ground"))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if self._focused or self._pointed:
            painter.setPen(QPen(theme.colour("text"), 2))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
            return
        painter.setPen(QPen(theme.colour("line"), 1))
        painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
