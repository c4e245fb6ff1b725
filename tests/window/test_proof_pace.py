"""A replay keeps pace, a file is read beside the window's own thread, and the cursor's way is short."""

import threading
import time

import numpy as np
import pytest
from PySide6.QtCore import QEventLoop, QTimer
from PySide6.QtWidgets import QApplication

from desktop import opening, review
from desktop.window.diagram import view as diagram
from desktop.window.opening import Wanted
from desktop.window.trends import paint as trend_paint
from recordings.recording import Recording
from recordings.tables import write_csv

SECOND = 1_000_000_000


def for_a_while(milliseconds: int) -> None:
    loop = QEventLoop()
    QTimer.singleShot(milliseconds, loop.quit)
    loop.exec()


@pytest.fixture
def counted(monkeypatch):
    """How often something costly is done."""
    counts = {"still picture of the trends": 0, "layout of the diagram": 0}
    frame, layout = trend_paint.TrendPainter.frame, diagram.layout

    def counted_frame(self, scene):
        counts["still picture of the trends"] += 1
        return frame(self, scene)

    def counted_layout(*arguments):
        counts["layout of the diagram"] += 1
        return layout(*arguments)

    monkeypatch.setattr(trend_paint.TrendPainter, "frame", counted_frame)
    monkeypatch.setattr(diagram, "layout", counted_layout)
    return counts


def test_at_60_times_the_cursor_keeps_pace_and_little_is_drawn_anew(open_window, ready, counted):
    window = open_window(ready, (1440, 900))
    board = window.board
    cursor, bar = board.cursor_of_time, board.replay
    steps = np.diff(ready.review.recording.time)
    assert np.all(steps == SECOND)
    cursor.move(cursor.first)
    QApplication.processEvents()
    counted.update(dict.fromkeys(counted, 0))
    frames: list[tuple[float, int]] = []
    bar.moved.connect(lambda instant: frames.append((time.monotonic(), instant)))
    bar.set_speed(60)
    began = time.monotonic()
    bar.toggle()
    for_a_while(1500)
    bar.toggle()
    # However many frames there were: each one shows where the recording is at its time.
    for at, instant in frames:
        assert instant - cursor.first <= 60 * SECOND * (at - began) + SECOND
    assert (frames[-1][1] - frames[0][1]) / SECOND == pytest.approx(
        60 * (frames[-1][0] - frames[0][0]), rel=0.1
    )
    assert len(frames) > 10
    # Numbers change twice a second; the curves stand still, and only the cursor moves over them.
    assert counted["still picture of the trends"] == 0
    assert counted["layout of the diagram"] <= 2 * 1.5 + 3


def test_the_cursor_alone_repaints_neither_curves_nor_what_is_beside_it(open_window, ready, counted):
    window = open_window(ready, (1440, 900))
    board = window.board
    counted.update(dict.fromkeys(counted, 0))
    for step in range(20):
        board.cursor_of_time.move(board.cursor_of_time.first + step * 60 * SECOND)
        board.pace.now()
        QApplication.processEvents()
    assert counted["still picture of the trends"] == 0
    assert counted["layout of the diagram"] == 20


@pytest.fixture(scope="session")
def large(tmp_path_factory: pytest.TempPathFactory):
    """A day at 2 Hz."""
    rows = 172_800
    clock = np.arange(rows) / 2
    load = 500 + 300 * np.sin(clock / 900)
    columns = {
        "load_power": load,
        "battery_power": -1.08 * load - 40,
        "battery_voltage": np.full(rows, 52.0),
        "battery_soc": np.clip(90 - clock / 1200, 0, 100),
    }
    path = tmp_path_factory.mktemp("large") / "large.csv"
    time_ns = 1_767_225_600 * SECOND + np.arange(rows, dtype=np.int64) * (SECOND // 2)
    write_csv(Recording.from_columns(time_ns, columns), path)
    return path


def test_a_large_file_is_opened_beside_the_windows_thread(open_window, large, monkeypatch, qtbot):
    threads: dict[str, threading.Thread] = {}
    read, work = opening.open_recording, review.review

    def reading(*arguments, **options):
        threads["reading"] = threading.current_thread()
        return read(*arguments, **options)

    def reviewing(*arguments, **options):
        threads["reviewing"] = threading.current_thread()
        return work(*arguments, **options)

    monkeypatch.setattr(opening, "open_recording", reading)
    monkeypatch.setattr(review, "review", reviewing)
    window = open_window()
    late: list[float] = []
    beats = QTimer()
    beats.setInterval(5)
    beats.timeout.connect(lambda: late.append(time.monotonic()))
    beats.start()
    began = time.monotonic()
    window.open_paths(Wanted((large,)))
    qtbot.waitUntil(lambda: window.ready is not None, timeout=60_000)
    took = time.monotonic() - began
    assert set(threads) == {"reading", "reviewing"}
    assert all(thread is not threading.main_thread() for thread in threads.values())
    # The levels of the curves are there as well: the window has nothing left to work through.
    assert window.ready.store is window.board.trends.store
    waits = np.diff([began, *late])
    print(f"opened in {took:.2f} s; the event loop waited {1e3 * waits.max():.0f} ms at the longest")
    # It went on beating all the while.
    assert len(late) > 5
    assert waits.max() < 0.8 * took
