"""Tells every widget that paints or measures by itself that font or theme are others now.

Qt tells this to windows only, and to those widgets that never chose a font or colour of their own.
"""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QApplication

_NAME = "headraceLook"


class Look(QObject):
    """One for each application.

    changed  fonts or colours are others now
    """

    changed = Signal()


def look() -> Look:
    """The application's own."""
    app = QApplication.instance()
    found = app.findChild(Look, _NAME)
    if found is None:
        found = Look(app)
        found.setObjectName(_NAME)
    return found
