"""What a curve shows in each pixel column, against drawing every reading."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.picture.levels import Levels
from desktop.picture.trends.columns import Columns, Spans

S = 1_000_000_000


def spans(columns: Columns, values: np.ndarray) -> Spans:
    levels = Levels()
    levels.extend(values)
    return columns.spans(values, levels)


def drawn_in_full(columns: Columns, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest point of the line through all finite readings in each column, segment by segment."""
    low, high = np.full(columns.count, np.inf), np.full(columns.count, -np.inf)

    def cover(column: int, value: float) -> None:
        if 0 <= column < columns.count:
            low[column], high[column] = min(low[column], value), max(high[column], value)

    some = np.flatnonzero(np.isfinite(values))
    place = (columns.time[some] - columns.start) / columns.width
    for row, at in zip(some, place, strict=True):
        cover(int(np.floor(at)), float(values[row]))
    for one, other in pairwise(range(len(some))):
        a, b = some[one], some[other]
        if columns.time[b] - columns.time[a] > columns.bridge:
            continue
        if any(columns.time[a] < end and start < columns.time[b] for start, end in columns.gaps):
            continue
        for edge in range(int(np.floor(place[one])) + 1, int(np.floor(place[other])) + 1):
            share = (edge - place[one]) / (place[other] - place[one])
            value = float(values[a]) + share * (float(values[b]) - float(values[a]))
            cover(edge - 1, value)
            cover(edge, value)
    return np.where(np.isfinite(low), low, np.nan), np.where(np.isfinite(high), high, np.nan)


@settings(deadline=None, max_examples=80)
@given(
    st.integers(0, 2**32 - 1),
    st.integers(2, 3000),
    st.integers(1, 90),
    st.floats(0.0, 0.95),
    st.floats(0.02, 1.3),
)
def test_thinned_and_full_drawing_cover_the_same(
    seed: int, rows: int, count: int, begin: float, width: float
) -> None:
    random = np.random.default_rng(seed)
    time = 1_770_000_000 * S + np.cumsum(random.integers(S // 10, 4 * S, rows))
    values = np.cumsum(random.normal(size=rows)).astype(np.float32)
    values[random.random(rows) < 0.2] = np.nan
    hole = rows // 2
    gaps = np.empty((0, 2), np.int64)
    if random.random() < 0.5 and hole + 1 < rows:
        time[hole + 1 :] += 30 * S
        gaps = np.array([[time[hole], time[hole + 1]]])
    whole = int(time[-1] - time[0])
    start = int(time[0]) + int(begin * whole)
    columns = Columns(time, start, start + max(1000, int(width * whole)), count, 60 * S, gaps)
    found = spans(columns, values)
    low, high = drawn_in_full(columns, values)
    np.testing.assert_allclose(found.low, low, rtol=1e-5, atol=1e-4)
    np.testing.assert_allclose(found.high, high, rtol=1e-5, atol=1e-4)


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 199_999), st.integers(3, 700), st.floats(0.0, 1.0))
def test_a_single_high_reading_is_seen_at_any_zoom(peak: int, count: int, width: float) -> None:
    time = 1_770_000_000 * S + np.arange(200_000, dtype=np.int64) * S
    values = np.zeros(200_000, np.float32)
    values[peak] = 6400.0
    span = int(10 * S + width * 200_000 * S)
    columns = Columns(time, int(time[peak]) - span // 2, int(time[peak]) + span // 2, count, 60 * S)
    if columns.sparse:
        assert np.max(columns.points(values).value) == 6400.0
    else:
        found = spans(columns, values)
        column = int((time[peak] - columns.start) // columns.width)
        assert found.high[column] == 6400.0
        # The line leads up to it and down again: it may show in the columns beside as well, nowhere else.
        assert np.count_nonzero(found.high > 0) <= 3


def test_a_gap_breaks_the_line_and_a_short_hole_does_not() -> None:
    time = np.arange(1000, dtype=np.int64) * S
    values = np.ones(1000, np.float32)
    values[100:130] = np.nan
    values[500:700] = np.nan
    found = spans(Columns(time, 0, 1000 * S, 100, 60 * S), values)
    assert np.isfinite(found.low[:50]).all()
    assert np.isnan(found.low[50:70]).all()
    assert np.isfinite(found.low[70:]).all()


def test_a_stated_gap_breaks_the_line_however_short() -> None:
    time = np.array([0, 10, 20, 30, 40, 50, 60, 70], np.int64) * S
    gap = np.array([[30 * S, 40 * S]])
    points = Columns(time, 0, 80 * S, 4, 60 * S, gap).points(np.ones(8, np.float32))
    assert points.joined.tolist() == [True, True, True, False, True, True, True, False]


def test_a_meter_that_answers_every_other_row_makes_an_unbroken_line() -> None:
    time = np.arange(10_000, dtype=np.int64) * S
    values = np.where(np.arange(10_000) % 2 == 0, 3.0, np.nan).astype(np.float32)
    found = spans(Columns(time, 0, 10_000 * S, 500, 60 * S), values)
    assert np.isfinite(found.low).all()
    sparse = Columns(time, 0, 100 * S, 500, 60 * S).points(values)
    assert sparse.joined[:-1].all()


@pytest.mark.parametrize("count", [1, 7, 640])
def test_moving_by_whole_columns_shows_the_same_columns(count: int) -> None:
    time = np.arange(50_000, dtype=np.int64) * S
    values = np.random.default_rng(3).normal(size=50_000).astype(np.float32)
    one = Columns(time, 5000 * S, 45_000 * S, count, 60 * S)
    other = Columns(time, one.start + 3 * one.width, one.stop + 3 * one.width, count, 60 * S)
    assert other.start == one.start + 3 * one.width
    if count > 3:
        np.testing.assert_array_equal(spans(one, values).high[3:], spans(other, values).high[:-3])


def test_nothing_recorded_in_a_window_is_nothing_drawn() -> None:
    time = np.arange(100, dtype=np.int64) * S
    columns = Columns(time, 10_000 * S, 20_000 * S, 50, 60 * S)
    assert columns.sparse
    assert np.isnan(spans(columns, np.ones(100, np.float32)).low).all()
