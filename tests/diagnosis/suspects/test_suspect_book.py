"""The book: the same evidence however rows are cut, in bounded memory."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from suspect_help import gathered
from suspect_plants import record, with_fault

from desktop.diagnosis.suspects import find_suspects
from desktop.diagnosis.suspects.cells import Cells, Layout
from desktop.diagnosis.suspects.steps import MOST_STEPS, Steps
from desktop.review.suspects import suspects_json

SECOND = 10**9


@pytest.fixture(scope="module")
def lying():
    plant = record(8)
    recording, _ = with_fault(plant, np.random.default_rng(2))
    rows = recording.rows(0, 4000)
    snapshot, learned = gathered(rows, plant.site)
    return rows, plant.site, snapshot, suspects_json(find_suspects(snapshot, learned, plant.site))


@settings(max_examples=15, deadline=None)
@given(st.lists(st.integers(1, 3999), max_size=25))
def test_any_cutting_gives_the_same_evidence_and_verdict(lying, cuts):
    recording, site, whole, verdict = lying
    snapshot, learned = gathered(recording, site, cuts)
    for name in ("time", "mean", "low", "high", "volts", "battery_v", "soc", "still", "rows", "course"):
        np.testing.assert_array_equal(getattr(snapshot, name), getattr(whole, name), err_msg=name)
    assert [step.size for step in snapshot.steps] == [step.size for step in whole.steps]
    assert suspects_json(find_suspects(snapshot, learned, site)) == verdict


def cells(interval_s=1.0):
    return Cells(Layout(1, 1), np.array([2.0]), np.array([15.0]), interval_s)


def test_rows_that_just_moved_are_left_out_of_means():
    time = np.arange(60, dtype=np.int64) * SECOND
    load = np.where(np.arange(60) < 30, 300.0, 2300.0)
    load[31] = 2000.0
    one = cells()
    one.extend(time, np.vstack((load, np.ones(60))))
    _, table, width = one.table()
    assert width == 60 * SECOND
    # The step into row 30, row 31 and the one after it move; so do those that follow each.
    assert table[0, 0] == pytest.approx((30 * 300 + 26 * 2300) / 56, rel=1e-6)
    assert table[[2, 3], 0].tolist() == [300.0, 2300.0]
    assert table[-2:, 0].tolist() == [56, 60]


def test_slow_logs_are_taken_as_they_are():
    one = cells(60.0)
    one.extend(np.arange(3, dtype=np.int64) * 60 * SECOND, np.array([[0.0, 900, 20], [1, 1, 1]]))
    assert one.table()[1][0].tolist() == [0, 900, 20]


def test_cells_widen_when_there_are_too_many(monkeypatch):
    monkeypatch.setattr("desktop.diagnosis.suspects.cells.MOST_CELLS", 50)
    time = np.arange(6000, dtype=np.int64) * 2 * SECOND
    values = np.sin(np.arange(6000) / 400) * 1000
    at_once, piecewise = cells(), cells()
    at_once.extend(time, np.vstack((values, values)))
    for start in range(0, 6000, 137):
        part = slice(start, start + 137)
        piecewise.extend(time[part], np.vstack((values[part], values[part])))
    (when, table, width), (times, other, wide) = at_once.table(), piecewise.table()
    assert width == wide == 240 * SECOND
    assert len(when) <= 51
    np.testing.assert_array_equal(when, times)
    np.testing.assert_array_equal(table, other)
    assert table[-1].sum() == 6000


def test_the_greatest_steps_are_kept_and_no_more_than_needed():
    rows = 200_000
    time = np.arange(rows, dtype=np.int64) * SECOND
    load = 300.0 + 10 * (np.arange(rows) % 2)
    load[5000:] += 1500
    load[120_000:] += 4000
    kept = Steps(np.array([2.0]), np.array([15.0]), 1.0)
    for start in range(0, rows, 30_011):
        kept.extend(time[start : start + 30_011], load[None, start : start + 30_011])
    steps = kept.steps()
    assert 2 <= len(steps) <= MOST_STEPS
    moved = [1 + int(np.argmax(np.abs(np.diff(step.rows[0])))) for step in steps]
    instants = {int(step.time[row] // SECOND) for step, row in zip(steps, moved, strict=True)}
    assert {5000, 120_000} <= instants
