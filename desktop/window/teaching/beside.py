"""A field with what is wrong in it just below."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from desktop.window.parts.text import Text

_GAP = 2


class Beside(QWidget):
    """Holds a field; the line below it is there only while there is something to say."""

    def __init__(self, field: QWidget) -> None:
        super().__init__()
        self.field = field
        self.line = Text(wrap=True, tone="attend")
        self.line.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(_GAP)
        column.addWidget(field)
        column.addWidget(self.line)
        self.setFocusProxy(field)

    def say(self, text: str) -> None:
        """Say what is wrong; "" for nothing. A screen reader hears it with the field."""
        text = text[:1].upper() + text[1:]
        self.line.show_text(text)
        self.line.setVisible(bool(text))
        (self.field.focusProxy() or self.field).setAccessibleDescription(text)
