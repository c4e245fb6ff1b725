"""A clear day's course, and where on earth a time zone is."""

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from desktop.charging.forecast.sky import Arrays
from desktop.charging.forecast.zone_place import anywhere, place_of

MINUTE = 60_000_000_000


def flat(latitude: float, longitude: float) -> Arrays:
    one = np.ones(1)
    return Arrays(latitude * one, longitude * one, 0 * one, 180 * one)


def day(year: int, month: int, number: int) -> np.ndarray:
    begin = datetime(year, month, number, tzinfo=UTC).timestamp()
    return int(begin) * 1_000_000_000 + np.arange(24 * 60) * MINUTE


@pytest.mark.parametrize(
    ("latitude", "longitude", "date", "hours"),
    [
        # cos H = −tan φ tan δ, with δ = ±23.44° at the solstices and 0 at the equinoxes.
        (52.0, 11.0, (2025, 6, 21), 2 * 123.72 / 15),
        (52.0, 11.0, (2025, 12, 21), 2 * 56.28 / 15),
        (-42.9, 10.0, (2025, 12, 21), 2 * 113.76 / 15),
        (0.0, 0.0, (2025, 3, 20), 12.0),
    ],
)
def test_how_long_the_sun_is_up(latitude, longitude, date, hours):
    lit = flat(latitude, longitude).clear(day(*date))[:, 0] > 0
    assert lit.sum() / 60 == pytest.approx(hours, abs=0.05)


def test_noon_by_longitude_and_the_equation_of_time():
    # The equation of time is −14.2 min on 11 February and +16.4 min on 3 November (published tables, quoted from
    # memory).
    for date, minutes in (((2025, 2, 11), 14.2), ((2025, 11, 3), -16.4)):
        clear = flat(40.0, 15.0).clear(day(*date))[:, 0]
        noon = np.flatnonzero(clear > 0).mean()
        assert noon == pytest.approx(11 * 60 + minutes, abs=1.0)


def test_an_array_towards_the_east_has_its_best_in_the_morning():
    arrays = Arrays(np.full(2, 50.0), np.zeros(2), np.full(2, 50.0), np.array([90.0, 270.0]))
    east, west = arrays.clear(day(2025, 3, 20)).argmax(axis=0) / 60
    assert 7 < east < 11
    assert 13 < west < 17


def test_a_zone_is_where_its_town_is():
    berlin = place_of(ZoneInfo("Europe/Berlin"))
    assert (berlin.latitude, berlin.longitude) == pytest.approx((52.5, 13.37), abs=0.1)
    hobart = place_of(ZoneInfo("Australia/Hobart"))
    assert hobart.latitude == pytest.approx(-42.9, abs=0.1)


def test_a_zone_without_a_town_is_known_by_its_hour_only():
    place = place_of(timezone(timedelta(hours=-7)))
    assert place.longitude == pytest.approx(-105.0)
    assert place.latitude_sd > 10


def test_without_a_zone_noon_may_be_at_any_hour():
    chance = np.random.default_rng(1)
    clear = Arrays.drawn(anywhere(), 400, chance).clear(day(2025, 3, 20)[::10])
    best = clear.argmax(axis=0) / 6
    shares = np.histogram(best, bins=np.arange(0, 25, 6))[0] / 400
    assert shares.min() > 0.1
    named = Arrays.drawn(place_of(ZoneInfo("Europe/Berlin")), 400, chance).clear(day(2025, 3, 20)[::10])
    assert np.ptp(np.quantile(named.argmax(axis=0) / 6, (0.1, 0.9))) < 6
