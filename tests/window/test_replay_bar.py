"""The replay bar, worked by mouse and keys, with a clock of the test."""

import pytest
from hand_clock import Seconds
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QToolButton, QWidget
from pytestqt.qtbot import QtBot
from trend_source import NOON, S, SmallSource

from desktop.window.replay.bar import ReplayBar
from desktop.window.replay.track import Note


@pytest.fixture
def seconds() -> Seconds:
    return Seconds()


@pytest.fixture
def bar(qtbot: QtBot, seconds: Seconds) -> ReplayBar:
    source = SmallSource()
    bar = ReplayBar(now=seconds)
    qtbot.addWidget(bar)
    bar.resize(1200, 48)
    bar.set_recording(int(source.time[0]), int(source.time[-1]), source.zone)
    bar.set_findings(source.bands, [Note(NOON + 600 * S, "pump on")])
    bar.show()
    qtbot.waitExposed(bar)
    return bar


def button(bar: ReplayBar, name: str) -> QToolButton:
    return next(each for each in bar.findChildren(QToolButton) if each.accessibleName() == name)


def test_play_and_pause_by_mouse(bar: ReplayBar, qtbot: QtBot, seconds: Seconds) -> None:
    with qtbot.waitSignal(bar.playing_changed):
        qtbot.mouseClick(button(bar, "Play"), Qt.MouseButton.LeftButton)
    seconds.passed += 10.0
    with qtbot.waitSignal(bar.moved) as told:
        bar.frame()
    assert told.args[0] == NOON + 600 * S
    with qtbot.waitSignal(bar.playing_changed) as played:
        qtbot.mouseClick(button(bar, "Pause"), Qt.MouseButton.LeftButton)
    assert played.args == [False]


def test_frames_come_by_themselves_while_it_plays(bar: ReplayBar, qtbot: QtBot, seconds: Seconds) -> None:
    bar.toggle()
    seconds.passed += 1.0
    with qtbot.waitSignal(bar.moved, timeout=2000):
        pass
    assert bar.instant == NOON + 60 * S
    seconds.passed += 3600.0
    with qtbot.waitSignal(bar.playing_changed, timeout=2000) as told:
        pass
    assert told.args == [False]
    assert bar.instant == NOON + 7199 * S


def test_everything_by_keys(bar: ReplayBar, qtbot: QtBot) -> None:
    track = bar.track
    qtbot.keyClick(track, Qt.Key.Key_N)
    assert bar.instant == NOON + 1800 * S
    qtbot.keyClick(track, Qt.Key.Key_A)
    qtbot.keyClick(track, Qt.Key.Key_N)
    assert bar.instant == NOON + 4000 * S
    qtbot.keyClick(track, Qt.Key.Key_B)
    assert bar.clock.loop is not None
    assert (bar.clock.loop.a, bar.clock.loop.b) == (NOON + 1800 * S, NOON + 4000 * S)
    qtbot.keyClick(track, Qt.Key.Key_Escape)
    assert bar.clock.loop is None
    qtbot.keyClick(track, Qt.Key.Key_P)
    assert bar.instant == NOON + 1800 * S
    qtbot.keyClick(track, Qt.Key.Key_Space)
    assert bar.clock.playing
    qtbot.keyClick(track, Qt.Key.Key_Space)
    assert not bar.clock.playing
    qtbot.keyClick(track, Qt.Key.Key_Plus)
    assert bar.clock.speed == 120
    qtbot.keyClick(track, Qt.Key.Key_End)
    assert bar.instant == NOON + 7199 * S
    qtbot.keyClick(track, Qt.Key.Key_Home)
    assert bar.instant == NOON
    qtbot.keyClick(track, Qt.Key.Key_Right)
    assert NOON < bar.instant < NOON + 60 * S


def test_scrubbing_by_mouse(bar: ReplayBar, qtbot: QtBot) -> None:
    told: list[int] = []
    bar.moved.connect(told.append)
    track = bar.track
    middle = int(track.height() * 0.64)
    qtbot.mousePress(track, Qt.MouseButton.LeftButton, pos=QPoint(100, middle))
    for x in range(110, 400, 30):
        qtbot.mouseMove(track, QPoint(x, middle))
    qtbot.mouseRelease(track, Qt.MouseButton.LeftButton, pos=QPoint(400, middle))
    qtbot.mouseMove(track, QPoint(50, middle))
    assert told == sorted(told)
    assert len(told) >= 10
    assert bar.instant == track.instant_at(380)


def test_a_click_on_a_mark_goes_to_its_finding_exactly(bar: ReplayBar, qtbot: QtBot) -> None:
    x = round(bar.track.place_of(NOON + 4000 * S))
    qtbot.mouseClick(bar.track, Qt.MouseButton.LeftButton, pos=QPoint(x + 2, 6))
    assert bar.instant == NOON + 4000 * S
    assert bar.track.told_at(QPointF(x, 6)) == "Charging above the input limit"
    note = bar.track.place_of(NOON + 600 * S)
    assert bar.track.told_at(QPointF(note, bar.track.height() - 3)) == "pump on"


def test_a_typed_time_is_gone_to_and_a_wrong_one_is_told(bar: ReplayBar, qtbot: QtBot) -> None:
    field = bar.findChild(QLineEdit)
    bar.type_time()
    qtbot.keyClicks(field, "13:05:10")
    with qtbot.waitSignal(bar.moved):
        qtbot.keyClick(field, Qt.Key.Key_Return)
    assert bar.instant == NOON + 3910 * S
    field.selectAll()
    qtbot.keyClicks(field, "half past")
    with qtbot.waitSignal(bar.refused) as told:
        qtbot.keyClick(field, Qt.Key.Key_Return)
    assert "expected a time such as" in told.args[0]
    assert bar.instant == NOON + 3910 * S


def test_the_speed_is_chosen(bar: ReplayBar, qtbot: QtBot) -> None:
    speeds = bar.findChild(QComboBox)
    assert (speeds.itemText(0), speeds.itemText(speeds.count() - 1)) == ("1×", "3600×")
    speeds.setFocus()
    qtbot.keyClick(speeds, Qt.Key.Key_End)
    QApplication.processEvents()
    assert bar.clock.speed == 3600


def test_following_another_cursor_tells_nobody(bar: ReplayBar, qtbot: QtBot) -> None:
    with qtbot.assertNotEmitted(bar.moved):
        bar.set_instant(NOON + 1234 * S)
    assert bar.instant == NOON + 1234 * S
    assert bar.findChild(QLineEdit).text() == "12:20:34"


def test_a_value_set_by_an_aid_moves_it(bar: ReplayBar, qtbot: QtBot) -> None:
    with qtbot.waitSignal(bar.moved):
        bar.track.setValue(500)
    assert bar.instant == pytest.approx(NOON + 3600 * S, abs=2 * S)


def test_all_parts_have_names_and_can_be_hit(bar: ReplayBar) -> None:
    parts = [*bar.findChildren(QToolButton), *bar.findChildren(QComboBox), bar.track]
    parts += [each for each in bar.findChildren(QLineEdit) if each.parent() is bar]
    for part in parts:
        assert isinstance(part, QWidget)
        assert part.accessibleName()
        assert part.focusPolicy() != Qt.FocusPolicy.NoFocus
        assert min(part.width(), part.height()) >= 24


def test_steps_without_a_finding_ahead_are_off(bar: ReplayBar) -> None:
    assert not button(bar, "Previous finding").isEnabled()
    bar.go(NOON + 7000 * S)
    assert not button(bar, "Next finding").isEnabled()
    assert button(bar, "Previous finding").isEnabled()


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_both_themes_are_drawn(bar: ReplayBar, theme: str) -> None:
    bar.set_theme(theme)
    bar.mark_a()
    bar.go(NOON + 3000 * S)
    bar.mark_b()
    assert not bar.grab().isNull()
    assert len(bar.track.marks()) == 2
