"""The board while what it shows grows: it goes with the end until the user looks back, and loses nothing."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from desktop.review import review
from desktop.window.live.leaving import LeaveBox
from desktop.window.panels.finding_list import FINDING

SECOND = 1_000_000_000
LEFT = Qt.MouseButton.LeftButton


def last(fed) -> int:
    return int(fed.recording.time[fed.rows - 1])


def test_the_cursor_is_pinned_to_the_end_and_goes_with_it(fed):
    board = fed.window.board
    for _ in range(3):
        fed.feed(20)
        fed.settle()
        assert board.cursor_of_time.pinned
        assert board.cursor_of_time.instant == last(fed)
        assert board.moment.time == last(fed)
        assert board.replay.instant == last(fed)
        assert board.trends.cursor_instant == last(fed)
    assert fed.window.strip.live.accessibleName() == "Live"


def test_what_has_grown_is_shown_as_the_finished_recording_is(fed, told):
    fed.feed(700, at_once=7)
    recording, site = told
    fed.window.live.watching.watch.review.settle()
    fed.settle()
    whole = review(recording.rows(0, fed.rows), site)
    shown = fed.window.board
    assert shown.moment.headline == whole.moment(last(fed)).headline
    assert list(shown.findings.model.findings) == list(whole.findings)
    for series in fed.window.ready.trends.series:
        values, levels = fed.window.ready.store.levels(series)
        assert len(values) == len(levels) == fed.rows
    np.testing.assert_array_equal(fed.window.ready.review.stream("load"), whole.stream("load"))


@pytest.mark.parametrize("how", ["trend", "replay", "session", "hold", "pan"])
def test_who_looks_back_stays_there_until_asking_for_the_end(fed, how):
    window, board = fed.window, fed.window.board
    fed.feed_to(fed.recording.time[0] + 1800 * SECOND)
    fed.settle()
    if how == "trend":
        QTest.mouseClick(board.trends, LEFT, pos=board.trends.field.center())
    elif how == "replay":
        QTest.mouseClick(board.replay.track, LEFT, pos=board.replay.track.rect().center())
    elif how == "session":
        board.cursor_of_time.move(window.ready.review.sessions[0].start)
    elif how == "hold":
        QTest.keyClick(board.trends, Qt.Key.Key_Space)
        assert not board.replay.clock.playing
    else:
        QTest.keyClick(board.trends, Qt.Key.Key_PageUp)
    assert not board.cursor_of_time.pinned
    assert window.strip.live.accessibleName() == "Back to live"
    there, seen = board.cursor_of_time.instant, board.trends.window_of_time
    fed.feed(30, at_once=1)
    fed.settle()
    assert board.cursor_of_time.instant == there
    assert board.moment.time == there
    assert (board.trends.window_of_time.start, board.trends.window_of_time.stop) == (seen.start, seen.stop)
    if how == "trend":
        QTest.mouseClick(window.strip.live, LEFT)
    else:
        QTest.keyClick(window, Qt.Key.Key_L)
    assert board.cursor_of_time.pinned
    assert board.trends.window_of_time.follows
    fed.feed(5)
    fed.settle()
    assert board.moment.time == last(fed)


def test_a_replay_that_reaches_the_end_is_live_again(fed):
    board, bar = fed.window.board, fed.window.board.replay
    board.cursor_of_time.move(last(fed) - 20 * SECOND)
    now = [100.0]
    bar.clock._now = lambda: now[0]
    bar.toggle()
    fed.feed(10)
    now[0] += 60.0
    bar.frame()
    assert board.cursor_of_time.pinned
    assert not bar.clock.playing


def test_the_trends_keep_the_width_that_was_chosen_and_show_a_quarter_of_an_hour_at_first(fed):
    trends = fed.window.board.trends
    assert trends.window_of_time.fits
    fed.feed_to(fed.recording.time[0] + 1500 * SECOND)
    assert trends.window_of_time.span == 900 * SECOND
    assert trends.window_of_time.follows
    QTest.keyClick(trends, Qt.Key.Key_Up)
    chosen = trends.window_of_time.span
    assert chosen < 900 * SECOND
    fed.feed(40, at_once=4)
    assert trends.window_of_time.span == chosen
    assert trends.window_of_time.follows
    assert fed.window.board.cursor_of_time.pinned
    QTest.keyClick(trends, Qt.Key.Key_0)
    fed.feed(40)
    assert trends.window_of_time.fits


def test_findings_arrive_and_selection_filter_and_curves_stay(fed):
    board, panel = fed.window.board, fed.window.board.findings
    at_last = review(fed.recording, fed.window.live.watching.watch.site).findings
    assert len(at_last) == 3
    fed.settle()
    before = panel.model.rowCount()
    assert 0 < before < 3
    QTest.mouseClick(
        panel.list.viewport(), LEFT, pos=panel.list.visualRect(panel.sorted.index(0, 0)).center()
    )
    panel.filters["note"].setChecked(False)
    board.trends.show_curves(frozenset({"load"}))
    chosen = panel.list.currentIndex().data(FINDING)
    row = [panel.model.rowsInserted, panel.model.modelReset]
    inserted, reset = [], []
    row[0].connect(lambda *_: inserted.append(1))
    row[1].connect(lambda: reset.append(1))
    fed.feed(len(fed.recording) - fed.rows, at_once=100)
    fed.window.live.watching.watch.review.settle()
    board.news.now()
    assert panel.model.rowCount() == 3
    assert len(inserted) == 3 - before
    assert not reset
    assert panel.list.currentIndex().data(FINDING).start == chosen.start
    assert panel.list.selectionModel().selectedRows()
    assert not panel.filters["note"].isChecked()
    assert board.trends.shown_curves == {"load"}
    assert board.cursor_of_time.instant == chosen.start


def not_yet(board) -> list:
    """What is shown in words before their time comes; it doesn't come by itself."""
    shown = []
    board.shown.connect(shown.append)
    board.news._timer.start(60_000)
    return shown


def test_curves_go_on_with_each_row_before_words_do(fed):
    board = fed.window.board
    fed.settle()
    shown = not_yet(board)
    pictures = set()
    for _ in range(12):
        fed.feed(1)
        board.trends.grab()
        pictures.add(board.trends._frame.columns.rows_shown)
    assert len(pictures) == 12
    assert not shown


def test_words_come_half_a_second_after_the_last_ones(fed, qtbot):
    board = fed.window.board
    fed.settle()
    assert board.moment.time == last(fed)
    fed.feed(3)
    qtbot.waitUntil(lambda: board.moment.time == last(fed), timeout=5000)
    shown = []
    board.shown.connect(shown.append)
    for _ in range(30):
        fed.feed(1)
    qtbot.waitUntil(lambda: board.moment.time == last(fed), timeout=5000)
    assert len(shown) < 30


def test_the_water_moves_at_once_while_its_numbers_stand(fed):
    diagram = fed.window.board.diagram
    fed.settle()
    words = [text.text for text in diagram.picture.texts]
    water = [area.watts for area in diagram.picture.areas if area.kind == "water"]
    shown = not_yet(fed.window.board)
    fed.feed(40, at_once=1)
    assert not shown
    assert [area.watts for area in diagram.picture.areas if area.kind == "water"] != water
    assert [text.text for text in diagram.picture.texts] == words
    fed.settle()
    assert [text.text for text in diagram.picture.texts] != words


def test_another_language_shows_the_same_system(fed):
    window = fed.window
    fed.feed(10)
    window.set_language("de")
    QApplication.processEvents()
    try:
        assert window.live.growing
        assert window.strip.isVisible()
        assert window.board.cursor_of_time.pinned
        fed.feed(10)
        fed.settle()
        assert window.board.moment.time == last(fed)
    finally:
        window.set_language("en")


def test_what_was_watched_stays_to_be_looked_at(fed):
    window = fed.window
    QTest.mouseClick(window.strip.stop, LEFT)
    QApplication.processEvents()
    assert not window.live.on
    assert not window.strip.isVisible()
    assert window.stack.currentWidget() is window.board
    before = window.board.cursor_of_time.instant
    QTest.mouseClick(window.board.replay.track, LEFT, pos=QPoint(60, 25))
    window.board.pace.now()
    assert window.board.moment.time < before
    assert not window.board.cursor_of_time.pinned


def test_opening_a_recording_asks_and_then_ends_watching(fed, overload, qtbot):
    window = fed.window
    window.open_names([str(overload)])
    (asking,) = window.findChildren(LeaveBox)
    QTest.mouseClick(asking.go_on, LEFT)
    assert window.live.on
    asking.deleteLater()
    window.open_names([str(overload)])
    QTest.mouseClick(window.findChildren(LeaveBox)[-1].leave, LEFT)
    qtbot.waitUntil(lambda: window.ready is not None and window.ready.wanted is not None, timeout=20_000)
    assert not window.live.on
    assert not window.strip.isVisible()
    assert len(window.ready.review.recording) == len(fed.recording)
