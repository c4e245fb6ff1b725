"""The window as a picture without a screen, exactly as a screen would show it."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QRect, Qt
from PySide6.QtWidgets import QApplication, QWidget

from desktop.window import export
from desktop.window.main import MainWindow
from desktop.window.opening import prepared
from desktop.window.settings import Forgotten, Settings
from desktop.window.style import fonts
from recordings.files import write_whole

if TYPE_CHECKING:
    from desktop.review import Review

_ROUNDS, _QUIET = 60, 4
"""At most so many rounds of events; as many without a change mean that nothing more will come."""
_POINTS = 9.75
"""The size of text where no desktop tells its own."""


def render_png(
    review: Review,
    path: str | Path,
    at: int | None = None,
    size: tuple[int, int] = (1440, 900),
    theme: str = "light",
) -> None:
    """Write the window as PNG. WriteError where the file can't be written."""
    write_whole(path, picture(review, at, size, theme))


def picture(
    review: Review,
    at: int | None = None,
    size: tuple[int, int] = (1440, 900),
    theme: str = "light",
    text_scale: float = 1.0,
) -> bytes:
    """The window as PNG, showing an instant (UTC nanoseconds; None for the most telling one).

    size  width and height in pixels
    theme `light` or `dark`
    """
    window = shown(review, at, size, theme, text_scale)
    content = export.png(window.grab())
    dismiss(window)
    return content


def dismiss(window: MainWindow) -> None:
    """Close a window, and delete it here and now: a widget that is left to the garbage collector may be
    collected in another thread, which Qt doesn't survive."""
    window.end()
    window.deleteLater()
    QApplication.sendPostedEvents(window, QEvent.Type.DeferredDelete.value)


def shown(
    review: Review,
    at: int | None = None,
    size: tuple[int, int] = (1440, 900),
    theme: str = "light",
    text_scale: float = 1.0,
) -> MainWindow:
    """A window that shows a review, laid out and ready to be painted, but on no screen."""
    application()
    settings = Settings(Forgotten())
    settings.theme, settings.text_scale, settings.motion = theme, text_scale, False
    window = MainWindow(settings)
    window.setMinimumSize(1, 1)
    window.resize(*size)
    window.setAttribute(Qt.WidgetAttribute.WA_DontShowOnScreen)
    window.show_ready(prepared(review), at)
    window.show()
    settle(window)
    return window


def settle(window: QWidget) -> None:
    """Wait until everything in a window has found its place: what wraps its words asks again, and again."""
    before: list[QRect] = []
    quiet = 0
    for _ in range(_ROUNDS):
        QApplication.processEvents()
        places = [each.geometry() for each in window.findChildren(QWidget)]
        quiet = quiet + 1 if places == before else 0
        if quiet == _QUIET:
            return
        before = places


def application() -> QApplication:
    """The application that runs, else one that needs no screen."""
    app = QApplication.instance()
    if isinstance(app, QApplication):
        return app
    if sys.platform.startswith("linux"):
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
    app = QApplication([])
    fonts.set_base(_POINTS)
    return app
