"""Load steps, against an independent search for change points and against hand-made signals."""

import numpy as np
import pytest
import ruptures
from cause_help import SECOND, START, every_second, load_of

from desktop.diagnosis.causes.steps import find_steps


def rows_of(load, step_s=1.0, gap_s=60.0):
    return find_steps(every_second(len(load), step_s), load, gap_s)


def test_the_steps_of_a_signal_are_those_of_an_optimal_search():
    # PELT (Killick, Fearnhead & Eckley 2012) as the library ruptures has it, with a penalty of 3 variances · ln n.
    load = np.concatenate([np.full(60, 500.0), np.full(40, 2300.0), np.full(50, 900.0)])
    load += np.random.default_rng(0).normal(0, 20, 150)
    reference = ruptures.Pelt("l2", min_size=5, jump=1).fit(load).predict(pen=3 * 20**2 * np.log(150))
    assert reference == [60, 100, 150]
    steps = rows_of(load)
    assert [step.row for step in steps] == reference[:-1]
    assert [step.size_w for step in steps] == pytest.approx([1800, -1400], abs=25)


@pytest.mark.parametrize("seed", range(8))
def test_random_signals_agree_with_the_optimal_search(seed):
    chance = np.random.default_rng(seed)
    lengths = chance.integers(12, 60, 8)
    levels = np.cumsum(np.where(np.arange(8) % 2, -1, 1) * chance.uniform(250, 1500, 8)) + 2500
    load = load_of(list(zip(lengths.tolist(), levels.tolist(), strict=True)), seed, noise=15)
    penalty = 3 * 15**2 * np.log(len(load))
    reference = ruptures.Pelt("l2", min_size=5, jump=1).fit(load).predict(pen=penalty)[:-1]
    steps = rows_of(load)
    assert [step.row for step in steps] == reference
    assert all(
        abs(step.size_w - true) < 5 * step.sd_w for step, true in zip(steps, np.diff(levels), strict=True)
    )


def test_noise_alone_makes_no_step_whatever_the_resolution():
    chance = np.random.default_rng(3)
    for noise, quantum in ((3, 1), (12, 10), (30, 1), (8, 50), (0, 100)):
        load = np.round((800 + chance.normal(0, noise, 20_000)) / quantum) * quantum
        assert rows_of(load) == []


def test_the_peak_of_a_starting_motor_is_told_apart_from_its_power():
    load = load_of([(50, 300), (1, 5100), (80, 1500), (50, 300)])
    up, down = rows_of(load)
    assert up.size_w == pytest.approx(1200, abs=15)
    assert up.inrush_w == pytest.approx(3600, abs=40)
    assert (up.row, up.ends) == (50, 51)
    assert (down.size_w, down.inrush_w) == (pytest.approx(-1200, abs=15), 0)


def test_a_peak_that_leaves_nothing_behind_is_no_step():
    assert rows_of(load_of([(50, 300), (1, 2800), (80, 300)])) == []


def test_a_log_of_minutes_shows_each_run_as_two_steps():
    up, down = rows_of(load_of([(30, 300), (3, 2300), (30, 300)]), step_s=60, gap_s=180)
    assert (up.row, down.row) == (30, 33)
    assert up.size_w == pytest.approx(2000, abs=20)


def test_what_changed_within_a_gap_is_no_step():
    load = load_of([(50, 300), (50, 1800)])
    time = every_second(100)
    time[50:] += 600 * SECOND
    assert find_steps(time, load, 60) == []
    assert len(find_steps(every_second(100), load, 60)) == 1


def test_two_that_come_after_each_other_stay_two():
    steps = rows_of(load_of([(50, 300), (16, 1800), (60, 2900)]))
    assert [step.time for step in steps] == [START + 50 * SECOND, START + 66 * SECOND]
    assert [step.size_w for step in steps] == pytest.approx([1500, 1100], abs=15)
