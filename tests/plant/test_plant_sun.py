"""The simulated sun, sky and clouds."""

import random
from datetime import UTC, datetime, time
from itertools import pairwise

import pytest

from drivers.plant.clock import Clock
from drivers.plant.clouds import Clouds
from drivers.plant.scenario_parts import Solar as Numbers
from drivers.plant.solar import Solar
from drivers.plant.sun import clear_sky, sun_position


def days(*at):
    return (datetime(*at, tzinfo=UTC) - datetime(2000, 1, 1, 12, tzinfo=UTC)).total_seconds() / 86400.0


def test_the_sun_stands_where_the_almanac_says():
    # pvlib 0.16.1, 40° N 105° W, 2024-06-21 12:00 UTC-7: apparent zenith 16.566596°, azimuth 178.403541°.
    zenith, azimuth = sun_position(days(2024, 6, 21, 19), 40.0, -105.0)
    assert zenith == pytest.approx(16.5666, abs=0.03)
    assert azimuth == pytest.approx(178.4035, abs=0.1)


def test_a_clear_summer_noon_gives_what_a_clear_sky_model_gives():
    # pvlib 0.16.1, Ineichen with Linke turbidity 3 at the same place and time: 1070 W/m² on the level.
    zenith, azimuth = sun_position(days(2024, 6, 21, 19), 40.0, -105.0)
    assert clear_sky(zenith, azimuth, 0.0, 180.0) == pytest.approx(1070.0, rel=0.12)


def test_night_gives_exactly_nothing():
    assert clear_sky(*sun_position(days(2024, 6, 21, 7), 40.0, -105.0), 30.0, 180.0) == 0.0


def array(**changed):
    clock = Clock(datetime(2025, 6, 21, 0, 0), "Europe/Berlin")
    numbers = Numbers(rated_w=4000.0, **changed)
    return Solar(numbers, clock, 52.0, 13.0, random.Random(4))


def test_a_clear_day_rises_and_falls_once():
    solar = array(tilt=20.0)
    read = [solar.shine(float(now), 60.0) for now in range(60, 86400, 60)]
    top = read.index(max(read))
    assert 0.6 * 4000 < max(read) <= 4000
    assert all(a <= b + 1e-9 for a, b in pairwise(read[: top + 1]))
    assert all(a >= b - 1e-9 for a, b in pairwise(read[top:]))
    assert read[0] == read[-1] == 0.0


def test_an_overcast_sky_lets_little_through():
    clouds = Clouds(Numbers(rated_w=1000.0, cover=1.0, passing_s=300.0, through=(0.1, 0.3)), random.Random(2))
    read = [clouds.pass_by(float(now), 1.0) for now in range(1, 20_000)]
    assert min(read) >= 0.1
    assert max(read) <= 0.3


def test_cover_is_the_share_of_time_behind_clouds():
    clouds = Clouds(Numbers(rated_w=1000.0, cover=0.4, passing_s=200.0, through=(0.2, 0.2)), random.Random(3))
    read = [clouds.pass_by(float(now), 1.0) for now in range(1, 400_000)]
    assert sum(value < 0.6 for value in read) / len(read) == pytest.approx(0.4, abs=0.05)


def test_local_times_follow_the_clock_through_a_change_of_daylight_saving():
    clock = Clock(datetime(2025, 3, 29, 12, 0), "Europe/Berlin")
    assert clock.seconds(time(12, 0), day=2) == 23 * 3600.0
    assert clock.next(time(12, 0), after=10.0) == 23 * 3600.0
    assert clock.local(23 * 3600.0).hour == 12
    assert clock.start_ns == int(datetime(2025, 3, 29, 11, tzinfo=UTC).timestamp()) * 10**9
