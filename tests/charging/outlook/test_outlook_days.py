"""Days out of a recording: whole ones, filled ones, clocks that change, sun that was held back; and typed ones."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from outlook_plants import HOURS

from desktop.charging.outlook.curtailed import uncurtailed
from desktop.charging.outlook.recorded import recorded_days
from desktop.charging.outlook.rule import SLOTS, Hours
from desktop.charging.outlook.typed import SUN_DAYS, day_of, typed_days, with_appliances, with_sun
from desktop.site import Appliance
from recordings.errors import UsageError

MINUTE = 60_000_000_000


class Book:
    """A minute book whose streams and channels are functions of UTC."""

    def __init__(self, start, hours, every=1, keep=lambda moment: True, **series):
        moments = [start + timedelta(minutes=m) for m in range(0, round(hours * 60), every)]
        moments = [one for one in moments if keep(one)]
        self.time = np.array([round(one.timestamp()) * 1_000_000_000 for one in moments], np.int64)
        self._series = {name: np.array([f(one) for one in moments], float) for name, f in series.items()}

    def stream(self, name):
        return self._series.get(name, np.zeros(len(self.time)))

    def channel(self, name):
        return self._series.get(name, np.full(len(self.time), np.nan))


def by_hour(moment):
    return 100.0 + 10 * moment.hour


def test_whole_days_are_cut_at_local_midnight():
    zone = ZoneInfo("Europe/Helsinki")
    start = datetime(2025, 3, 3, 22, 0, tzinfo=UTC)
    found = recorded_days(Book(start, 72, load=lambda m: by_hour(m.astimezone(zone))), zone, 180.0)
    assert len(found.days) == 3
    assert found.days.weight == pytest.approx([1, 1, 1])
    assert found.days.date[0] == (datetime(2025, 3, 4) - datetime(1970, 1, 1)).days
    assert found.days.load[1] == pytest.approx(100 + 10 * np.floor(HOURS))


def test_a_day_half_of_which_was_recorded_is_completed_from_its_neighbour():
    start = datetime(2025, 3, 3, 12, 0, tzinfo=UTC)

    def load(moment):
        return 1000.0 * moment.day + moment.hour

    found = recorded_days(Book(start, 36, load=load), UTC, 180.0)
    assert found.days.weight == pytest.approx([0.5, 1.0])
    assert found.days.load[0, :144] == pytest.approx(4000 + np.floor(HOURS[:144]))
    assert found.days.load[0, 144:] == pytest.approx(3000 + np.floor(HOURS[144:]))


def test_pieces_of_two_days_make_one_day():
    start = datetime(2025, 3, 3, 14, 0, tzinfo=UTC)
    found = recorded_days(Book(start, 23, load=by_hour), UTC, 180.0)
    assert len(found.days) == 1
    assert found.days.weight[0] == pytest.approx(13 / 24)
    # Nobody knows the hour after 13:00: a straight line lies over it.
    assert found.days.load[0] == pytest.approx(100 + 10 * np.floor(HOURS), abs=11)


def test_too_short_a_recording_is_refused_in_one_line():
    start = datetime(2025, 3, 3, 14, 0, tzinfo=UTC)
    with pytest.raises(UsageError, match=r"doesn't cover a whole day.*found \"6.0 of 24 hours\""):
        recorded_days(Book(start, 6, load=by_hour), UTC, 180.0)
    with pytest.raises(UsageError, match="doesn't tell the house load"):
        recorded_days(Book(start, 30, load=lambda m: np.nan), UTC, 180.0)


@pytest.mark.parametrize("day", [datetime(2025, 3, 30), datetime(2025, 10, 26)])
def test_days_of_23_and_25_hours_are_days_by_the_clock(day):
    zone = ZoneInfo("Europe/Berlin")
    start = (day - timedelta(days=1)).replace(tzinfo=zone)
    book = Book(start.astimezone(UTC), 72, load=lambda m: by_hour(m.astimezone(zone)))
    found = recorded_days(book, zone, 180.0)
    assert found.days.load[1] == pytest.approx(100 + 10 * np.floor(HOURS))
    assert found.days.weight[1] == pytest.approx(23 / 24 if day.month == 3 else 1.0)


def test_a_log_of_every_quarter_hour_is_joined_by_straight_lines_and_gaps_are_not():
    start = datetime(2025, 3, 3, tzinfo=UTC)
    whole = recorded_days(Book(start, 48, every=15, load=by_hour), UTC, 2700.0)
    assert whole.days.weight == pytest.approx([1, 1], abs=0.02)
    before = HOURS < 23.75
    assert whole.days.load[0, before] == pytest.approx(100 + 10 * np.floor(HOURS[before]), abs=10)

    def watched(moment):
        return not (moment.day == 3 and 10 <= moment.hour < 14)

    holey = recorded_days(Book(start, 48, keep=watched, load=lambda m: float(m.day)), UTC, 180.0)
    assert holey.days.weight == pytest.approx([20 / 24, 1])
    assert (holey.days.load[0, 120:168] == 4.0).all()


def sunny(bright):
    return np.clip(np.sin((HOURS - 6) / 12 * np.pi), 0, None) * 3000 * bright


def test_sun_that_was_held_back_is_estimated_from_the_rest_of_its_day():
    true = np.stack([sunny(1.0), sunny(0.6), sunny(0.8)])
    held = np.zeros((3, SLOTS), bool)
    held[1, 156:180] = held[2, 144:168] = True
    read = np.where(held, 0.3 * true, true)
    found = uncurtailed(read, np.zeros_like(read), held, np.arange(3), told=True)
    assert found.sun_dc == pytest.approx(true, rel=1e-9)
    assert (found.held_h, found.estimated_h) == (pytest.approx(4.0), pytest.approx(4.0))


def test_sun_that_was_always_held_back_stands_as_the_least_that_it_was():
    read = np.stack([sunny(0.5), sunny(0.5)])
    held = np.zeros((2, SLOTS), bool)
    held[:, 144:156] = True
    read[:, 144:156] *= 0.2
    found = uncurtailed(read, np.zeros_like(read), held, np.arange(2), told=True)
    assert found.sun_dc == pytest.approx(read)
    assert found.held_h == pytest.approx(2.0)
    assert found.estimated_h == 0


def test_a_full_battery_that_gives_holds_no_sun_back():
    start = datetime(2025, 6, 3, tzinfo=UTC)
    sun = {"load": lambda m: 500.0, "solar": lambda m: 800.0 if 8 <= m.hour < 16 else 0.0}
    full = {"battery_soc": lambda m: 100.0 if 12 <= m.hour < 14 else 70.0}
    resting = recorded_days(Book(start, 48, **sun, **full, battery=lambda m: 0.0), UTC, 180.0)
    giving = recorded_days(Book(start, 48, **sun, **full, battery=lambda m: -400.0), UTC, 180.0)
    blind = recorded_days(Book(start, 48, **sun), UTC, 180.0)
    assert resting.curtailed.held_h == pytest.approx(4.0)
    assert giving.curtailed.held_h == 0
    assert giving.curtailed.told
    assert not blind.curtailed.told


def test_appliances_are_spread_over_their_hours():
    fridge = Appliance(name="fridge", watts=90, hours_per_day=8)
    lights = Appliance(name="lights", watts=10, count=6, hours_per_day=5, since=18, until=1)
    day = day_of([fridge, lights])
    assert day.sum() / 12 == pytest.approx(90 * 8 + 60 * 5)
    assert day[120] == pytest.approx(30)
    assert day[6] == day[240] == pytest.approx(30 + 60 * 5 / 7)
    with pytest.raises(
        UsageError, match="lights can't run for 9 hours; expected at most the 7 hours from 18 to 1"
    ):
        day_of([lights.model_copy(update={"hours_per_day": 9.0})])


def test_typed_sun_has_dull_and_bright_days_about_the_mean():
    lamp = Appliance(name="lamp", watts=20)
    days = typed_days([lamp], 6000.0, 0.0)
    assert len(days) == SUN_DAYS
    assert days.sun_wh.mean() == pytest.approx(6000)
    assert days.sun_wh.std() / 6000 == pytest.approx(0.55, abs=0.06)
    assert days.demand_wh == pytest.approx(480)


def test_typed_sun_and_typed_load_take_the_place_of_recorded_ones():
    start = datetime(2025, 3, 3, tzinfo=UTC)
    book = Book(start, 48, load=by_hour, dc_load=lambda m: 50.0, solar=lambda m: 100.0)
    days = recorded_days(book, UTC, 180.0).days
    lit = with_sun(days, 0.0, 5000.0)
    assert lit.sun_wh.mean() == pytest.approx(5000)
    assert lit.sun_dc.sum() == 0
    assert lit.demand_wh.mean() == pytest.approx(days.demand_wh.mean())
    assert lit.weight.sum() == pytest.approx(days.weight.sum())
    typed = with_appliances(days, [Appliance(name="lamp", watts=20)])
    assert typed.demand_wh == pytest.approx([480, 480])
    assert typed.sun_wh == pytest.approx(days.sun_wh)


def test_hours_across_midnight():
    assert Hours(22, 7).length == 9
    assert Hours(22, 7).within().sum() == 9 * 12
    assert Hours(22, 7).within()[[0, 83, 84, 263, 264]].tolist() == [True, True, False, False, True]
