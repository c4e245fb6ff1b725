"""Readings that come late where nothing steps: all that tells is how everything wanders."""

import tomllib

import numpy as np
import pytest
from suspect_help import named, suspects

from desktop.diagnosis.suspects.course import MOST_STRETCHES, Course
from desktop.diagnosis.suspects.wander import products
from desktop.site import Site
from recordings.recording import Recording

SECOND = 10**9
ROWS = 2400

SHEET = """
[battery]
nominal_v = 51.2

[inverter]
rated_w = 5000
"""


def wandering(chance, watts, spread):
    """A load that wanders by itself, a few seconds at a time."""
    wander = np.zeros(ROWS + 100)
    for row in range(1, len(wander)):
        wander[row] = 0.95 * wander[row - 1] + chance.normal(0, 0.31 * spread)
    return watts + wander


def plant(late=0, skew=0, reads=lambda power: power):
    """Rows of two seconds of an inverter at night: a steady AC load, a small DC load that only wanders, and the
    battery that feeds both. The DC load's meter is so many rows late, or reads wrong.
    """
    chance = np.random.default_rng(3)
    house, small = wandering(chance, 400.0, 15.0), wandering(chance, 120.0, 10.0)
    now = slice(100, None)
    inverted = house / 0.94 + 30.0
    told = {
        "load_power": house[now],
        "converter_ac_power": -house[now],
        "battery_power": -(inverted + small)[now],
        "dc_load_power": reads(small[100 - late - skew : ROWS + 100 - late - skew]),
    }
    noise = {name: chance.normal(0, 6, ROWS) for name in told}
    time = np.arange(ROWS, dtype=np.int64) * 2 * SECOND
    columns = {name: np.round(values + noise[name]) for name, values in told.items()}
    return Recording.from_columns(time, columns)


def sheet():
    return Site.of(tomllib.loads(SHEET))


@pytest.mark.parametrize("late", [10, 45])
def test_a_load_that_never_steps(late):
    (found,) = suspects(plant(late), sheet())
    assert (found.channel, found.fault, found.clear) == ("dc_load_power", "lag", True)
    assert found.parameter == pytest.approx(2 * late, abs=4)


@pytest.mark.parametrize("skew", [0, 1, 2])
def test_healthy_meters_that_are_read_a_little_apart(skew):
    assert suspects(plant(skew=skew), sheet()) == ()


@pytest.mark.parametrize("reads", [lambda power: -power, lambda power: 0.5 * power, lambda power: 2 * power])
def test_a_wrong_gain_is_no_lag(reads):
    assert ("dc_load_power", "lag") not in named(suspects(plant(reads=reads), sheet()))


def test_the_course_of_long_recordings_is_thinned():
    course, at_once = Course(1, 10.0), Course(1, 10.0)
    time = np.arange(60_000, dtype=np.int64) * 10 * SECOND
    values = np.sin(np.arange(60_000) / 9)[None]
    at_once.extend(time, values)
    for start in range(0, 60_000, 7_001):
        course.extend(time[start : start + 7_001], values[:, start : start + 7_001])
    (when, told, width), (times, other, _) = course.table(), at_once.table()
    assert width == 10 * SECOND
    np.testing.assert_array_equal(when, times)
    np.testing.assert_array_equal(told, other)
    assert MOST_STRETCHES / 2 * 150 < len(when) <= MOST_STRETCHES * 180
    assert np.ptp(np.diff(when)) > 0


def test_products_in_parts_are_those_of_the_whole():
    chance = np.random.default_rng(1)
    one, other = chance.normal(0, 1, (9, 7000)), chance.normal(0, 1, (20, 7000))
    assert products(one, other) == pytest.approx(one @ other.T)
