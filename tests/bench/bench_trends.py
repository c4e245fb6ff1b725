"""Frame times of the trend view, printed with their ratio to plain pyqtgraph measured in the same run.

python tests/bench/bench_trends.py [--rows 31500000] [--cpu]
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from dataclasses import dataclass, field
from datetime import UTC, tzinfo

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
import pyqtgraph as pg
from PySide6.QtWidgets import QApplication

from desktop.picture.trends.source import Band, LimitLine, Pane, Series
from desktop.picture.trends.store import LevelStore
from desktop.window.trends.view import TrendView
from desktop.words import Phrase

_SECOND = 1_000_000_000
_SIZES = ((840, 300), (1440, 500), (3840, 900))


@dataclass
class MadeUp:
    """Six curves at 1 Hz: noise over a daily wave, with missing readings and a telemetry gap."""

    rows: int
    zone: tzinfo = UTC
    revision: int = 0
    bridge: int = 60 * _SECOND
    panes: tuple[Pane, ...] = (
        Pane("power", Phrase("Power"), "kW", 1e-3, "zero"),
        Pane("soc", Phrase("State of charge"), "%"),
        Pane("frequency", Phrase("Frequency"), "Hz", base="running"),
    )
    limits: tuple[LimitLine, ...] = (LimitLine("power", 5750.0, Phrase("input limit")),)
    series: list[Series] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.time = 1_770_000_000 * _SECOND + np.arange(self.rows, dtype=np.int64) * _SECOND
        hole = self.rows // 2
        self.gaps = self.time[[hole, hole + 1000]].reshape(1, 2)
        apart = self.rows // 300
        self.bands = [
            Band(int(at), int(at) + apart * _SECOND // 4, "attend", Phrase("Frequency low"))
            for at in self.time[::apart]
        ]
        roles = (
            *(("generator", "power", "W"), ("load", "power", "W"), ("solar", "power", "W")),
            *(("battery", "power", "W"), ("soc", "soc", "%"), ("generator_2", "frequency", "Hz")),
        )
        for number, (key, pane, unit) in enumerate(roles):
            values = self._values(number)
            values[hole : hole + 1000] = np.nan
            self.series.append(Series(key, Phrase(key), pane, unit, key, "reconciled", _getter(values)))

    def _values(self, number: int) -> np.ndarray:
        random = np.random.default_rng(number)
        values = random.standard_normal(self.rows, np.float32)
        values *= np.float32(300)
        values += (2000 * np.sin(np.arange(self.rows, dtype=np.float32) * np.float32(7e-5) + number)).astype(
            "f4"
        )
        values[random.integers(0, self.rows, self.rows // 1000)] = np.nan
        return values


def _getter(values: np.ndarray):
    return lambda: values


def _milliseconds(act, count: int, clock=time.perf_counter) -> np.ndarray:
    taken = []
    for number in range(count):
        begun = clock()
        act(number)
        taken.append((clock() - begun) * 1e3)
    return np.array(taken)


def shown(source: MadeUp, size: tuple[int, int], store: LevelStore) -> TrendView:
    """A view that has drawn its first frame."""
    view = TrendView()
    view.resize(*size)
    view.set_source(source, store)
    view.set_cursor(int(source.time[source.rows // 2]))
    view.show()
    QApplication.processEvents()
    view.repaint()
    return view


def moving(view: TrendView, clock) -> dict[str, np.ndarray]:
    """Frame times by zoom: the share of everything that is seen → times of panned frames."""
    frames: dict[str, np.ndarray] = {}
    share = 1.0
    while share * (view.window_of_time.last - view.window_of_time.first) > 200 * _SECOND:
        view.fit()
        view.zoom(share)
        view.repaint()
        frames[f"{share:.0e}"] = _milliseconds(lambda n: (_nudge(view, n), view.repaint()), 24, clock)
        share /= 4
    view.fit()
    frames["zooming"] = _milliseconds(
        lambda n: (view.zoom(0.8 if n < 40 else 1.25), view.repaint()), 80, clock
    )
    return frames


def cursor_only(view: TrendView, source: MadeUp, clock) -> np.ndarray:
    """Frame times while nothing but the cursor moves."""
    instants = source.time[:: max(1, source.rows // 64)]
    return _milliseconds(lambda n: (view.set_cursor(int(instants[n])), view.repaint()), 48, clock)


def against(one: TrendView, other: TrendView, clock) -> float:
    """How much longer a frame of one view takes than one of the other, turn by turn, all of it seen."""
    for view in (one, other):
        view.fit()
        view.repaint()
    times = [[], []]
    for _ in range(40):
        for view, taken in zip((one, other), times, strict=True):
            taken.append(_milliseconds(lambda _, view=view: (view.zoom(0.999), view.repaint()), 1, clock)[0])
    return float(np.median(times[0]) / np.median(times[1]))


def _nudge(view: TrendView, number: int) -> None:
    # At full span nothing is left to pan to: a hair's breadth of zoom makes it draw anew all the same.
    before = view.window_of_time
    view.pan(0.05 if number % 2 else -0.05)
    if view.window_of_time == before:
        view.zoom(0.999)


def plain(source: MadeUp, size: tuple[int, int], curves: int) -> np.ndarray:
    """pyqtgraph's own peak down-sampling with clip-to-view, full span."""
    plot = pg.PlotWidget()
    plot.resize(*size)
    seconds = (source.time - source.time[0]) / _SECOND
    for series in source.series[:curves]:
        item = plot.plot(seconds, series.values(), pen=pg.mkPen("b", width=1))
        item.setDownsampling(auto=True, method="peak")
        item.setClipToView(True)
    plot.show()
    QApplication.processEvents()
    plot.repaint()

    def frame(number: int) -> None:
        plot.setXRange(number, seconds[-1] - number, padding=0)
        QApplication.processEvents()
        plot.viewport().repaint()

    taken = _milliseconds(frame, 12)
    plot.close()
    return taken


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=31_500_000)
    parser.add_argument("--cpu", action="store_true", help="count the thread's own time, on a busy machine")
    options = parser.parse_args()
    application = QApplication(sys.argv[:1])
    big, small = MadeUp(options.rows), MadeUp(100_000)
    begun = time.perf_counter()
    stores = {source.rows: LevelStore(source) for source in (big, small)}
    for source in (big, small):
        stores[source.rows].prepare(source.series)
    built = time.perf_counter() - begun
    data = sum(series.values().nbytes for series in big.series) + big.time.nbytes
    columns = sum(series.values().nbytes for series in big.series)
    store = stores[big.rows]
    print(f"{big.rows:,} rows × {len(big.series)} curves: levels made in {built:.2f} s,")
    print(f"  {store.nbytes / columns:.1%} of the curves' memory, {store.nbytes / data:.1%} with their times")
    clock = time.thread_time if options.cpu else time.perf_counter
    for size in _SIZES:
        view, brief = (shown(source, size, stores[source.rows]) for source in (big, small))
        frames = moving(view, clock)
        print(f"\n{size[0]} × {size[1]} pixels, ms: median, worst")
        for zoom, taken in {**frames, "cursor only": cursor_only(view, big, clock)}.items():
            print(f"  {zoom:>12}  {np.median(taken):6.2f} {np.max(taken):6.2f}")
        every = np.concatenate(list(frames.values()))
        print(f"  all pans and zooms: median {np.median(every):.2f}, worst {np.max(every):.2f}")
        print(f"  long against 100,000 rows, all of it seen: {against(view, brief, clock):.2f} ×")
        if size == _SIZES[0]:
            for curves in (3, 6):
                peer = np.median(plain(big, size, curves))
                ratio = peer / np.median(frames["1e+00"])
                print(
                    f"  plain pyqtgraph, peak, {curves} curves: {peer:.1f} ms = {ratio:.1f} × ours with six"
                )
        view.close()
        brief.close()
    application.quit()


if __name__ == "__main__":
    main()
