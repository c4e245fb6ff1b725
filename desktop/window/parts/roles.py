"""What a screen reader calls the widgets that are none of Qt's own kinds."""

from __future__ import annotations

from PySide6.QtCore import QObject
from PySide6.QtGui import QAccessible, QAccessibleInterface
from PySide6.QtWidgets import QAccessibleWidget, QApplication, QWidget

_PROPERTY = "headraceRoles"


def tell_roles() -> None:
    """Have screen readers told the `spoken_role` of every widget that has one."""
    app = QApplication.instance()
    if not app.property(_PROPERTY):
        app.setProperty(_PROPERTY, True)
        QAccessible.installFactory(_spoken)


def _spoken(name: str, thing: QObject) -> QAccessibleInterface | None:
    role = getattr(thing, "spoken_role", None)
    return QAccessibleWidget(thing, role) if role is not None and isinstance(thing, QWidget) else None
