"""Nothing ends watching or a recording without a question."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from desktop.window.live.leaving import LeaveBox
from desktop.window.live.wish import Wish

LEFT = Qt.MouseButton.LeftButton


def test_where_nothing_is_watched_nothing_is_asked(watching_window):
    done = []
    assert watching_window().live.leave_for(lambda: done.append(1)) is None
    assert done == [1]


@pytest.mark.parametrize(("button", "agreed"), [("leave", [1]), ("go_on", [])])
def test_it_is_asked_before_what_is_watched_is_left(fed, qtbot, button, agreed):
    done = []
    box = fed.window.live.leave_for(lambda: done.append(1))
    QApplication.processEvents()
    assert box.isVisible()
    assert box.text().endswith("is being watched. Opening something else ends that.")
    assert done == []
    qtbot.mouseClick(getattr(box, button), LEFT)
    QApplication.processEvents()
    assert done == agreed
    assert fed.window.live.on


def test_escape_goes_on_watching(fed, qtbot):
    done = []
    box = fed.window.live.leave_for(lambda: done.append(1))
    QApplication.processEvents()
    qtbot.keyClick(box, Qt.Key.Key_Escape)
    QApplication.processEvents()
    assert done == []
    assert not fed.window.findChildren(LeaveBox) or not fed.window.findChildren(LeaveBox)[0].isVisible()


def test_another_source_is_watched_only_after_a_question_where_something_is_recorded(fed, qtbot, tmp_path):
    live, opened = fed.window.live, []
    live.watching.open = opened.append
    live.watch(Wish("another"))
    assert [wish.source for wish in opened] == ["another"]
    live.watching.record(tmp_path / "kept.csv")
    qtbot.waitUntil(lambda: live.watching.recording_on)
    live.watch(Wish("a third"))
    QApplication.processEvents()
    (box,) = fed.window.findChildren(LeaveBox)
    assert "watched and recorded" in box.text()
    assert "is kept" in box.informativeText()
    assert len(opened) == 1
    qtbot.mouseClick(box.leave, LEFT)
    assert [wish.source for wish in opened] == ["another", "a third"]
    live.stop_recording()
    qtbot.waitUntil(lambda: not live.watching.recorded.active)
    assert live.watching.recorded.rows == 600


def test_a_window_can_be_closed_while_it_asks(fed):
    fed.window.live.leave_for(lambda: None)
    QApplication.processEvents()
    assert fed.window.close()


def test_a_window_that_records_is_closed_only_after_a_question(fed, qtbot, tmp_path):
    window, watching = fed.window, fed.window.live.watching
    watching.record(tmp_path / "kept.csv")
    qtbot.waitUntil(lambda: watching.recording_on)
    assert not window.close()
    assert not window.close()
    QApplication.processEvents()
    (box,) = window.findChildren(LeaveBox)
    assert "Closing the window ends both" in box.text()
    qtbot.mouseClick(box.go_on, LEFT)
    assert window.isVisible()
    assert watching.recording_on
    assert not window.close()
    QApplication.processEvents()
    qtbot.mouseClick(window.findChildren(LeaveBox)[-1].leave, LEFT)
    assert not window.isVisible()
    assert not watching.recording_on


def test_what_is_found_beside_is_shown_though_no_row_comes(fed, qtbot):
    fed.feed(len(fed.recording) - fed.rows, at_once=400)
    fed.source.say("waiting", "the line is dead", 60.0)
    review = fed.window.live.watching.watch.review
    board = fed.window.board
    kinds = {"generator_over_rating", "generator_stopped_under_load"}

    def caused() -> bool:
        told = [each for each in board.findings.model.findings if each.kind in kinds]
        return len(told) == len(kinds) and all(bool(each.cause) for each in told)

    qtbot.waitUntil(caused, timeout=20_000)
    assert len(review.recording) == len(fed.recording)


def test_what_was_found_is_found_once(fed, qtbot):
    review = fed.window.live.watching.watch.review
    grown = []
    fed.window.live.watching.grew.connect(lambda: grown.append(1))
    begun = []
    begin = review._beside._begin
    review._beside._begin = lambda name, *told: (begun.append(name), begin(name, *told))
    for _ in range(12):
        qtbot.wait(30)
        fed.window.live.watching._look()
        fed.window.board.news.now()
    qtbot.waitUntil(lambda: review._beside._work is None, timeout=10_000)
    begun.clear()
    grown.clear()
    for _ in range(5):
        fed.window.live.watching._look()
        fed.window.board.news.now()
    assert begun == []
    assert grown == []
