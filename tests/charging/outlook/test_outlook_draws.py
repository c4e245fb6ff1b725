"""What is drawn from recorded days, and how unsure it makes the outlook."""

import numpy as np
import pytest
from outlook_plants import days, varied_days

from desktop.charging.outlook.draw import block_days, draw, in_season, unseen_sd


def test_the_same_seed_draws_the_same():
    when = varied_days(count=9)
    one, same = (draw(when, runs=20, horizon=30, first_date=20_009, seed=4, fuel_sd=0.1) for _ in range(2))
    other = draw(when, runs=20, horizon=30, first_date=20_009, seed=5, fuel_sd=0.1)
    assert np.array_equal(one.day, same.day)
    assert np.array_equal(one.fuel_factor, same.fuel_factor)
    assert not np.array_equal(one.day, other.day)


def test_blocks_are_runs_of_consecutive_days_of_the_usual_length():
    when = days(100.0, count=27)
    drawn = draw(when, runs=2000, horizon=2, first_date=20_027, seed=1).day
    follows = np.mean(drawn[1] == drawn[0] + 1)
    # A block of a mean length of 3 goes on with 2/3, where there is a next day; a fresh draw may hit it too.
    assert block_days(27) == pytest.approx(3.0)
    assert follows == pytest.approx(2 / 3 * 26 / 27 + 1 / 3 / 27, abs=0.04)


def test_days_that_are_not_consecutive_are_never_joined():
    when = days(100.0, count=6, date=[10, 11, 14, 20, 21, 22])
    drawn = draw(when, runs=3000, horizon=2, first_date=23, seed=1).day
    after_gap = drawn[1][drawn[0] == 1]
    assert np.mean(after_gap == 2) < 0.3


def test_days_without_order_are_drawn_one_by_one():
    when = days(100.0, count=8, in_order=False)
    drawn = draw(when, runs=4000, horizon=2, first_date=20_008, seed=1).day
    assert np.mean(drawn[1] == drawn[0] + 1) < 0.25


def test_a_long_recording_gives_days_of_the_season_and_a_short_one_all_it_has():
    year = np.arange(20_000, 20_365)
    near = in_season(year, 20_365 + 10)
    assert near.sum() == pytest.approx(61, abs=2)
    assert near[10]
    assert near[350]
    assert not near[180]
    assert in_season(np.arange(20_000, 20_014), 20_150).all()


def test_few_days_leave_an_outlook_more_unsure_than_many():
    chance = np.random.default_rng(2)

    def spread(count):
        when = days((1 + 0.2 * chance.standard_normal((count, 1))) * 500, count=count)
        drawn = draw(when, runs=1500, horizon=60, first_date=20_000 + count, seed=1)
        mean = when.demand_wh[drawn.day].mean(axis=0) * drawn.load_factor
        return float(np.std(mean) / np.mean(mean))

    one, three, fourteen, sixty = (spread(count) for count in (1, 3, 14, 60))
    assert one > 1.4 * three > 1.4 * fourteen > sixty
    # What the mean of 14 days of ± 20 % can be off, and what a course of 60 days adds.
    assert fourteen == pytest.approx(0.2 / np.sqrt(14) + 0.02, abs=0.035)


def test_what_is_added_for_unseen_days_shrinks_with_their_number():
    daily = np.array([5000.0, 6000.0, 7000.0])
    assert unseen_sd(daily[:1], 1, 0.3) == pytest.approx(0.3)
    assert 0.05 < unseen_sd(daily, 3, 0.3) < 0.3
    assert unseen_sd(np.tile(daily, 40), 120, 0.3) < 0.01
    assert unseen_sd(np.zeros(5), 5, 0.3) == 0
