"""A suspected meter: its evidence, trying it put right, the way back, and saving that."""

import threading

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from test_main_window import opened

from desktop.review import Review
from desktop.sheet.editing import SheetDraft
from desktop.window.opening import Wanted

LEFT = Qt.MouseButton.LeftButton


def told(dialog) -> str:
    words = "\n".join(each.text() for each in dialog.stack.currentWidget().findChildren(QLabel))
    return words.replace("\u00a0", " ")


def reviewed(window, qtbot, before) -> None:
    qtbot.waitUntil(lambda: window.ready is not before and not window.opener.busy, timeout=30_000)


@pytest.fixture
def barn(demo, tmp_path):
    """The demo with the reversed meter as a recording of one's own."""
    source = demo("reversed-battery-meter").wanted.paths[0]
    path = tmp_path / "barn.csv"
    path.write_bytes(source.read_bytes())
    path.with_suffix(".toml").write_text("# The barn.\n" + source.with_suffix(".toml").read_text())
    return path


def test_the_suspect_stands_with_its_share_its_picture_and_what_to_do(looking, qtbot):
    _, dialog = looking("reversed-battery-meter", "meters")
    words = told(dialog)
    assert "The battery meter reads with the wrong sign." in words
    assert "100 % of the imbalance is gone" in words
    assert "Turn its clamp round" in words
    qtbot.waitUntil(lambda: bool(dialog.meters.charts), timeout=10_000)
    (view,) = dialog.meters.charts
    # What is taken out of the page goes with the next round of events.
    qtbot.waitUntil(lambda: "This is being looked into…" not in told(dialog))
    recorded, corrected = (curve.y for curve in view.chart.curves)
    assert np.nanmax(np.abs(recorded)) > 10
    assert np.nanmax(np.abs(corrected)) < 1
    assert dialog.names.item(1).text() == "Meters ◆ 1"


def test_the_evidence_is_weighed_beside_the_window(looking, demo, monkeypatch, qtbot):
    weighed, go = [], threading.Event()
    work_of = Review.evidence_work

    def held(review, suspect):
        work = work_of(review, suspect)

        def wait():
            weighed.append(threading.current_thread())
            assert go.wait(10)
            return work()

        return wait

    monkeypatch.setattr(Review, "evidence_work", held)
    _, dialog = looking("reversed-battery-meter", "meters")
    qtbot.waitUntil(lambda: len(weighed) == 1)
    assert "This is being looked into…" in told(dialog)
    assert dialog.meters.tries
    go.set()
    qtbot.waitUntil(lambda: len(dialog.meters.charts) == 1)
    assert weighed[0] is not threading.main_thread()
    dialog.reject()
    assert not weighed[0].is_alive()


def test_a_correction_is_tried_seen_as_such_and_taken_back(looking, qtbot):
    window, dialog = looking("reversed-battery-meter", "meters")
    before, board = window.ready, window.board
    cursor = board.cursor_of_time
    cursor.move(cursor.first + (cursor.last - cursor.first) // 2)
    instant = cursor.instant
    assert not board.corrected.isVisible()
    qtbot.mouseClick(dialog.meters.tries[0], LEFT)
    reviewed(window, qtbot, before)
    assert board.corrected.isVisible()
    assert "As corrected: The battery meter reads with the wrong sign." in board.corrected.told.text()
    assert "The sheet of a demo stays as it is." in board.corrected.told.text()
    assert not board.corrected.save.isEnabled()
    assert cursor.instant == instant
    assert window.ready.review.balance.in_balance_share > 0.9 > before.review.balance.in_balance_share
    assert not window.ready.review.suspects
    assert "No meter is suspected" in told(dialog)
    qtbot.mouseClick(board.corrected.back, LEFT)
    assert window.ready is before
    assert not board.corrected.isVisible()
    assert "wrong sign" in told(dialog)


def test_what_was_tried_is_saved_to_the_sheet_and_read_with_it(open_window, barn, qtbot):
    window = open_window()
    window.open_paths(Wanted((barn,)))
    opened(window, qtbot)
    before = window.ready
    window.look.try_out(before.review.suspects[0])
    reviewed(window, qtbot, before)
    tried = window.ready
    assert window.board.corrected.save.isEnabled()
    qtbot.mouseClick(window.board.corrected.save, LEFT)
    reviewed(window, qtbot, tried)
    assert not window.board.corrected.isVisible()
    assert not window.ready.review.suspects
    draft = SheetDraft.load(barn.with_suffix(".toml"))
    assert draft.text.startswith("# The barn.\n")
    assert draft.entry("columns", "battery_power")["sign"] in (1, -1)
    assert window.ready.review.site.columns.keys() == {"battery_power"}


def test_another_sheet_shows_the_recording_as_recorded_again(open_window, barn, qtbot):
    window = open_window()
    window.open_paths(Wanted((barn,)))
    opened(window, qtbot)
    before = window.ready
    window.look.try_out(before.review.suspects[0])
    reviewed(window, qtbot, before)
    tried = window.ready
    window.opener.review_again(tried, before.review.site)
    reviewed(window, qtbot, tried)
    assert window.ready.review.recording is before.review.recording
    assert not window.board.corrected.isVisible()


def test_where_nothing_is_suspected_it_says_so(looking):
    _, dialog = looking("healthy-charge", "meters")
    assert "No meter is suspected to read wrong." in told(dialog)
    assert dialog.meters.charts == []
