"""What a person does in a lesson, by keys and by mouse."""

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from desktop.opening import demos
from desktop.picture.diagram.parts import part_at

LESSONS = ("healthy-charge", "limit-too-high", "reversed-battery-meter")


def demo_path(name):
    return next(demo.path for demo in demos() if demo.path.stem == name)


def key(name):
    """Press keys in whatever has the focus."""
    pressed = QKeySequence(name)[0]
    target = QApplication.activePopupWidget() or QApplication.focusWidget()
    QTest.keyClick(target, pressed.key(), pressed.keyboardModifiers())
    QApplication.processEvents()


def click(widget, place=None):
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton, pos=place or widget.rect().center())
    QApplication.processEvents()


def place_of_part(diagram, part):
    """A pixel of the diagram at which a click means a part."""
    picture = diagram.picture
    for y in range(1, diagram.height(), 3):
        for x in range(1, diagram.width(), 3):
            if part_at(picture, x + 0.5, y + 0.5) == part:
                return QPoint(x, y)
    raise AssertionError(f"{part} can't be clicked")


def until(qtbot, course, *phases):
    """Let the replay run until the lesson stands in one of these phases."""
    qtbot.waitUntil(lambda: course.phase in phases, timeout=20_000)
    QApplication.processEvents()
