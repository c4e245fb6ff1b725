"""What the tab key comes to, and whether that is everything."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

VAGUE = {QAccessible.Role.NoRole, QAccessible.Role.Client, QAccessible.Role.Window, QAccessible.Role.Pane}


def reached(dialog: QWidget, first: QWidget) -> list[QWidget]:
    """What the tab key comes to, in order."""
    dialog.activateWindow()
    first.setFocus(Qt.FocusReason.TabFocusReason)
    order = [QApplication.focusWidget()]
    while len(order) < 80:
        QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        if QApplication.focusWidget() in order:
            break
        order.append(QApplication.focusWidget())
    return order


def told(order: list[QWidget], dialog: QWidget) -> None:
    takers = {
        each
        for each in dialog.findChildren(QWidget)
        if each.isVisible() and each.isEnabled() and each.focusPolicy() & Qt.FocusPolicy.TabFocus
    }
    # An editable part hands its focus on to the line within it.
    assert {each for each in takers if each.focusProxy() is None} <= set(order)
    for widget in order:
        spoken = QAccessible.queryAccessibleInterface(widget)
        assert spoken.role() not in VAGUE, widget
        assert spoken.text(QAccessible.Text.Name), widget
