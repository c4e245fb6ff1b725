"""The advised input limit: the house's load on a grid, every setting tried on it, and which is named."""

from __future__ import annotations

import math
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.charging.advice.advice import MOST_CHANCE, Shown, advise, cost_h
from desktop.charging.advice.charger import BackOff, Held
from desktop.charging.advice.house import House
from desktop.charging.advice.parts import parts
from desktop.charging.advice.taking import Taking
from desktop.flow.conversion import Conversion
from desktop.site import Site

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


# The house on a grid


def test_what_stands_in_one_coarse_reading_is_an_inrush():
    load = np.full(400, 500, np.float32)
    load[100], load[200:204] = 4000, 3000
    house = House.of(time_of(400, 5.0), load, 5.0, 60.0)
    assert house is not None
    assert house.stretches[0][499:506].tolist() == [500.0, 4000.0, 500.0, 500.0, 500.0, 500.0, 500.0]
    assert house.stretches[0][1000:1020].tolist() == [3000] * 20


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


def test_runs_begin_by_day_where_a_day_was_recorded():
    """From midnight UTC, at 12 h east: recorded from noon, so that the first 8 of 14 h are day."""
    house = House.of(time_of(14 * 3600), kettle_house(14 * 3600), 1.0, 60.0, "Pacific/Fiji")
    assert house is not None
    assert house.begun[0][-1] == 8 * 3600
    night = House.of(time_of(3 * 3600), kettle_house(3 * 3600), 1.0, 60.0, "UTC")
    assert night is not None
    assert night.begun[0][-1] == 3 * 3600


def test_what_a_charger_leaves_below_its_limit_is_added_to_the_advice():
    quiet = np.full(14_400, 2500, np.float32)
    plain = advise(Shown(time_of(14_400), quiet, held=Held(0.0, 0.01, False)), LEARNED, SITE)
    below = advise(Shown(time_of(14_400), quiet, held=Held(0.5, 0.01, False)), LEARNED, SITE)
    assert plain.best is not None
    assert below.best is not None
    assert below.best.limit_a == plain.best.limit_a + 0.5
    assert below.best.hours == pytest.approx(plain.best.hours)
    assert below.highest_a == pytest.approx(0.97 * 30 + 0.5)


@given(st.floats(0.0, 0.06))
@settings(max_examples=15, deadline=None)
def test_the_less_is_known_of_where_the_input_is_held_the_more_stays_free(doubt):
    quiet = np.full(7200, 2500, np.float32)
    found = advise(Shown(time_of(7200), quiet, held=Held(0.0, doubt, False)), LEARNED, SITE)
    assert found.best is not None
    assert found.best.limit_a <= 30.0 * (1 - 2 * doubt)
    assert found.best.limit_a <= 0.97 * 30.0


def test_no_setting_is_advised_where_the_set_stopped_for_reasons_that_the_readings_hide():
    quiet = np.full(14_400, 2500, np.float32)
    shown = Shown(time_of(14_400), quiet, untold=(START,), running_h=4.0)
    found = advise(shown, LEARNED, SITE)
    assert found.best is None
    assert "stopped once as a load came on, in 4.0 hours" in str(found.unknown)
    # One stop in four hours: a run of two hours meets one with 1 − e^−½, and maybe much oftener.
    assert found.settings[0].likely == pytest.approx(-math.expm1(-0.5), rel=1e-3)
    # The 80 % point of a chi-squared with three degrees of freedom is 4.64.
    assert found.settings[0].chance > -math.expm1(-4.6 / 2 / 2)


def test_hours_are_longer_where_the_battery_took_less():
    battery = SITE.battery.model_copy(update={"capacity_kwh": 20.0, "target_soc": 80.0})
    site = SITE.model_copy(update={"battery": battery})
    slow = Taking((math.inf,) * 14 + (1000.0,) * 6, 0.9)
    quiet = np.full(14_400, 500, np.float32)
    found = advise(Shown(time_of(14_400), quiet, need_wh=4000.0, taking=slow), LEARNED, site)
    at_20 = next(each for each in found.settings if each.limit_a == 20.0)
    assert at_20.hours == pytest.approx(2000 / (4100 * 0.9) + 2000 / 900, rel=1e-6)


def test_the_advice_costs_the_least_of_those_that_seldom_trip():
    rows = 26 * 3600
    load = kettle_house(rows, 1500.0)
    load[10 * 3600 : 10 * 3600 + 900] += 3000
    found = advise(Shown(time_of(rows), load, need_wh=8000.0), LEARNED, SITE)
    assert found.best is not None
    assert found.best.likely <= MOST_CHANCE
    fit = [each for each in found.settings if each.limit_a <= found.highest_a and each.likely <= MOST_CHANCE]
    assert cost_h(found.best) <= 1.01 * min(map(cost_h, fit))
    assert found.best.chance >= found.best.likely


@given(st.integers(0, 2**16), st.floats(-1.0, 3.0))
@settings(max_examples=15, deadline=None)
def test_the_parts_of_every_setting_sum_to_it(seed, below):
    chance = np.random.default_rng(seed)
    load = np.full(7200, 400.0)
    for first in chance.integers(0, 7000, 6):
        load[first : first + 60] += chance.uniform(200, 3000)
    shown = Shown(time_of(7200), load.astype(np.float32), held=Held(below, 0.01, False))
    found = advise(shown, LEARNED, SITE)
    for setting in found.settings:
        told = {part.name: part.amperes for part in parts(found, setting)}
        assert sum(told.values()) == pytest.approx(setting.limit_a)
        assert told["carries"] == pytest.approx(30.0)
        assert told["house"] <= 0.0 <= told["endures"]
    assert bool(parts(found)) == (found.best is not None)


def test_neither_full_load_nor_the_input_circuit_is_exceeded_by_the_limit_itself():
    quiet = np.full(14_400, 2500, np.float32)
    shown = Shown(time_of(14_400), quiet, held=Held(6.0, 0.01, False))
    assert advise(shown, LEARNED, SITE).highest_a == pytest.approx(30.0)
    site = SITE.model_copy(update={"input": SITE.input.model_copy(update={"circuit_a": 32.0})})
    found = advise(shown, LEARNED, site)
    assert found.best is not None
    assert found.best.limit_a <= found.highest_a == pytest.approx(0.8 * 32)
