"""Lowest and highest of any run of rows, against the rows themselves."""

import warnings
from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.picture.levels import FACTOR, Levels

SEEDS = st.integers(0, 2**32 - 1)


def series(seed: int, rows: int) -> np.ndarray:
    random = np.random.default_rng(seed)
    values = (random.normal(size=rows) * 10.0 ** random.integers(-2, 5)).astype(np.float32)
    values[random.random(rows) < random.random() ** 3] = np.nan
    hole = random.integers(0, rows + 1, 2)
    values[hole.min() : hole.max()] = np.where(random.random() < 0.5, np.nan, values[hole.min() : hole.max()])
    return values


def from_rows(values: np.ndarray, edges: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    parts = [values[a:b] if b > a else values[:0] for a, b in pairwise(edges)]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        low = [np.nanmin(part) if len(part) else np.nan for part in parts]
        high = [np.nanmax(part) if len(part) else np.nan for part in parts]
    return np.array(low, np.float32), np.array(high, np.float32)


@settings(deadline=None, max_examples=150)
@given(SEEDS, st.sampled_from([1, 15, 16, 17, 255, 256, 300, 5000, 70_000]), st.integers(1, 60))
def test_every_run_has_the_extremes_of_its_rows(seed: int, rows: int, runs: int) -> None:
    random = np.random.default_rng(seed + 1)
    values = series(seed, rows)
    levels = Levels()
    levels.extend(values)
    edges = np.sort(random.integers(0, rows + 1, runs + 1))
    low, high = levels.extremes(values, edges)
    expected_low, expected_high = from_rows(values, edges)
    np.testing.assert_array_equal(low, expected_low)
    np.testing.assert_array_equal(high, expected_high)


@settings(deadline=None, max_examples=60)
@given(SEEDS, st.lists(st.integers(0, 6000), max_size=8))
def test_growing_in_any_steps_gives_what_one_step_gives(seed: int, cuts: list[int]) -> None:
    values = series(seed, 6000)
    grown, whole = Levels(), Levels()
    for cut in sorted(cuts):
        grown.extend(values[:cut])
    grown.extend(values)
    whole.extend(values)
    edges = np.linspace(0, 6000, 37).astype(np.int64)
    for one, other in zip(grown.extremes(values, edges), whole.extremes(values, edges), strict=True):
        np.testing.assert_array_equal(one, other)


def test_one_missing_reading_hides_none_of_its_neighbours() -> None:
    values = np.full(FACTOR * FACTOR, 5.0, np.float32)
    values[7], values[8] = np.nan, 900.0
    levels = Levels()
    levels.extend(values)
    assert levels.range(values) == (5.0, 900.0)


def test_a_series_without_any_reading_has_no_range() -> None:
    values = np.full(1000, np.nan, np.float32)
    levels = Levels()
    levels.extend(values)
    assert np.isnan(levels.range(values)).all()


def test_memory_stays_below_fifteen_percent_also_when_grown_bit_by_bit() -> None:
    values = np.zeros(300_000, np.float32)
    levels = Levels()
    for stop in range(1000, len(values) + 1, 1000):
        levels.extend(values[:stop])
    assert len(levels) == len(values)
    assert levels.nbytes <= 0.15 * values.nbytes


def test_a_series_that_became_shorter_is_taken_in_anew() -> None:
    levels = Levels()
    levels.extend(np.full(5000, 9.0, np.float32))
    shorter = np.arange(3000, dtype=np.float32)
    levels.extend(shorter)
    assert levels.range(shorter) == (0.0, 2999.0)
