"""One calm line at the top of the window: what went wrong, or what is being read and how far it is."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QWidget

from desktop.window.parts.panel import Panel
from desktop.window.parts.severity_mark import Mark
from desktop.window.parts.text import Text
from desktop.window.style.look import look
from desktop.words import Phrase, tr

_STEPS = 1000


class Notice(Panel):
    """Says one thing, until it is dismissed or something else happens.

    cancelled  the user wants what is under way to stop
    """

    cancelled = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("", parent)
        self.mark = Mark(1.3)
        self.mark.show_severity("attend")
        self.line = Text(wrap=True)
        self.line.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        self.bar = QProgressBar()
        self.bar.setRange(0, _STEPS)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName(tr("Progress"))
        self.button = QPushButton()
        self.button.clicked.connect(self._press)
        row = QHBoxLayout()
        row.setSpacing(10)
        row.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self.line, 1)
        row.addWidget(self.bar)
        row.addWidget(self.button, 0, Qt.AlignmentFlag.AlignTop)
        self.body.addLayout(row)
        self._working = False
        self._name = ""
        self._dress()
        look().changed.connect(self._dress)
        self.hide()

    @property
    def work(self) -> str:
        """The name of what is under way; "" for nothing."""
        return self._name if self._working and not self.isHidden() else ""

    def show_error(self, line: str) -> None:
        """Tell what went wrong."""
        self._set(working=False)
        self.line.setText(line)
        self.button.setText(tr("Dismiss"))
        self.show()
        if QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, line))

    def show_work(self, name: str) -> None:
        """Something is under way."""
        self._name = name
        self._set(working=True)
        self.bar.setValue(0)
        self.line.setText(name)
        self.button.setText(tr("Cancel"))
        self.show()

    def show_progress(self, stage: str, share: float) -> None:
        """How far it is."""
        self.line.show_text(str(Phrase("{stage} {name}", stage=stage, name=self._name)))
        self.bar.setValue(round(share * _STEPS))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape does what the button does."""
        if event.key() == Qt.Key.Key_Escape:
            self._press()
        else:
            super().keyPressEvent(event)

    def _dress(self) -> None:
        self.bar.setFixedWidth(self.fontMetrics().averageCharWidth() * 24)

    def _set(self, working: bool) -> None:
        self._working = working
        self.bar.setVisible(working)
        self.mark.setVisible(not working)

    def _press(self) -> None:
        self.hide()
        if self._working:
            self.cancelled.emit()
