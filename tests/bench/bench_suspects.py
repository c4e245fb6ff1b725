"""Gathering evidence over a week at 1 Hz and finding the meter that lies, beside reconciling the same rows.

Run: python tests/bench/bench_suspects.py [ROWS]
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from side_by_side import seconds, told

from desktop.diagnosis.suspects import SuspectBook, find_suspects
from desktop.flow.learned import learn
from desktop.flow.worker import Worker
from desktop.opening import demos
from desktop.site import Site
from recordings.recording import Recording
from recordings.tables import read_table

ROWS = 604_800
BLOCK_ROWS = 16_384
DEMO = "reversed-battery-meter"


def week(rows: int) -> tuple[Recording, Site]:
    """The demo with a meter that is wired the wrong way round, over and over at one row a second, and its sheet."""
    path: Path = next(demo.path for demo in demos() if demo.path.stem == DEMO)
    short = read_table(path)
    time = int(short.time[0]) + np.arange(rows, dtype=np.int64) * 10**9
    chance = np.random.default_rng(1)
    columns = {}
    for name in short.channels:
        column = np.resize(short.column(name), rows)
        noise = chance.normal(0, 3, rows) if name.endswith("_power") else 0.0
        columns[name] = np.round(column + noise, 2)
    return Recording.from_columns(time, columns), Site.load(path.with_suffix(".toml"))


def main() -> None:
    """Print the times and their ratios."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    recording, site = week(rows)
    learned = learn(recording, site)
    worker = Worker(learned, site)
    starts = range(0, rows, BLOCK_ROWS)
    blocks = [worker.work(recording, start, start + BLOCK_ROWS) for start in starts]

    def gathered() -> SuspectBook:
        book = SuspectBook(learned, site)
        for block in blocks:
            book.extend(block)
        return book

    snapshot = gathered().snapshot()
    reconcile = seconds(lambda: [worker.work(recording, start, start + BLOCK_ROWS) for start in starts], 3)
    gather = seconds(gathered, 3)
    judge = seconds(lambda: find_suspects(snapshot, learned, site), 3)
    told("gathering the evidence", gather, "reconciling the rows", reconcile)
    told("the verdict", judge, "reconciling the rows", reconcile)
    told("both", gather + judge, "reconciling the rows", reconcile)
    found = [(each.channel, each.fault) for each in find_suspects(snapshot, learned, site)]
    print(f"{gather / rows * 1e6:.3f} µs a row to gather; suspected: {found}")


if __name__ == "__main__":
    main()
