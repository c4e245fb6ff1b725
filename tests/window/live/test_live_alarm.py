"""Alarms in the window: heard once, silenced, acknowledged, and never hidden by that."""

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QSystemTrayIcon

from desktop.review import review
from desktop.window.live import chime
from desktop.window.live.chime import Chime, Notifier
from desktop.window.live.leaving import LeaveBox

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def called(fed):
    """What is heard and told, and the finding to act upon that comes."""
    heard, said = [], []
    bell = fed.window.live.bell
    bell._ring, bell._tell = lambda: heard.append(1), lambda *words: said.append(words)
    urgent = [
        each
        for each in review(fed.recording, fed.window.live.watching.watch.site).findings
        if each.severity == "act now"
    ]
    assert urgent
    first = min(urgent, key=lambda each: each.start)
    assert first.start > fed.recording.time[fed.rows]
    return heard, said, first


def reach(fed, finding) -> None:
    """Feed rows until the window has found it."""
    fed.feed_to(finding.start)
    while not fed.window.live.bell.alarms.unacknowledged:
        fed.feed(1)
    fed.feed(5, at_once=1)


def test_a_finding_to_act_upon_is_heard_once_and_told(fed, called):
    heard, said, first = called
    strip = fed.window.strip
    fed.feed(50, at_once=10)
    assert not heard
    assert not strip.alarms.isVisible()
    reach(fed, first)
    assert heard == [1]
    assert len(said) == 1
    assert str(first.title) in said[0][0]
    assert strip.alarms.isVisible()
    assert strip.alarms.word.text() == "Alarm"
    assert strip.alarms.mark.state == "calls"
    assert str(first.title) in strip.alarms.line.text()


def test_acknowledged_it_stays_listed_and_shown_in_other_words_and_another_shape(fed, called):
    heard, _, first = called
    reach(fed, first)
    strip, board = fed.window.strip, fed.window.board
    fed.settle()
    listed = board.findings.model.rowCount()
    if fed.window.live.bell.alarms.unacknowledged[0].stands:
        QTest.mouseClick(strip.alarms.button, LEFT)
        assert strip.alarms.word.text() == "Acknowledged"
        assert strip.alarms.mark.state == "known"
        assert strip.alarms.isVisible()
        assert not strip.alarms.button.isVisible()
    else:
        QTest.mouseClick(strip.alarms.button, LEFT)
        assert not strip.alarms.isVisible()
    assert board.findings.model.rowCount() == listed
    fed.feed(3, at_once=1)
    assert heard == [1]


def test_silenced_it_is_still_shown_and_told(fed, called):
    heard, said, first = called
    view = next(each for each in fed.window.menuBar().actions() if each.text() == "&View")
    silence = next(each for each in view.menu().actions() if each.text() == "&Alarm sound")
    assert silence.isChecked()
    silence.trigger()
    assert not fed.window.settings.alarm_sound
    reach(fed, first)
    assert not heard
    assert said
    assert fed.window.strip.alarms.isVisible()


def test_the_mark_comes_and_goes_only_where_things_may_move(fed, called):
    _, _, first = called
    reach(fed, first)
    row = fed.window.strip.alarms
    # Twice a second it would blink by itself in between.
    fed.window.live.watching._timer.stop()
    for _ in range(4):
        row.blink(moving=False)
        assert row.mark.state == "calls"
    shown = []
    for _ in range(4):
        row.blink(moving=True)
        fed.feed(1)
        shown.append(row.mark.state)
    assert shown == ["", "calls", "", "calls"]


def test_a_recording_that_is_opened_calls_nobody(fed, called, overload, qtbot):
    heard, said, _ = called
    fed.window.open_names([str(overload)])
    (asking,) = fed.window.findChildren(LeaveBox)
    qtbot.mouseClick(asking.leave, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(
        lambda: fed.window.ready is not None and fed.window.ready.wanted is not None, timeout=20_000
    )
    assert any(each.severity == "act now" for each in fed.window.ready.review.findings)
    assert not heard
    assert not said
    assert not fed.window.strip.alarms.isVisible()


def test_without_a_player_the_system_beeps(qapp, monkeypatch):
    monkeypatch.setattr(chime.shutil, "which", lambda name: None)
    monkeypatch.setattr(chime.sys, "platform", "linux")
    beeps = []
    monkeypatch.setattr(QApplication, "beep", lambda: beeps.append(1))
    Chime().ring()
    assert beeps == [1]


def test_a_player_is_given_the_sound(qapp, monkeypatch):
    monkeypatch.setattr(chime.shutil, "which", lambda name: "/bin/player" if name == "aplay" else None)
    monkeypatch.setattr(chime.sys, "platform", "linux")
    given = []

    def start(program, arguments):
        given.append((program, Path(arguments[0]).read_bytes()))
        return True, 1

    monkeypatch.setattr(chime.QProcess, "startDetached", start)
    Chime().ring()
    assert given == [("/bin/player", chime.sound())]


def test_where_the_desktop_shows_no_messages_only_the_task_bar_asks(fed, monkeypatch):
    asked = []
    monkeypatch.setattr(QApplication, "alert", asked.append)
    assert not QSystemTrayIcon.isSystemTrayAvailable()
    Notifier(fed.window).tell("Barn", "Over the limit.")
    assert asked == [fed.window]


def test_going_to_a_finding_from_the_list_looks_back_from_what_is_live(fed, called):
    _, _, first = called
    reach(fed, first)
    fed.settle()
    listed = fed.window.board.findings.list
    row = next(
        listed.model().index(number, 0)
        for number in range(listed.model().rowCount())
        if str(first.title) in listed.model().index(number, 0).data()
    )
    listed.scrollTo(row)
    QTest.mouseClick(listed.viewport(), LEFT, pos=listed.visualRect(row).topLeft() + QPoint(40, 8))
    assert fed.window.board.cursor_of_time.instant == first.start
    assert not fed.window.board.cursor_of_time.pinned
