"""What comes again, and what it looks like."""

import numpy as np
import pytest
from cause_help import every_second, load_of

from desktop.diagnosis.causes.habits import habits, paired
from desktop.diagnosis.causes.steps import find_steps


def habits_of(pieces, interval_s=1.0):
    load = load_of(pieces)
    return habits(paired(find_steps(every_second(len(load), interval_s), load, 60)), interval_s)


def cycles(count, off, on, watts, *, peak=1.0, spread=0.0, seed=1):
    chance, pieces = np.random.default_rng(seed), []
    for _ in range(count):
        rest = round(off * (1 + chance.uniform(-spread, spread)))
        pieces += [(rest, 250), (1, 250 + watts * peak), (on - 1, 250 + watts)]
    return [*pieces, (30, 250)]


def test_a_pump_comes_every_22_minutes():
    (pump,) = habits_of(cycles(6, 1280, 40, 1200, peak=3))
    assert (pump.looks, pump.regular, len(pump.runs)) == ("pump", True, 6)
    assert pump.every_s == pytest.approx(22 * 60, abs=1)
    assert pump.lasts_s == pytest.approx(40, abs=1)
    assert pump.watts == pytest.approx(1200, abs=15)


@pytest.mark.parametrize(
    ("pieces", "looks"),
    [
        (cycles(8, 1100, 600, 110, peak=4, spread=0.1), "compressor"),
        (cycles(6, 2500, 180, 2100, spread=0.95), "kettle"),
        (cycles(9, 80, 70, 2300, spread=0.1), "heating"),
        (cycles(5, 900, 800, 1400, peak=2.5, spread=0.1), "motor"),
        (cycles(5, 900, 20, 120, spread=0.9), ""),
    ],
)
def test_what_each_looks_like(pieces, looks):
    (habit,) = habits_of(pieces)
    assert habit.looks == looks


def test_runs_that_overlap_are_paired_by_their_power():
    load = load_of([(100, 300), (60, 2300), (60, 3500), (60, 1500), (100, 300)])
    runs = paired(find_steps(every_second(len(load)), load, 60))
    assert [(round(run.watts, -2), round(run.lasted_s)) for run in runs] == [(2000, 120), (1200, 120)]


def test_twice_is_no_habit():
    assert habits_of(cycles(2, 600, 40, 1200)) == []
