"""Doubts and verdicts, held against what statistics say of them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from desktop.comparison.estimate import Estimate, change, highest_sd, parts, ratio_sd, verdict
from desktop.comparison.shown import change_phrase, value_phrase

NUMBERS = st.floats(-1e6, 1e6)
SDS = st.floats(0, 1e6) | st.just(math.nan)
ESTIMATES = st.builds(Estimate, NUMBERS | st.just(math.nan), SDS, SDS)


@given(st.lists(st.floats(-1e3, 1e3), min_size=4, max_size=30))
def test_the_jackknife_of_a_mean_is_its_standard_error(values):
    array = np.array(values)
    expected = array.std(ddof=1) / math.sqrt(len(array))
    assert ratio_sd(array, np.ones(len(array))) == pytest.approx(expected, rel=1e-6, abs=1e-9)


def test_the_jackknife_of_a_ratio_finds_how_it_varies_from_run_to_run():
    draw = np.random.default_rng(5)
    below = draw.gamma(20, 1, (400, 12))
    above = below * draw.normal(0.6, 0.1, (400, 12))
    ratios = above.sum(axis=1) / below.sum(axis=1)
    found = [ratio_sd(*each) for each in zip(above, below, strict=True)]
    assert np.mean(found) == pytest.approx(ratios.std(ddof=1), rel=0.1)


def test_what_moves_more_from_run_to_run_than_within_one_is_added():
    draw = np.random.default_rng(11)
    between, within, own = 0.5, 0.2, 0.1
    found, means = [], []
    for _ in range(400):
        load = draw.normal(2, between) + draw.normal(0, within, 12)
        power = 5 - load + draw.normal(0, own, 12)
        means.append(power.mean())
        found.append(ratio_sd(power, np.ones(12), load, between))
    assert np.mean(found) == pytest.approx(np.std(means), rel=0.15)
    unmoved = [ratio_sd(draw.normal(5, 1, 12), np.ones(12), draw.normal(2, 1, 12), 1.0) for _ in range(400)]
    assert 1 / math.sqrt(12) <= np.mean(unmoved) < 1.4 / math.sqrt(12)


def test_the_doubt_of_the_highest_is_that_of_an_exponential_tail():
    draw = np.random.default_rng(7)
    peaks = draw.exponential(3.0, (2000, 60))
    found = [highest_sd(each) for each in peaks]
    assert np.mean(found) == pytest.approx(peaks.max(axis=1).std(), rel=0.1)


def test_too_few_parts_or_peaks_tell_nothing():
    assert math.isnan(ratio_sd(np.ones(3), np.ones(3)))
    assert math.isnan(ratio_sd(np.ones(4), np.array([1.0, 0, 0, 0])))
    assert math.isnan(highest_sd(np.ones(9)))


@given(st.integers(4, 200), st.integers(1, 12), st.integers(0, 99))
def test_parts_hold_everything_once(minutes, most, seed):
    draw = np.random.default_rng(seed)
    table, weights = draw.normal(size=(2, minutes)), draw.uniform(1, 60, minutes)
    found = parts(table, weights, most)
    assert 1 <= found.shape[1] <= most
    np.testing.assert_allclose(found.sum(axis=1), table.sum(axis=1), atol=1e-9)


@given(ESTIMATES, ESTIMATES, st.booleans())
def test_swapping_the_sides_turns_the_sign_and_nothing_else(a, b, same):
    there, back = change(a, b, same_meters=same), change(b, a, same_meters=same)
    for one, other in ((there.value, -back.value), (there.chance, back.chance), (there.meters, back.meters)):
        assert one == other or (math.isnan(one) and math.isnan(other))
    turned = {"more": "less", "less": "more"}
    assert verdict(back) == turned.get(verdict(there), verdict(there))


@pytest.mark.parametrize(
    ("value", "sd", "expected"),
    [
        (2.1, 1.0, "more"),
        (-2.1, 1.0, "less"),
        (1.9, 1.0, "within chance"),
        (0.0, 1.0, "within chance"),
        (0.0, 0.0, "same"),
        (0.5, 0.0, "more"),
        (5.0, math.nan, "too little"),
        (math.nan, 1.0, "not known"),
        (math.nan, math.nan, "not known"),
    ],
)
def test_more_than_two_standard_deviations_are_more_than_chance(value, sd, expected):
    assert verdict(Estimate(value, sd)) == expected


def test_what_is_wrong_with_the_same_meters_goes_out_in_the_difference_but_for_what_wanders():
    a, b = Estimate(100, 0, 3), Estimate(110, 0, 4)
    assert change(a, b, same_meters=False).sd == 5
    assert change(a, b, same_meters=True).sd == pytest.approx(math.hypot(1, 1))


@pytest.mark.parametrize(
    ("found", "unit", "value", "difference"),
    [
        (Estimate(4.7163, 0.021), "kWh/h", "4.716 ± 0.021 kWh/h", "+4.716 ± 0.021 kWh/h"),
        (Estimate(0.1432, 0.031), "share", "14 ± 3 %", "+14 ± 3 points"),
        (Estimate(-0.0004, 0.5), "A", "0.0 ± 0.5 A", "0.0 ± 0.5 A"),
        (Estimate(30.0), "A", "30.0 A", "+30.0 A"),
        (Estimate(0.0), "A", "0.0 A", "0.0 A"),
        (Estimate(1310.0, 31.0), "s", "21.8 ± 0.5 min", "+21.8 ± 0.5 min"),
        (Estimate(-3.0, 12.0), "L", "−3 ± 12 L", "−3 ± 12 L"),
        (Estimate(5.0, math.nan), "L", "5.00 L, give or take an unknown amount", None),
        (Estimate(math.nan, 1.0), "A", "not known", "not known"),
    ],
)
def test_numbers_are_shown_as_their_doubt_supports(found, unit, value, difference):
    assert str(value_phrase(found, unit)) == value
    if difference is not None:
        assert str(change_phrase(found, unit)) == difference
