"""The minute book: means of the readings in each minute, however the rows were cut."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.flow.block import Block
from desktop.flow.learned import learn
from desktop.flow.minutes import Minutes
from desktop.flow.streams import INDEX
from desktop.flow.worker import Worker
from desktop.site import Site
from recordings.recording import Recording

START = 1_750_000_013_000_000_000


def _blocks(recording: Recording, cuts: list[int]) -> list[Block]:
    worker = Worker(learn(recording, Site()), Site())
    edges = [0, *sorted(cuts), len(recording)]
    return [worker.work(recording, a, b) for a, b in pairwise(edges) if b > a]


def _recording(rows: int, step_s: float, seed: int = 1) -> Recording:
    rng = np.random.default_rng(seed)
    columns = {
        "generator_power": rng.normal(3000, 300, rows),
        "load_power": rng.normal(1000, 100, rows),
        "battery_power": rng.normal(1900, 100, rows),
        "battery_soc": np.linspace(40, 50, rows),
    }
    columns["battery_power"][rng.random(rows) < 0.2] = np.nan
    time = START + np.round(np.arange(rows) * step_s * 1e9).astype(np.int64)
    return Recording.from_columns(time, columns)


def test_means_are_those_of_the_readings_in_each_minute() -> None:
    recording = _recording(1000, 7.0)
    (block,) = _blocks(recording, [])
    minutes = Minutes()
    minutes.extend(block)
    number = recording.time // 60_000_000_000
    assert minutes.time.tolist() == (np.unique(number) * 60_000_000_000).tolist()
    assert minutes.rows.sum() == 1000
    for place, minute in enumerate(np.unique(number)):
        rows = number == minute
        read = recording.column("battery_power")[rows].astype(float)
        read = read[np.isfinite(read)]
        mean = read.mean() if read.size else np.nan
        assert minutes.channel("battery_power")[place] == pytest.approx(mean, rel=1e-6, nan_ok=True)
        assert minutes.measured("load")[place] == pytest.approx(
            block.measured[INDEX["load"]][rows].mean(), rel=1e-6
        )
        assert minutes.stream("load")[place] == pytest.approx(
            block.value[INDEX["load"]][rows].mean(), rel=1e-6
        )
        assert minutes.sd("load")[place] == pytest.approx(block.sd[INDEX["load"]][rows].mean(), rel=1e-6)


def test_a_minute_without_a_reading_is_nan_and_one_without_rows_is_absent() -> None:
    time = START + np.array([0, 1, 600, 601, 602]) * 1_000_000_000
    nan = np.nan
    recording = Recording.from_columns(
        time, {"load_power": [100, 110, nan, nan, nan], "generator_power": [1, 2, 3, 4, 5]}
    )
    minutes = Minutes()
    for block in _blocks(recording, []):
        minutes.extend(block)
    assert len(minutes) == 2
    assert minutes.rows.tolist() == [2, 3]
    assert minutes.channel("load_power")[0] == 105
    assert np.isnan(minutes.channel("load_power")[1])
    assert np.isnan(minutes.channel("fuel_level")).all()


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(0, 3000), max_size=12),
    st.sampled_from([0.2, 1.0, 13.0, 60.0, 300.0]),
)
def test_how_rows_are_cut_makes_no_difference(cuts: list[int], step_s: float) -> None:
    recording = _recording(3000, step_s)
    whole, parts = Minutes(), Minutes()
    whole.extend(_blocks(recording, [])[0])
    for block in _blocks(recording, cuts):
        parts.extend(block)
    assert whole.time.tolist() == parts.time.tolist()
    assert whole.rows.tolist() == parts.rows.tolist()
    for name in ("battery_soc", "battery_power"):
        np.testing.assert_allclose(whole.channel(name), parts.channel(name), rtol=2e-7)
    np.testing.assert_allclose(whole.stream("battery"), parts.stream("battery"), rtol=2e-7)


def test_the_book_up_to_an_instant_holds_the_minutes_that_were_over() -> None:
    recording = _recording(600, 1.0)
    minutes = Minutes()
    for block in _blocks(recording, [100, 101, 350]):
        minutes.extend(block)
    third = int(minutes.time[3])
    assert minutes.until(third).time.tolist() == minutes.time[:3].tolist()
    assert minutes.until(third + 59_999_999_999).time.tolist() == minutes.time[:3].tolist()
    np.testing.assert_array_equal(minutes.until(third).stream("load"), minutes.stream("load")[:3])
    last = int(minutes.time[-1])
    assert len(minutes.until(last + 60_000_000_000)) == len(minutes)
    copy = minutes.copy()
    np.testing.assert_array_equal(copy.stream("load"), minutes.stream("load"))
    assert len(copy) == len(minutes)
