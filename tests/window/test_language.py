"""Another language: chosen in the menu, spoken at once and again after the next start."""

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QSettings
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QLabel, QMenu

from desktop import languages
from desktop.opening import demos
from desktop.window import language
from desktop.window.main import MainWindow
from desktop.window.notice import Notice
from desktop.window.opening import Wanted
from desktop.window.run import run_window
from desktop.window.settings import Settings
from desktop.words import tr


@pytest.fixture(autouse=True)
def english_again(qapp):
    yield
    language.apply("en")


def choose(window: MainWindow, name: str) -> None:
    """Choose a language in the menu."""
    next(action for action in window.menus.languages.actions() if action.text() == name).trigger()
    # What was replaced goes when the event loop runs next.
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    QApplication.processEvents()


def titles(window: MainWindow) -> list[str]:
    """The menus' names."""
    return [action.text().replace("&", "") for action in window.menuBar().actions()]


def words_in(window: MainWindow) -> str:
    """Everything that labels say."""
    return " ".join(label.text() for label in window.findChildren(QLabel) if label.isVisible())


def test_another_language_is_spoken_at_once(open_window, ready):
    window = open_window(ready)
    choose(window, "Deutsch")
    assert titles(window) == ["Datei", "Ansicht", "Wiedergabe", "Untersuchen", "Live", "Hilfe"]
    assert "kW" in words_in(window)
    assert window.board.moment.headline.template not in words_in(window)
    assert str(window.board.moment.headline) in words_in(window).replace("\u00a0", " ")
    assert "Der Generator" in words_in(window)
    choose(window, "English")
    assert titles(window) == ["File", "View", "Replay", "Look into", "Live", "Help"]
    assert "The generator" in words_in(window)


def test_cursor_window_of_time_curves_and_size_stay(open_window, ready):
    window = open_window(ready, (1300, 820))
    trends, cursor = window.board.trends, window.board.cursor_of_time
    trends.show_between(cursor.first, (cursor.first + cursor.last) // 2)
    trends.show_curves(frozenset(sorted(trends.shown_curves)[:2]))
    cursor.move(cursor.first + 600_000_000_000)
    seen, shown, instant = trends.window_of_time, trends.shown_curves, cursor.instant
    sizes = window.board.columns.sizes()
    choose(window, "Deutsch")
    assert window.board.trends is not trends
    assert window.board.cursor_of_time.instant == instant
    assert window.board.moment.time == instant
    assert window.board.trends.window_of_time == seen
    assert window.board.trends.shown_curves == shown
    assert (window.width(), window.height()) == (1300, 820)
    assert window.board.columns.sizes() == sizes


def test_what_was_there_before_is_gone(open_window, ready):
    window = open_window(ready)
    once = len(window.findChildren(Notice)), len(window.findChildren(QMenu))
    choose(window, "Deutsch")
    choose(window, "English")
    assert (len(window.findChildren(Notice)), len(window.findChildren(QMenu))) == once


def test_a_recording_that_is_being_opened_is_still_shown_and_can_be_stopped(open_window, qtbot):
    window = open_window()
    window.open_paths(Wanted((demos()[0].path,)))
    choose(window, "Deutsch")
    assert window.notice.isVisible()
    assert window.notice.button.text() == "Abbrechen"
    qtbot.waitUntil(lambda: window.ready is not None, timeout=30_000)
    assert not window.notice.isVisible()


def test_the_choice_is_checked_and_kept(open_window, settings):
    window = open_window()
    choose(window, "Deutsch")
    assert settings.language == "de"
    assert [each.text() for each in window.menus.languages.actions() if each.isChecked()] == ["Deutsch"]
    settings.language = "xx"
    assert settings.language == "system"


def test_a_start_speaks_the_language_that_was_chosen(tmp_path, monkeypatch, qapp):
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path))
    kept = Settings()
    kept.language = "de"
    kept.save()
    monkeypatch.setattr("desktop.window.run._stay", lambda app, window: (window.close(), 0)[1])
    assert run_window() == 0
    assert tr("Limits") == "Grenzen"


def test_the_system_decides_where_nothing_was_chosen(monkeypatch):
    monkeypatch.setenv("LC_ALL", "de_CH.UTF-8")
    monkeypatch.delenv("LANGUAGE", raising=False)
    assert language.resolved("system") == "de"
    monkeypatch.setenv("LC_ALL", "nb_NO.UTF-8")
    assert language.resolved("system") == "en"
    assert language.resolved("de") == "de"
    assert set(language.LANGUAGES) == {"system", *languages.NAMES}


def test_qt_says_its_own_words_in_the_language_too(qtbot):
    language.apply("de")
    box = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
    qtbot.addWidget(box)
    assert box.button(QDialogButtonBox.StandardButton.Cancel).text() == "Abbrechen"
    language.apply("en")
    box = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
    qtbot.addWidget(box)
    assert box.button(QDialogButtonBox.StandardButton.Cancel).text() == "Cancel"
