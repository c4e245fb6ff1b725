"""The advised input limit: how steps overshoot, what trips a set, and which setting is named."""

from __future__ import annotations

import math
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import gamma

from desktop.charging.advice.advice import Shown, advise
from desktop.charging.advice.charger import BackOff, taken
from desktop.charging.advice.endurance import Endurance, heat, learned_endurance, sustained
from desktop.charging.advice.evidence import measured_back_off, unevenness
from desktop.charging.advice.house import House
from desktop.charging.advice.settings import most_likely_at_most
from desktop.flow.conversion import Conversion
from desktop.site import Site
from recordings.recording import Recording

SECOND = 1_000_000_000
START = 1_767_225_600 * SECOND
SITE = Site.parse("""
[generator]
rated_w = 6900
volts = 230
fuel = "diesel"
fuel_half_load = 1.4
fuel_full_load = 2.3
[charger]
rated_w = 5000
[battery]
nominal_v = 51.2
""")
LEARNED = SimpleNamespace(
    volts=230.0, interval_s=1.0, gap_s=60.0, conversion=Conversion(40.0, 0.06, 10.0, 0.01, "assumed")
)


def time_of(rows: int, step_s: float = 1.0) -> np.ndarray:
    return START + np.round(np.arange(rows) * step_s * SECOND).astype(np.int64)


def kettle_house(rows: int = 14_400, step_w: float = 2000.0) -> np.ndarray:
    """A quiet house with a kettle for two minutes twice an hour."""
    seconds = np.arange(rows)
    return (500 + step_w * ((seconds % 1800) < 120)).astype(np.float32)


# How long a set endures


@pytest.mark.parametrize(("multiple", "seconds"), [(1.5, 64.0), (2.0, 80 / 3), (3.0, 10.0), (5.0, 10 / 3)])
def test_the_curve_is_the_extremely_inverse_one(multiple, seconds):
    """IEC 60255-151, extremely inverse: t = TMS · 80 / (M² − 1); constants quoted from memory."""
    share = np.full(2000, multiple)
    opened = heat(share, 0.1) >= 1.0
    assert opened.argmax() * 0.1 == pytest.approx(seconds, abs=0.2)


def test_overload_is_forgotten_below_the_rating():
    share = np.concatenate([np.full(20, 1.2), np.full(300, 0.5), np.full(20, 1.2)])
    assert heat(share, 1.0).max() == pytest.approx(heat(share[:20], 1.0).max())


@given(st.lists(st.booleans(), max_size=60), st.integers(1, 5))
def test_sustained_means_so_many_in_a_row(over, steps):
    found = sustained(np.array(over, bool), steps)
    expected = [all(over[max(0, i - steps + 1) : i + 1]) and i + 1 >= steps for i in range(len(over))]
    assert found.tolist() == expected


def test_what_was_survived_and_what_tripped_is_learned():
    nothing = np.array([], np.int64)
    assert learned_endurance(np.full(500, 0.9), 1.0, nothing) == Endurance()
    carried = np.concatenate([np.full(100, 0.8), np.full(8, 1.2), np.full(100, 0.7)])
    found = learned_endurance(carried, 1.0, nothing)
    assert not found.assumed
    assert min(each.capability for each in found.levels) > 1.2
    assert sum(each.weight for each in found.levels) == pytest.approx(1.0)
    strong = np.concatenate([np.full(100, 0.8), np.full(8, 1.6), np.full(100, 0.7)])
    (only,) = learned_endurance(strong, 1.0, nothing).levels
    assert only.capability == pytest.approx(1.6)
    tripped = np.concatenate([np.full(100, 0.8), np.full(10, 1.05)])
    found = learned_endurance(tripped, 1.0, np.array([109]))
    assert max(each.multiplier for each in found.levels) == pytest.approx(10 * (1.05**2 - 1) / 80, rel=1e-6)


def test_a_single_reading_far_above_is_an_inrush():
    level = Endurance().middle
    share = np.full(100, 0.8)
    share[50] = 2.0
    assert not level.trips(share, 1.0, heat(share, 1.0)).any()
    share[51] = 2.0
    assert level.trips(share, 1.0, heat(share, 1.0)).any()


@pytest.mark.parametrize("count", [0, 1, 2, 5, 20])
def test_what_may_not_have_been_seen_is_reckoned_with(count):
    """scipy's gamma distribution as reference for the 80 % point."""
    assert most_likely_at_most(count) == pytest.approx(gamma.ppf(0.8, count + 1), rel=0.01)


# How a charger gives way


def test_a_load_step_lies_over_the_limit_for_the_delay():
    load = np.concatenate([np.full(50, 500.0), np.full(50, 2500.0)])
    charger = taken(load, 5000.0, math.inf, BackOff(7.0), 1.0)
    over = load + charger > 5000.0
    assert over.sum() == 7
    assert (load + charger).max() == 7000.0
    assert charger[:50].tolist() == [4500.0] * 50
    assert charger[-1] == 2500.0


@given(st.integers(1, 40), st.integers(0, 2**16))
@settings(max_examples=30, deadline=None)
def test_the_charger_takes_the_most_that_was_left_within_its_delay(delay, seed):
    load = np.random.default_rng(seed).uniform(0, 6000, 200)
    charger = taken(load, 4000.0, 3000.0, BackOff(float(delay)), 1.0)
    left = np.clip(4000.0 - load, 0, 3000)
    for row in (0, 3, 57, 199):
        assert charger[row] == left[max(0, row - delay) : row + 1].max()


def stepping(rows: int, overs: dict[int, int]) -> tuple[np.ndarray, np.ndarray]:
    """Load and generator: at each row of `overs` a step of load lies over the limit of 4600 W for so many rows."""
    load, generator = np.full(rows, 500, np.float32), np.full(rows, 4600, np.float32)
    for first, lasting in overs.items():
        load[first : first + 60] += 1500
        generator[first : first + lasting] += 1500
    return load, generator


def test_the_delay_is_measured_where_a_load_step_came_at_the_limit():
    load, generator = stepping(1200, {100: 12, 300: 12, 500: 11, 700: 13})
    found = measured_back_off(time_of(1200), load, generator, 4600.0)
    assert found.delay_s == pytest.approx(12.7)
    assert not found.assumed


def test_a_charger_that_gives_way_within_a_reading_is_measured_as_quick():
    load, generator = stepping(1200, {100: 0, 300: 0, 500: 0})
    found = measured_back_off(time_of(1200), load, generator, 4600.0)
    assert found == BackOff(0.0, assumed=False)


def test_steps_away_from_the_limit_tell_nothing():
    load, generator = stepping(1200, {100: 0, 300: 0})
    assert measured_back_off(time_of(1200), load, generator * 0.5, 4600.0).assumed


def test_an_overload_that_ended_in_a_trip_tells_nothing_of_the_charger():
    load, generator = stepping(600, {300: 40})
    generator[340:] = 0.0
    trip = int(time_of(600)[339])
    assert measured_back_off(time_of(600), load, generator, 4600.0, (trip,)).assumed


# The house on a grid


def test_what_stands_in_one_coarse_reading_is_an_inrush():
    load = np.full(400, 500, np.float32)
    load[100], load[200:204] = 4000, 3000
    house = House.of(time_of(400, 5.0), load, 5.0, 60.0)
    assert house is not None
    assert house.stretches[0][100] == 500
    assert house.stretches[0][200:204].tolist() == [3000] * 4


def test_stretches_end_at_gaps_and_readings_too_far_apart_tell_nothing():
    time = time_of(2000)
    time[1000:] += 3600 * SECOND
    house = House.of(time, kettle_house(2000), 1.0, 60.0)
    assert house is not None
    assert [len(each) for each in house.stretches] == [1000, 1000]
    assert House.of(time_of(2000, 60.0), kettle_house(2000), 60.0, 180.0) is None


def test_the_highest_of_several_readings_in_a_second_counts():
    load = np.tile(np.array([500, 500, 2500, 500, 500], np.float32), 800)
    house = House.of(time_of(4000, 0.2), load, 0.2, 60.0)
    assert house is not None
    assert len(house.stretches[0]) == pytest.approx(800, abs=1)
    assert np.median(house.stretches[0]) == 2500


def test_unevenness_is_the_busiest_leg_over_the_mean():
    rows = 200
    recording = Recording.from_columns(
        time_of(rows),
        {"generator_current_l1": np.full(rows, 24.0), "generator_current_l2": np.full(rows, 12.0)},
    )
    assert unevenness(recording, 2) == pytest.approx(24 / 18)
    assert unevenness(recording, 1) == 1.0


# The advice


def test_the_limit_leaves_room_for_the_houses_own_steps():
    site = SITE.model_copy(update={"charger": SITE.charger.model_copy(update={"rated_w": 8000.0})})
    found = advise(Shown(time_of(14_400), kettle_house()), LEARNED, site)
    assert found.full_load_a == pytest.approx(30.0)
    assert found.best is not None
    # A step of 2 kW on top of the limit must stay below what all but the weakest sets carry.
    assert found.best.limit_a * 230 + 2000 <= 1.1 * 6900
    assert found.best.limit_a * 230 + 2000 > 1.0 * 6900
    assert found.best.trips == 0
    assert found.settings[-1].trips > 0


def test_a_limit_above_what_the_charger_can_take_gains_nothing_and_is_not_advised():
    found = advise(Shown(time_of(14_400), kettle_house()), LEARNED, SITE)
    assert found.best is not None
    assert found.best.limit_a < found.full_load_a
    assert found.best.hours <= 1.15 * min(each.hours for each in found.settings)


def test_without_load_steps_it_may_lie_near_full_load():
    found = advise(Shown(time_of(14_400), np.full(14_400, 2500, np.float32)), LEARNED, SITE)
    assert found.best is not None
    assert 0.9 * found.full_load_a <= found.best.limit_a <= 0.95 * found.full_load_a


def test_hours_and_fuel_are_for_what_the_battery_needs():
    shown = Shown(time_of(14_400), np.full(14_400, 500, np.float32), need_wh=6000.0)
    found = advise(shown, LEARNED, SITE)
    at_20 = next(each for each in found.settings if each.limit_a == 20.0)
    into = (20 * 230 - 500) * 0.94 - 40
    assert at_20.hours == pytest.approx(6000 / into, rel=1e-9)
    assert at_20.fuel == pytest.approx(at_20.hours * (0.5 + 1.8 / 6.9 * 4.6), rel=1e-9)
    assert not found.per_kwh


def test_usual_practice_stands_beside_it():
    """80 % of a 30 A circuit is 24 A (common practice, no source; local code governs)."""
    found = advise(Shown(time_of(14_400), kettle_house()), LEARNED, SITE)
    assert found.usual_a == pytest.approx((24.0, 27.0))


def test_a_plant_of_which_too_little_is_known_gets_the_reason_instead():
    shown = Shown(time_of(14_400), kettle_house())
    assert "rated_w" in str(advise(shown, LEARNED, Site()).unknown)
    coarse = SimpleNamespace(**{**vars(LEARNED), "interval_s": 60.0, "gap_s": 180.0})
    found = advise(Shown(time_of(14_400, 60.0), kettle_house()), coarse, SITE)
    assert found.best is None
    assert str(found.unknown)
    assert found.full_load_a == pytest.approx(30.0)


@given(st.integers(0, 2**16), st.floats(0, 30))
@settings(max_examples=20, deadline=None)
def test_a_higher_limit_is_never_slower_and_never_trips_less(seed, delay):
    chance = np.random.default_rng(seed)
    load = np.full(7200, 400.0)
    for first in chance.integers(0, 7000, 12):
        load[first : first + chance.integers(5, 400)] += chance.uniform(200, 3000)
    shown = Shown(time_of(7200), load.astype(np.float32), back_off=BackOff(delay))
    found = advise(shown, LEARNED, SITE)
    hours = [each.hours for each in found.settings]
    peaks = [each.peak for each in found.settings]
    assert all(b <= a + 1e-9 for a, b in pairwise(hours))
    assert all(b >= a - 1e-9 for a, b in pairwise(peaks))
    assert all(0 <= each.chance <= 1 for each in found.settings)
    if found.best is not None:
        assert found.best.expected < 1
