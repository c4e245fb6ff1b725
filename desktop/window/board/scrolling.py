"""What scrolls where the window is too small for its text: never two scroll bars beside one another.

The instruments at the left and the panels at the right scroll each by themselves. The list of findings scrolls
where the other panels leave it room; where they don't, it is as high as its rows and the whole column scrolls.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRect, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QSizePolicy, QStyle, QWidget

from desktop.window.panels.findings import FindingsPanel
from desktop.words import tr

_CHARACTERS, _LINES = 24, 8
_HEIGHT = 600


class Column(QScrollArea):
    """The right column: never narrower than its panels."""

    def __init__(self, inside: QWidget, findings: FindingsPanel) -> None:
        super().__init__()
        self._findings = findings
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        self.setWidget(inside)
        self.setAccessibleName(tr("Limits, session and findings"))
        inside.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The panels need other room."""
        if watched is self.widget() and event.type() == QEvent.Type.LayoutRequest:
            self.setMinimumWidth(self.needed())
            self._arrange()
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Other room."""
        super().resizeEvent(event)
        self._arrange()

    def sizeHint(self) -> QSize:
        """The least."""
        return QSize(self.needed(), _HEIGHT)

    def needed(self) -> int:
        """How wide the panels have to be."""
        return self.widget().minimumSizeHint().width() + self.beside()

    def beside(self) -> int:
        """The room for the scroll bar."""
        return self.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent) + 2

    def _arrange(self) -> None:
        least = self.widget().minimumSizeHint().height() - self._findings.list.spare()
        self._findings.list.show_whole(least > self.viewport().height())


class Instruments(QScrollArea):
    """Diagram and trends; scrolled where they don't find the room that they need."""

    def __init__(self, inside: QWidget) -> None:
        super().__init__()
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidget(inside)

    def minimumSizeHint(self) -> QSize:
        """Something can always be seen of it."""
        metrics = self.fontMetrics()
        return QSize(metrics.averageCharWidth() * _CHARACTERS, metrics.lineSpacing() * _LINES)


def reveal(widget: QWidget, part: QRect) -> None:
    """Scroll whatever is around a widget, so that a part of it is seen."""
    inside = widget
    while (parent := inside.parentWidget()) is not None:
        around = parent.parentWidget()
        if isinstance(around, QScrollArea) and around.widget() is inside:
            place = QRect(widget.mapTo(inside, part.topLeft()), part.size())
            around.ensureVisible(place.center().x(), place.bottom(), 0, 0)
            around.ensureVisible(place.center().x(), place.top(), 0, 0)
        inside = parent
