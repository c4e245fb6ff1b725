"""What every test of the window needs: no screen, settings of its own, and a reviewed recording."""

import gc
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from desktop.opening import open_recording
from desktop.review import Review, review
from desktop.window.main import MainWindow
from desktop.window.opening import Ready, Wanted, prepared
from desktop.window.settings import Settings
from desktop.window.shot import dismiss
from desktop.window.style import fonts, theme
from drivers.plant import export

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# Where nothing was chosen the window speaks the system's language; the tests read English.
os.environ["LC_ALL"] = "C.UTF-8"


@pytest.fixture(autouse=True)
def collected_between_tests() -> Iterator[None]:
    """Windows of earlier tests that hold each other are collected between tests.

    A collection that happens to begin within a window's event handler has torn down the interpreter.
    """
    gc.disable()
    yield
    gc.enable()


@pytest.fixture(scope="session")
def overload(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A recording, with its site sheet beside it, of a generator that trips under load; three findings."""
    path = tmp_path_factory.mktemp("recordings") / "overload.csv"
    export.run("limit-too-high", path)
    return path


@pytest.fixture(scope="session")
def overload_review(overload: Path) -> Review:
    """Its review. Nobody may extend it."""
    return review(*open_recording(overload))


@pytest.fixture
def ready(overload: Path, overload_review: Review) -> Ready:
    """Its review with trends."""
    return prepared(overload_review, Wanted((overload,)))


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """Settings that remember nothing beyond the test."""
    return Settings(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))


@pytest.fixture
def open_window(qtbot: QtBot, settings: Settings) -> Iterator[Callable[..., MainWindow]]:
    """Makes windows; each is closed, and what it set for the whole application is undone."""
    made: list[MainWindow] = []

    def make(ready: Ready | None = None, size: tuple[int, int] = (1280, 800)) -> MainWindow:
        window = MainWindow(settings)
        made.append(window)
        window.resize(*size)
        if ready is not None:
            window.show_ready(ready)
        window.show()
        qtbot.waitExposed(window)
        QApplication.processEvents()
        return window

    yield make
    for window in made:
        window.close()
        assert not window.opener.busy
        dismiss(window)
    fonts.set_text_scale(1.0)
    theme.apply("light")
