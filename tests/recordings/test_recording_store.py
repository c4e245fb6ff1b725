"""The store: rows in order, columns without copies, memory in proportion."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recordings.channels import CHANNELS
from recordings.errors import RecordingError
from recordings.recording import Recording

CHUNKS = st.lists(
    st.tuples(st.integers(0, 40), st.sets(st.sampled_from(["load_power", "grid_power", "battery_soc"]))),
    max_size=12,
)


def pieces(chunks):
    """(time, columns) of each chunk: time rises throughout, values are the row numbers."""
    row = 0
    for size, names in chunks:
        time = np.arange(row, row + size) * 7 + 1
        yield time, {name: np.arange(row, row + size) + CHANNELS[name].lowest for name in names}
        row += size


@settings(deadline=None)
@given(CHUNKS)
def test_what_is_appended_stands_there_however_it_was_cut(chunks):
    recording = Recording()
    times, columns = [], {}
    for time, cells in pieces(chunks):
        recording.append(time, cells)
        for name in cells.keys() - columns.keys():
            columns[name] = [np.nan] * len(times)
        times.extend(time)
        for name, store in columns.items():
            store.extend(cells.get(name, [np.nan] * len(time)))
    assert recording.time.tolist() == times
    assert set(recording.channels) == set(columns)
    for name, store in columns.items():
        np.testing.assert_array_equal(recording.column(name), np.array(store, np.float32))
    whole = Recording.from_columns(np.array(times, np.int64), columns)
    for name in columns:
        assert whole.column(name).tobytes() == recording.column(name).tobytes()


@given(st.integers(0, 50), st.integers(-60, 60), st.integers(-60, 60))
def test_slices_are_those_of_python_and_share_memory(rows, start, stop):
    recording = Recording()
    recording.append(np.arange(rows), {"load_power": np.arange(rows)})
    part = recording.rows(start, stop)
    assert part.time.tolist() == list(range(rows))[start:stop]
    assert part.column("load_power").tolist() == list(range(rows))[start:stop]
    if len(part):
        assert np.shares_memory(part.column("load_power"), recording.column("load_power"))
        assert np.shares_memory(part.time, recording.time)


@given(
    st.lists(st.integers(-100, 100), unique=True, min_size=1), st.integers(-120, 120), st.integers(-120, 120)
)
def test_rows_between_instants(times, start, stop):
    times = sorted(times)
    recording = Recording.from_columns(times, {"load_power": times})
    assert recording.between(start, stop).time.tolist() == [time for time in times if start <= time < stop]
    before = [place for place, time in enumerate(times) if time <= start]
    assert recording.row_at(start) == (before[-1] if before else 0)


def test_appending_to_a_slice_leaves_its_origin_alone():
    recording = Recording()
    recording.append(np.arange(10), {"load_power": np.arange(10)})
    part = recording.rows(2, 5)
    part.append([100], {"load_power": [7]})
    recording.append([50], {"load_power": [8]})
    assert part.column("load_power").tolist() == [2, 3, 4, 7]
    assert recording.column("load_power").tolist() == [*range(10), 8]


def test_a_slice_stays_as_it_was_while_its_origin_grows():
    recording = Recording(["load_power"])
    recording.append([1, 2], {"load_power": [1, 2]})
    part = recording.rows(0, 2)
    for instant in range(3, 2000):
        recording.append([instant], {"load_power": [instant]})
    assert part.time.tolist() == [1, 2]
    assert recording.column("load_power")[-1] == 1999


def test_memory_stays_below_twice_the_raw_columns():
    recording = Recording()
    held, raw = [], []
    for start in range(0, 60_000, 37):
        recording.append(
            np.arange(start, start + 37), {"load_power": np.zeros(37), "grid_power": np.zeros(37)}
        )
        views = [recording.time, recording.column("load_power"), recording.column("grid_power")]
        held.append(sum(owner(view).nbytes for view in views))
        raw.append(sum(view.nbytes for view in views))
    assert all(have <= 2 * need for have, need in zip(held, raw, strict=True) if need > 10_000)


def owner(view: np.ndarray) -> np.ndarray:
    while isinstance(view.base, np.ndarray):
        view = view.base
    return view


@pytest.mark.parametrize(
    ("time", "columns", "told"),
    [
        ([5], {"load_power": [1]}, "times don't rise"),
        ([9, 9], {"load_power": [1, 2]}, "times don't rise"),
        ([9, 8], {"load_power": [1, 2]}, "times don't rise"),
        ([9.5], {"load_power": [1]}, "whole UTC nanoseconds"),
        ([9], {"load_power": [1, 2]}, "another length"),
        ([9], {"nonsense": [1]}, "unknown channel"),
    ],
)
def test_rows_that_do_not_fit_are_refused_whole(time, columns, told):
    recording = Recording()
    recording.append([1, 5], {"load_power": [1, 2]})
    with pytest.raises(RecordingError, match=told):
        recording.append(time, columns)
    assert recording.time.tolist() == [1, 5]
    assert recording.channels == ("load_power",)


def test_views_are_read_only():
    recording = Recording.from_columns([1, 2], {"load_power": [1, 2]})
    with pytest.raises(ValueError, match="read-only"):
        recording.column("load_power")[0] = 7
    with pytest.raises(ValueError, match="read-only"):
        recording.time[0] = 7


def test_a_channel_that_is_not_there():
    recording = Recording(["load_power"])
    assert "load_power" in recording
    assert "grid_power" not in recording
    assert recording.row_at(5) == -1
    with pytest.raises(RecordingError, match="no channel grid_power"):
        recording.column("grid_power")
    with pytest.raises(RecordingError, match="unknown channel"):
        Recording(["nonsense"])
