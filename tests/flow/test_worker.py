"""Rows worked through, however they are cut."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plants import USUAL, day, metered

from desktop.flow.block import Block
from desktop.flow.learned import learn
from desktop.flow.streams import BALANCE, INDEX, STREAMS
from desktop.flow.worker import AT_ONCE, Worker
from desktop.site import Site
from recordings.recording import Recording

ARRAYS = (
    "time",
    "step",
    "gap",
    "measured",
    "value",
    "sd",
    "unaccounted",
    "unaccounted_sd",
    "chi2",
    "dof",
    "traced",
)


def holed(rows: int = 400, seed: int = 4) -> Recording:
    """Noise, missing cells, a gap, a generator that comes and goes, converter readings now and then."""
    chance = np.random.default_rng(seed)
    x = day(rows * 5, seed)[:, ::5]
    running = x[INDEX["generator"]] > 0
    recording = metered(
        x, *USUAL, "converter_ac", noise=1.0, seed=seed, generator_frequency=np.where(running, 50.0, 0.0),
        battery_voltage=np.full(rows, 52.0), battery_soc=np.full(rows, 60.0),
    )  # fmt: skip
    columns = {name: recording.column(name).copy() for name in recording.channels}
    for name, share in (
        ("load_power", 0.1),
        ("solar_power", 0.1),
        ("converter_ac_power", 0.6),
        ("generator_power", 0.3),
    ):
        columns[name][chance.random(rows) < share] = np.nan
    time = recording.time.copy()
    time[rows // 2 :] += 600 * 10**9
    return Recording.from_columns(time, columns)


RECORDING = holed()
LEARNED = learn(RECORDING, Site())


def assert_same(parts: list[Block], whole: Block) -> None:
    for name in (*ARRAYS, "traced"):
        joined = np.concatenate([getattr(part, name) for part in parts], axis=-1)
        assert np.array_equal(joined, getattr(whole, name), equal_nan=name not in {"time", "gap", "dof"}), (
            name
        )
    for channel, values in whole.channels.items():
        joined = np.concatenate([part.channels[channel] for part in parts])
        assert np.array_equal(joined, values, equal_nan=True), channel


@settings(deadline=None, derandomize=True, max_examples=40)
@given(st.lists(st.integers(0, len(RECORDING)), max_size=8))
def test_results_do_not_depend_on_how_rows_are_cut(cuts):
    """Bit by bit."""
    edges = [0, *sorted(cuts), len(RECORDING)]
    worker = Worker(LEARNED, Site())
    parts = [worker.work(RECORDING, a, b) for a, b in pairwise(edges)]
    assert [part.start for part in parts] == [min(edge, len(RECORDING)) for edge in edges[:-1]]
    assert_same(parts, Worker(LEARNED, Site()).work(RECORDING, 0, len(RECORDING)))


def test_row_by_row_equals_the_whole():
    worker = Worker(LEARNED, Site())
    parts = [worker.work(RECORDING, row, row + 1) for row in range(120)]
    assert_same(parts, Worker(LEARNED, Site()).work(RECORDING, 0, 120))


def test_long_runs_equal_short_ones():
    """More rows than are worked through at a time."""
    recording = metered(day(2 * AT_ONCE + 77), *USUAL, noise=0.5)
    learned = learn(recording, Site())
    whole = Worker(learned, Site()).work(recording, 0, len(recording))
    worker = Worker(learned, Site())
    parts = [worker.work(recording, a, a + 1000) for a in range(0, len(recording), 1000)]
    assert_same(parts, whole)


def test_later_rows_change_nothing():
    worker = Worker(LEARNED, Site())
    assert_same([worker.work(RECORDING.rows(0, 150), 100, 150)], worker.work(RECORDING, 100, 150))


def test_true_streams_are_found():
    """Within the deviations that are told, and never beside the balance."""
    x = day(3000)
    recording = metered(x, *USUAL, noise=1.0)
    block = Worker(learn(recording, Site()), Site()).work(recording, 0, 3000)
    assert np.abs(BALANCE @ block.value).max() < 1e-6 * np.abs(block.value).max()
    for name in STREAMS:
        off = np.abs(block.stream(name) - x[INDEX[name]])
        assert (off <= 3.5 * block.sd[INDEX[name]] + 1e-9).mean() > 0.99
        raw = np.abs(block.measured[INDEX[name]] - x[INDEX[name]])
        if name in {"generator", "battery"}:
            assert off.mean() < raw.mean()
    assert (block.chi2 < 3.841459).mean() > 0.95


def test_a_reversed_meter_leaves_much_unaccounted():
    x = day(3000)
    x[INDEX["battery"]] *= -1
    recording = metered(x, *USUAL, noise=0.3)
    block = Worker(learn(recording, Site()), Site()).work(recording, 0, 3000)
    charging = x[INDEX["generator"]] > 1000
    assert (block.chi2[charging] > 3.841459).mean() > 0.9
    assert (block.missing("both")[charging] / block.unaccounted_sd[2, charging] > 5).mean() > 0.9


def test_steps_and_gaps():
    block = Worker(LEARNED, Site()).work(RECORDING, 0, len(RECORDING))
    assert np.isnan(block.step[0])
    assert block.gap.nonzero()[0].tolist() == [200]
    assert block.step[200] == pytest.approx(601)


def test_nothing_to_work_through():
    block = Worker(LEARNED, Site()).work(RECORDING, 50, 50)
    assert len(block) == 0
    assert block.traced.shape == (5, 5, 0)
    empty = Recording(("load_power",))
    assert len(Worker(learn(empty, Site()), Site()).work(empty, 0, 10)) == 0


def test_what_is_known_of_each_stream():
    worker = Worker(LEARNED, Site())
    row = np.full(len(STREAMS), np.nan)
    row[[INDEX[name] for name in USUAL]] = 100.0
    knowledge = worker.knowledge(row)
    assert {knowledge[name] for name in USUAL} == {"checked"}
    assert knowledge["converter_ac"] == knowledge["loss"] == "computed"
    assert knowledge["grid"] == "absent"
    row[INDEX["load"]] = np.nan
    assert worker.knowledge(row)["load"] == "computed"
    assert worker.knowledge(row)["battery"] == "measured"
    row[INDEX["solar"]] = np.nan
    assert worker.knowledge(row)["load"] == "unknown"
    assert worker.knowledge(row)["generator"] == "measured"
