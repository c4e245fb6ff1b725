"""Columns in mapped files: the same as in memory, whatever is let go of, and in memory where no file can be."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recordings.recording import Recording
from recordings.room import Spool

START = 1_700_000_000_000_000_000


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 30_000), st.booleans(), st.booleans()), min_size=1, max_size=6))
def test_a_recording_in_files_equals_one_in_memory(pieces: list[tuple[int, bool, bool]]) -> None:
    spool = Spool()
    filed, plain = Recording((), None, spool), Recording()
    rng = np.random.default_rng(7)
    begin = START
    views = []
    for rows, with_soc, release in pieces:
        time = begin + np.arange(rows) * 1_000_000_000
        begin += rows * 1_000_000_000
        columns = {"load_power": rng.normal(500, 100, rows)}
        if with_soc:
            columns["battery_soc"] = rng.uniform(0, 100, rows)
        for recording in (filed, plain):
            recording.append(time, columns)
        views.append((len(plain), filed.column("load_power")))
        if release:
            spool.release()
    assert filed.channels == plain.channels
    np.testing.assert_array_equal(filed.time, plain.time)
    for name in plain.channels:
        np.testing.assert_array_equal(filed.column(name), plain.column(name))
    for rows, view in views:
        np.testing.assert_array_equal(view, plain.column("load_power")[:rows])
    spool.close()


def test_nothing_is_left_in_the_folder(tmp_path: Path) -> None:
    spool = Spool(tmp_path)
    recording = Recording((), None, spool)
    recording.append(START + np.arange(50_000), {"load_power": np.ones(50_000)})
    assert list(tmp_path.iterdir()) == []
    spool.close()
    assert recording.column("load_power").sum() == 50_000


def test_where_no_file_can_be_made_columns_are_in_memory(tmp_path: Path) -> None:
    spool = Spool(tmp_path / "missing")
    recording = Recording((), None, spool)
    for part in range(3):
        recording.append(START + part * 50_000 + np.arange(50_000), {"load_power": np.full(50_000, part)})
    spool.release()
    assert recording.column("load_power").sum() == 150_000


def test_a_full_disk_moves_columns_into_memory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    spool = Spool(tmp_path)
    recording = Recording((), None, spool)
    recording.append(START + np.arange(50_000), {"load_power": np.arange(50_000)})

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "posix_fallocate", full, raising=False)
    recording.append(START + 50_000 + np.arange(50_000), {"load_power": np.arange(50_000)})
    expected = np.tile(np.arange(50_000, dtype=np.float32), 2)
    np.testing.assert_array_equal(recording.column("load_power"), expected)
