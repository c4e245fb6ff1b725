"""One sentence with the mark of its severity, as high as its words need; it is read aloud when it changes."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from desktop.diagnosis.finding import Severity
from desktop.window.parts.severity_mark import Mark
from desktop.window.parts.text import Text
from desktop.window.style.look import look


class Told(QWidget):
    """Says one thing."""

    def __init__(self, size: float = 1.1, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark = Mark(1.1 * size)
        self.line = Text(wrap=True, bold=True, size=size)
        self.line.setAlignment(Qt.AlignmentFlag.AlignTop)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(10)
        row.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self.line, 1)
        look().changed.connect(self._measure)

    def say(self, severity: Severity | None, text: str) -> None:
        """Show a sentence; no mark where nothing is wrong."""
        if text != self.line.text() and QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, text))
        self.mark.show_severity(severity)
        self.mark.setVisible(severity is not None)
        self.line.show_text(text)
        self._measure()

    def text(self) -> str:
        """What it says."""
        return self.line.text()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another width breaks the sentence elsewhere."""
        super().resizeEvent(event)
        self._measure()

    def _measure(self) -> None:
        # Layouts above don't keep room for wrapped words by themselves where height is scarce.
        self.layout().activate()
        # A label's height for a width is never less than the least that it was given before.
        self.line.setMinimumHeight(0)
        self.line.setMinimumHeight(max(self.line.heightForWidth(self.line.width()), 0))
