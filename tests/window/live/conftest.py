"""Windows that watch, and what is fed to them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from hand_source import HandSource, opening
from live_threads import threads
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from desktop.opening import open_recording
from desktop.site import Site
from desktop.window.live.watching import Open
from desktop.window.live.wish import Wish
from desktop.window.main import MainWindow
from desktop.window.settings import Settings
from desktop.window.shot import dismiss
from desktop.window.style import fonts, theme
from recordings.recording import Recording


@pytest.fixture
def watching_window(qtbot: QtBot, settings: Settings) -> Iterator[Callable[..., MainWindow]]:
    """Makes windows that may watch; none of them leaves a thread behind."""
    made: list[MainWindow] = []

    def make(open_one: Open | None = None, size: tuple[int, int] = (1280, 800)) -> MainWindow:
        settings.motion = False
        window = MainWindow(settings, open_one)
        window.live.chime.ring = lambda: None
        made.append(window)
        window.resize(*size)
        window.show()
        qtbot.waitExposed(window)
        QApplication.processEvents()
        return window

    yield make
    for window in made:
        window.close()
        dismiss(window)
    assert not threads()
    fonts.set_text_scale(1.0)
    theme.apply("light")


@pytest.fixture(scope="session")
def told(overload: Path) -> tuple[Recording, Site]:
    """The rows that are fed, and their sheet."""
    return open_recording(overload)


@dataclass
class Fed:
    """A window that watches a source of the test's hand."""

    window: MainWindow
    source: HandSource
    recording: Recording
    qtbot: QtBot
    rows: int = 0

    def feed(self, rows: int, at_once: int = 0) -> None:
        """So many more rows, and wait until the window has them."""
        stop = self.rows + rows
        step = at_once or rows
        for start in range(self.rows, stop, step):
            self.source.give(self.recording, start, min(start + step, stop))
        self.rows = stop
        self.qtbot.waitUntil(lambda: len(self.window.live.watching.watch.recording) == stop, timeout=20_000)
        QApplication.processEvents()

    def feed_to(self, instant: int) -> None:
        """All rows up to an instant."""
        self.feed(self.recording.row_at(instant) + 1 - self.rows, at_once=200)

    def settle(self) -> None:
        """Let the words catch up."""
        self.window.board.news.now()
        QApplication.processEvents()


@pytest.fixture
def fed(watching_window: Callable[..., MainWindow], told: tuple[Recording, Site], qtbot: QtBot) -> Fed:
    """A window that shows the first 600 rows of what it watches."""
    recording, site = told
    source = HandSource()
    window = watching_window(opening(source, site))
    window.live.watch(Wish("by hand"))
    qtbot.waitUntil(lambda: window.live.on)
    found = Fed(window, source, recording, qtbot)
    found.feed(600)
    qtbot.waitUntil(lambda: window.live.growing)
    QApplication.processEvents()
    return found
