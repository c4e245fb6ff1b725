"""A recording whose process is killed at any instant: what it may cost, and that no row is ever wrong."""

import random
import signal
import time

import numpy as np
import pytest
from record_help import Feeder, start, wait_for

from recordings.recorder import Recorder
from recordings.tables import read_table

FLUSH_S = 2.0
"""How often rows must be on the disk at least."""

AT_ONCE = 4

BUSY_S = 5.0
"""What a busy machine may take on top before a process comes to its turn."""


def numbers(content):
    """The numbers of all whole rows, each held against the rest of its row."""
    header, *rows = content.split(b"\r\n")
    assert header == b"time,load_power [W],battery_soc [%]"
    # What follows the last line break is at most a torn row, that is dropped when the file is carried on with.
    found = []
    for row in rows[:-1]:
        stamp, number, rest = row.decode().split(",")
        if number:
            assert int(number) % 97 == int(rest)
            found.append(int(number))
        np.datetime64(stamp.removesuffix("Z"), "ns")
    assert found == sorted(set(found))
    return found


def numbers_and_last(content):
    """The numbers of all rows but the last, and the values of the last."""
    rows, last = content.rstrip(b"\r\n").rsplit(b"\r\n", 1)
    return numbers(rows + b"\r\n"), last.split(b",", 1)[1]


def kill_round(feeder, paths, counts, chance, most_lost_s):
    """Start a recorder per line, and kill each at its own instant; `counts` rows each were there before."""
    grown = [path.stat().st_size if path.exists() else 0 for path in paths]
    running = [
        start("record", source, "--to", path) for source, path in zip(feeder.sources, paths, strict=True)
    ]
    for path, before in zip(paths, grown, strict=True):
        wait_for(lambda path=path, before=before: path.exists() and path.stat().st_size > before + 60)
    order = sorted((chance.uniform(0.0, 1.2), place) for place in range(len(paths)))
    began = time.monotonic()
    for after, place in order:
        time.sleep(max(0.0, began + after - time.monotonic()))
        running[place].send_signal(signal.SIGKILL)
        killed_at = time.monotonic()
        running[place].communicate()
        kept = numbers(paths[place].read_bytes())
        since = kept[counts[place] :]
        assert since == list(range(since[0], since[-1] + 1))
        assert feeder.sent[kept[-1]] >= killed_at - most_lost_s


def killed(folder, kills, seed, most_lost_s):
    paths = [folder / f"{place}.csv" for place in range(AT_ONCE)]
    chance = random.Random(seed)
    with Feeder(folder, AT_ONCE) as feeder:
        for _ in range(kills // AT_ONCE):
            before = [numbers(path.read_bytes()) if path.exists() else [] for path in paths]
            kill_round(feeder, paths, [len(kept) for kept in before], chance, most_lost_s)
            for path, kept in zip(paths, before, strict=True):
                assert numbers(path.read_bytes())[: len(kept)] == kept
    for path in paths:
        before = numbers(path.read_bytes())
        with Recorder(path) as recorder:
            recorder.append([time.time_ns()], {"load_power": [98], "battery_soc": [1]})
        assert numbers_and_last(path.read_bytes()) == (before, b"98,1")
    for path in paths:
        recording = read_table(path)
        assert recording.provenance.repairs.bad_rows == 0
        assert recording.provenance.repairs.bad_cells == 0
        load = recording.column("load_power")
        there = ~np.isnan(load)
        assert np.array_equal(load[there] % 97, recording.column("battery_soc")[there])
    assert sorted(path.name for path in folder.iterdir()) == sorted(
        [*(path.name for path in paths), "line.toml"]
    )


def test_kills_cost_the_last_flush_at_most(tmp_path):
    killed(tmp_path, 8, seed=1, most_lost_s=FLUSH_S + BUSY_S)


@pytest.mark.slow
@pytest.mark.timeout(900)
def test_two_hundred_kills_cost_the_last_flush_at_most(tmp_path):
    killed(tmp_path, 200, seed=2, most_lost_s=FLUSH_S)
