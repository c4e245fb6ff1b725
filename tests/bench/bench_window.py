"""What the window costs: moving the cursor, replaying, and how long the event loop waits while a file is opened.

Run: python tests/bench/bench_window.py [ROWS OF THE LARGE FILE]
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"

from bench_month import month
from PySide6.QtCore import QElapsedTimer, QEventLoop, QTimer
from PySide6.QtWidgets import QApplication

from desktop.opening import demos, open_recording
from desktop.review import review
from desktop.window import shot
from desktop.window.main import MainWindow
from desktop.window.opening import Wanted

ROWS = 600_000
SIZES = ((1280, 720), (1440, 900), (3840, 2160))
STEPS = 300
REPLAY_S = 6.0


def moved(window: MainWindow) -> list[float]:
    """ms from a moved cursor to the painted window, for steps through the whole recording."""
    app, cursor = QApplication.instance(), window.board.cursor_of_time
    spent = []
    for step in range(STEPS + 10):
        before = time.perf_counter()
        cursor.move(cursor.first + step * (cursor.last - cursor.first) // (STEPS + 10))
        window.board.pace.now()
        app.processEvents()
        spent.append(1e3 * (time.perf_counter() - before))
    return spent[10:]


def repainted(window: MainWindow) -> list[float]:
    """ms to paint all of the window, without anything being worked out."""
    spent = []
    for _ in range(40):
        before = time.perf_counter()
        window.grab()
        spent.append(1e3 * (time.perf_counter() - before))
    return spent


def replayed(window: MainWindow, *, motion: bool) -> tuple[float, float, float, float]:
    """Frames a second, the longest time from one to the next (ms), the share of a core, recorded s a second."""
    board = window.board
    board.set_motion(motion)
    board.cursor_of_time.move(board.cursor_of_time.first)
    board.replay.set_speed(60)
    frames: list[float] = []
    board.replay.moved.connect(lambda instant: frames.append(time.perf_counter()))
    loop = QEventLoop()
    QTimer.singleShot(round(1e3 * REPLAY_S), loop.quit)
    used, began, instant = time.process_time(), time.perf_counter(), board.cursor_of_time.instant
    board.replay.toggle()
    loop.exec()
    board.replay.toggle()
    board.set_motion(False)
    wall = time.perf_counter() - began
    longest = max(1e3 * (b - a) for a, b in pairwise(frames))
    played = (board.cursor_of_time.instant - instant) / 1e9
    return len(frames) / wall, longest, (time.process_time() - used) / wall, played / wall


def waits_while(window: MainWindow, start: Callable[[], None]) -> tuple[list[float], float]:
    """ms by which a timer of 5 ms came late while something was opened, and how long that took, s."""
    late: list[float] = []
    since = QElapsedTimer()
    timer = QTimer()
    timer.setInterval(5)
    timer.timeout.connect(lambda: late.append(since.restart() - 5.0))
    loop = QEventLoop()
    window.opener.ready.connect(loop.quit)
    window.opener.failed.connect(loop.quit)
    began = time.perf_counter()
    since.start()
    timer.start()
    start()
    loop.exec()
    # What is painted when all is there belongs to it.
    QApplication.processEvents()
    late.append(since.elapsed() - 5.0)
    return late, time.perf_counter() - began


def main() -> None:
    """Print everything."""
    found = review(*open_recording(next(each.path for each in demos() if each.path.stem == "load-step")))
    for width, height in SIZES:
        window = shot.shown(found, size=(width, height))
        whole, moving = statistics.median(repainted(window)), moved(window)
        told = f"{width}x{height}"
        print(
            f"{told:<10} cursor moved: median {statistics.median(moving):5.2f} ms, "
            f"95 % within {sorted(moving)[int(0.95 * STEPS)]:5.2f} ms; "
            f"all painted anew {whole:6.2f} ms, ratio {statistics.median(moving) / whole:.2f}"
        )
        for motion in (False, True):
            frames, longest, share, speed = replayed(window, motion=motion)
            print(
                f"{'':<10} replay at 60×{', with motion' if motion else '':<13}: {frames:4.1f} frames/s, "
                f"longest {longest:3.0f} ms, {100 * share:4.1f} % of a core, {speed:4.1f} s a second"
            )
        shot.dismiss(window)
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "large.csv")
        month(path, rows)
        window = shot.shown(found)
        late, took = waits_while(window, lambda: window.open_paths(Wanted((path,))))
        late.sort()
        print(
            f"{rows} rows opened in {took:.2f} s: the event loop waited {late[-1]:.0f} ms at the longest, "
            f"{late[int(0.99 * len(late))]:.0f} ms in 99 %, {sum(each > 50 for each in late)} times above 50 ms"
        )
        shot.dismiss(window)


if __name__ == "__main__":
    main()
