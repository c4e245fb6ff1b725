"""A week of a live system at 1 Hz and 20 channels, as fast as it goes: how memory grows.

python tests/bench/bench_watch_memory.py [DAYS]
"""

from __future__ import annotations

import gc
import os
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from desktop.live.watch import Watch
from desktop.picture.trends.of_review import trends_of
from desktop.picture.trends.store import LevelStore
from desktop.site import Site
from drivers.source import Frame, State

DAY = 86_400
ROWS = 60
START = 1_750_000_000_000_000_000
SHEET = """
[generator]
rated_w = 7000
volts = 230
hz = 50
[input]
limit_a = 25
[battery]
chemistry = "lfp"
capacity_kwh = 10
nominal_v = 51.2
"""


class WeekSource:
    """The same day again and again: a generator in the evening, sun at noon, 20 channels."""

    name = "a week"
    channels: tuple[str, ...] = ()

    def __init__(self, days: float) -> None:
        self._rows = round(days * DAY)
        self._stop = threading.Event()
        self.allowed = threading.Semaphore(16)
        self.state = State("reading", 0)

    def frames(self) -> Iterator[Frame]:
        for start in range(0, self._rows, ROWS):
            # No more rows on the way than a live system would have there.
            self.allowed.acquire()
            if self._stop.is_set():
                return
            yield frame(start)

    def stop(self) -> None:
        self._stop.set()
        self.allowed.release()


def frame(start: int) -> Frame:
    """A minute of the plant."""
    rows = np.arange(start, start + ROWS)
    chance = np.random.default_rng(start)
    hour = rows % DAY / 3600
    running = (hour > 18) & (hour < 21)
    sun = 2500 * np.clip(np.sin((hour - 7) / 10 * np.pi), 0, None) * (hour > 7) * (hour < 17)
    load = 500 + 1500 * (rows // 700 % 5 == 0) + chance.normal(0, 10, ROWS)
    generator = np.where(running, 5000 + chance.normal(0, 20, ROWS), 0.0)
    through = generator - load
    battery = through - 40 - 0.06 * np.abs(through) + sun
    columns = {
        "generator_power": generator,
        "generator_voltage": np.where(running, 230.0, 0),
        "generator_current": generator / 230,
        "generator_voltage_l1": np.where(running, 230.0, 0),
        "generator_current_l1": generator / 230,
        "generator_frequency": np.where(running, 50.1, 0),
        "grid_power": np.zeros(ROWS),
        "load_power": load,
        "solar_power": sun,
        "solar_ac_power": np.zeros(ROWS),
        "battery_power": battery,
        "battery_voltage": 52 + battery / 3000,
        "battery_current": battery / 52,
        "battery_soc": np.round(50 + 20 * np.sin(rows / DAY * 2 * np.pi)),
        "battery_temperature": 20 + np.sin(rows / DAY),
        "converter_ac_power": through,
        "converter_dc_power": battery - sun,
        "dc_load_power": np.zeros(ROWS),
        "input_limit": np.full(ROWS, 25.0),
        "fuel_level": 80 - rows / DAY,
    }
    time_ = START + rows * 1_000_000_000
    return Frame(time_, {name: values.astype(np.float32) for name, values in columns.items()})


def rss_mb() -> tuple[float, float]:
    """(memory in use, of that not backed by a file), MB."""
    lines = Path("/proc/self/status").read_text(encoding="utf-8").splitlines()
    told = dict(line.split(":", 1) for line in lines if line.startswith(("VmRSS", "RssAnon")))
    return tuple(int(told[name].split()[0]) / 1024 for name in ("VmRSS", "RssAnon"))


def main(days: float) -> None:
    """Watch, and tell."""
    source = WeekSource(days)
    watch = Watch(source, Site.parse(SHEET)).start()
    store: LevelStore | None = None
    shown, begun = 0.0, time.perf_counter()
    while watch.running:
        for _ in range(watch.take() // ROWS):
            source.allowed.release()
        review = watch.review
        if review is None:
            continue
        if store is None:
            trends = trends_of(review)
            store = LevelStore(trends, review.recording.room)
        trends.refresh(review)
        store.prepare(each for each in trends.series if each.shown)
        review.moment(int(review.recording.time[-1]))
        if len(review) / DAY >= shown:
            shown += 0.25
            gc.collect()
            watch.recording.room.release()
            whole, anonymous = rss_mb()
            print(
                f"day {len(review) / DAY:5.2f}: {whole:7.1f} MB, {anonymous:7.1f} MB of it without a file",
                flush=True,
            )
    print(f"{time.perf_counter() - begun:.1f} s, findings {len(watch.review.findings)}, pid {os.getpid()}")
    watch.stop()


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 7.0)
