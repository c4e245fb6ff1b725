"""The procedure beside what is watched: what was ticked before goes with it, and it follows each row."""

import pytest
from hand_source import HandSource, opening
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from desktop.opening import open_recording
from desktop.window.live.wish import Wish
from desktop.window.main import MainWindow
from desktop.window.procedure.dialog import ProcedureDialog
from desktop.window.shot import dismiss


class Watched:
    """A window with the procedure open, and a source of the test's hand that it may watch."""

    def __init__(self, window, source, recording, qtbot):
        self.window, self.source, self.recording, self.qtbot = window, source, recording, qtbot
        self.rows = 0

    def watch(self):
        self.window.live.watch(Wish("by hand"))
        self.qtbot.waitUntil(lambda: self.window.live.on)

    def feed_to(self, row):
        for start in range(self.rows, row, 200):
            self.source.give(self.recording, start, min(start + 200, row))
        self.rows = row
        self.qtbot.waitUntil(lambda: len(self.window.live.watching.watch.recording) == row, timeout=20_000)
        self.qtbot.waitUntil(lambda: self.window.live.growing)
        self.window.board.news.now()
        QApplication.processEvents()

    @property
    def dialog(self):
        return next(each for each in self.window.findChildren(ProcedureDialog) if each.isVisible())


@pytest.fixture
def watched(qtbot, settings, overload):
    recording, site = open_recording(overload)
    source = HandSource()
    settings.motion = False
    window = MainWindow(settings, opening(source, site))
    window.live.chime.ring = lambda: None
    window.resize(1280, 800)
    window.show()
    qtbot.waitExposed(window)
    window.show_procedure()
    yield Watched(window, source, recording, qtbot)
    window.close()
    dismiss(window)


def test_what_was_ticked_before_connecting_stays_ticked(watched, monkeypatch):
    # The recording's clock stands still in the past, and ticks are made by the clock on the wall.
    monkeypatch.setattr("time.time_ns", lambda: int(watched.recording.time[0]) - 10**9)
    watched.dialog.ticked.emit("outdoors")
    watched.watch()
    assert watched.dialog.belongs.text() == "Follows no readings: every step is yours to tick."
    watched.dialog.ticked.emit("alarms")
    watched.feed_to(60)
    dialog = watched.dialog
    assert dialog.belongs.text().startswith("Follows Tern Rock Cottage")
    assert all(dialog.body.list.rows[key].box.isChecked() for key in ("outdoors", "alarms"))
    assert dialog.body.card.told.text().startswith("3. ")


def test_each_row_is_followed_and_a_live_line_told_at_once(watched):
    watched.watch()
    watched.feed_to(60)
    dialog = watched.dialog
    assert dialog.body.card.told.text().startswith("1. ")
    watched.feed_to(190)
    assert dialog.body.card.banner.told.text().startswith("The line is live")
    watched.feed_to(300)
    assert dialog.body.card.told.text().startswith("22. ")
    assert "Not seen before it ran: steps 1–4, 8, 9, 11, 12." in dialog.body.card.unseen.text()
    watched.feed_to(1145)
    assert dialog.body.card.banner.told.text().startswith("Generator overloaded since 17:24:00.")


def test_watching_once_more_keeps_the_ticks(watched):
    watched.watch()
    watched.feed_to(60)
    QTest.keyClick(watched.dialog.body.main, Qt.Key.Key_Space)
    assert watched.dialog.body.list.rows["outdoors"].box.isChecked()
    watched.feed_to(120)
    assert watched.dialog.body.list.rows["outdoors"].box.isChecked()
    watched.window.live.stop()
    QApplication.processEvents()
    assert watched.dialog.body.list.rows["outdoors"].box.isChecked()
