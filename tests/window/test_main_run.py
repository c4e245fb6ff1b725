"""Starting and leaving the program."""

import os
import signal
import threading
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings, QTimer
from PySide6.QtWidgets import QApplication

from desktop.opening import default_demo
from desktop.window.main import MainWindow
from desktop.window.run import run_window, start_demo


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, qapp):
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path))


def window() -> MainWindow:
    """The window that is open."""
    return next(
        each for each in QApplication.topLevelWidgets() if isinstance(each, MainWindow) and each.isVisible()
    )


class When:
    """Does something in the running event loop as soon as a recording is shown, or as a line is."""

    def __init__(self, act, error: bool = False) -> None:
        self._act, self._error = act, error
        self._timer = QTimer()
        self._timer.timeout.connect(self._look)
        self._timer.start(10)
        self.seen = ""

    def _look(self) -> None:
        shown = window()
        line = shown.notice.line.text() if shown.notice.button.text() == "Dismiss" else ""
        if line if self._error else shown.ready:
            self._timer.stop()
            self.seen = line or shown.windowTitle()
            self._act(shown)


def test_the_window_opens_on_the_demo_and_ends_with_status_0():
    when = When(MainWindow.close)
    assert start_demo() == 0
    assert when.seen.startswith(default_demo().name)


def test_the_window_opens_on_a_recording_in_the_theme_that_was_asked_for(overload: Path, tmp_path: Path):
    sheet = tmp_path / "s.toml"
    sheet.write_text('[site]\nname = "Another barn"\n')
    names = []

    def leave(shown: MainWindow) -> None:
        names.append(shown.ready.review.site.site.name)
        names.append(shown.settings.theme)
        shown.close()

    when = When(leave)
    assert run_window([overload], site_path=str(sheet), theme="dark") == 0
    assert when.seen.startswith("overload.csv")
    assert names == ["Another barn", "dark"]
    assert not [each for each in threading.enumerate() if each.name == "opening"]


def test_the_window_opens_on_a_review(overload_review):
    when = When(MainWindow.close)
    assert run_window(overload_review) == 0
    assert when.seen.startswith("overload.csv")


def test_a_recording_that_cannot_be_read_leaves_a_window_that_says_so(tmp_path: Path):
    when = When(MainWindow.close, error=True)
    assert run_window([tmp_path / "none.csv"]) == 0
    assert "none.csv" in when.seen


def test_an_interrupt_from_the_terminal_closes_the_window(overload: Path):
    before = signal.getsignal(signal.SIGINT)
    when = When(lambda _: os.kill(os.getpid(), signal.SIGINT))
    assert run_window([overload]) == 0
    assert when.seen.startswith("overload.csv")
    assert signal.getsignal(signal.SIGINT) is before
