"""Starts the window."""

from __future__ import annotations

import signal
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication

from desktop.entry import ICON, NAME
from desktop.opening import default_demo
from desktop.window import language
from desktop.window.collecting import Collecting
from desktop.window.live.wish import Wish
from desktop.window.main import MainWindow
from desktop.window.opening import Wanted, prepared
from desktop.window.settings import Settings
from desktop.window.shot import dismiss

if TYPE_CHECKING:
    from desktop.review import Review

_LISTEN_MS = 200


def run_window(
    what: Review | Sequence[str | Path] = (),
    *,
    site_path: str | Path | None = None,
    day_first: bool | None = None,
    theme: str | None = None,
) -> int:
    """Open the window on a review, on recordings, or on the demo, and stay until it is closed.

    site_path  the site sheet, None for the one beside the recording
    theme      `light` or `dark`; `system` or None for what the user chose last
    Returns the exit status.
    """
    app = application()
    window = _window(theme)
    window.show()
    if not isinstance(what, Sequence):
        window.show_ready(prepared(what))
    elif what:
        site = Path(site_path) if site_path is not None else None
        window.open_paths(Wanted(tuple(map(Path, what)), site, day_first))
    else:
        window.open_paths(Wanted((default_demo(),)))
    return _stay(app, window)


def run_watch(wish: Wish, *, theme: str | None = None, ends_after_s: float | None = None) -> int:
    """Open the window on a live system, and stay until it is closed or the time is over.

    theme  as in `run_window`
    Returns the exit status.
    """
    app = application()
    window = _window(theme)
    window.show()
    window.live.watch(wish)
    if ends_after_s is not None:
        QTimer.singleShot(round(1e3 * ends_after_s), window, window.end)
    return _stay(app, window)


def start_demo() -> int:
    """Open the window on the demo."""
    return run_window()


def application() -> QApplication:
    """The application, named."""
    QApplication.setApplicationName("headrace")
    QApplication.setApplicationDisplayName("Headrace")
    running = QApplication.instance()
    app = running if isinstance(running, QApplication) else QApplication(sys.argv[:1])
    QApplication.setWindowIcon(QIcon(str(ICON)))
    # By this name Wayland finds the menu's entry, and its icon.
    QApplication.setDesktopFileName(NAME)
    return app


def _window(theme: str | None) -> MainWindow:
    settings = Settings()
    if theme in ("light", "dark"):
        settings.theme = theme
    language.apply(settings.language)
    return MainWindow(settings)


def _stay(app: QApplication, window: MainWindow) -> int:
    # Python runs its signal handlers only between its own instructions, so it has to be woken now and then.
    before = signal.signal(signal.SIGINT, lambda *_: window.end())
    listening = QTimer(window)
    listening.timeout.connect(lambda: None)
    listening.start(_LISTEN_MS)
    collecting = Collecting()
    try:
        return app.exec()
    finally:
        signal.signal(signal.SIGINT, before)
        dismiss(window)
        collecting.end()
