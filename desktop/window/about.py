"""The about box and the cautions."""

from __future__ import annotations

import platform
from importlib.metadata import version

from PySide6.QtCore import Qt, qVersion
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFrame, QScrollArea, QVBoxLayout, QWidget

from desktop import cautions
from desktop.window.parts.page import Page
from desktop.window.parts.text import Text
from desktop.words import tr


class AboutBox(QDialog):
    """What this is, and the versions that matter when something is reported."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("About Headrace"))
        purpose = tr(
            "Shows how power is led from generator, sun and grid to house and battery, whether the channel is "
            "wide enough, and where power goes missing. It reads and never controls."
        )
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addWidget(Text("Headrace", size=1.8, bold=True))
        column.addWidget(Text(purpose, wrap=True))
        self.versions = Text(versions(), tone="muted")
        self.versions.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        column.addWidget(self.versions)
        column.addWidget(_close(self))


class CautionsBox(QDialog):
    """What can hurt, and who is to be asked."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Cautions"))
        inside = Page()
        lines = QVBoxLayout(inside)
        lines.setSpacing(10)
        for caution in cautions.ALL:
            lines.addWidget(Text(tr(caution), wrap=True))
        lines.addStretch(1)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setWidget(inside)
        column = QVBoxLayout(self)
        column.addWidget(area)
        column.addWidget(_close(self))
        width = self.fontMetrics().averageCharWidth() * 84
        self.resize(min(width, 1100), min(self.fontMetrics().lineSpacing() * 28, 640))


def versions() -> str:
    """Lines with the versions of the program and of what it stands on."""
    packages = ("PySide6-Essentials", "pyqtgraph", "numpy", "pyarrow")
    lines = [f"Headrace {version('headrace')}", f"Python {platform.python_version()}", f"Qt {qVersion()}"]
    return "\n".join([*lines, *(f"{name} {version(name)}" for name in packages)])


def _close(dialog: QDialog) -> QDialogButtonBox:
    buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
    buttons.rejected.connect(dialog.reject)
    return buttons
