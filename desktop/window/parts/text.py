"""A label that follows the application's font and theme."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from desktop.window.style import fonts, theme
from desktop.window.style.look import look

_FEW = 16


class Text(QLabel):
    """Plain text. `tone` is a colour of the theme: text, muted, or a severity."""

    def __init__(
        self,
        text: str = "",
        *,
        size: float = 1.0,
        bold: bool = False,
        tone: str = "text",
        wrap: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(text, parent)
        self._size, self._bold, self._tone = size, bold, tone
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wrap)
        if wrap:
            policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
            policy.setHeightForWidth(True)
            self.setSizePolicy(policy)
        self._dress()
        look().changed.connect(self._dress)

    @property
    def tone(self) -> str:
        """The colour's role."""
        return self._tone

    def set_tone(self, tone: str, bold: bool | None = None) -> None:
        """Another colour, and weight."""
        bold = self._bold if bold is None else bold
        if (tone, bold) != (self._tone, self._bold):
            self._tone, self._bold = tone, bold
            self._dress()

    def show_text(self, text: str) -> None:
        """Set the text only where it is another one: labels that don't change need no new layout."""
        if text != self.text():
            self.setText(text)

    def minimumSizeHint(self) -> QSize:
        """Of wrapped text a few words' width; how high it gets follows from the width that it is given."""
        if not self.wordWrap():
            return super().minimumSizeHint()
        metrics = self.fontMetrics()
        return QSize(metrics.averageCharWidth() * _FEW, metrics.lineSpacing())

    def _dress(self) -> None:
        self.setFont(fonts.sized(self._size, self._bold))
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.WindowText, theme.colour(self._tone))
        self.setPalette(palette)


class Elided(Text):
    """One line that takes what room there is; what doesn't fit is left out at the middle, and in the tip."""

    def __init__(self, text: str = "", **look: object) -> None:
        super().__init__(text, **look)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The line, or as much as fits."""
        painter = QPainter(self)
        fitting = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideMiddle, self.width())
        painter.setPen(theme.colour(self.tone))
        painter.drawText(self.rect(), int(self.alignment()), fitting)
        self.setToolTip(self.text() if fitting != self.text() else "")
