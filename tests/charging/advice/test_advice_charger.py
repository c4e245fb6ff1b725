"""How a charger follows its limit, how the house lies on the legs and what the battery took, as measured."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.charging.advice.charger import ASSUMED_HELD, USUAL_BACK_OFF, BackOff, taken
from desktop.charging.advice.giving_way import Overshoot, fitted, measured_back_off
from desktop.charging.advice.holding import measured_held, measured_unmetered
from desktop.charging.advice.legs import EVEN, unevenness
from desktop.charging.advice.sudden_ends import sudden_ends
from desktop.charging.advice.taking import measured_taking
from recordings.recording import Recording

SECOND = 1_000_000_000
START = 1_767_225_600 * SECOND


def time_of(rows: int, step_s: float = 1.0) -> np.ndarray:
    return START + np.round(np.arange(rows) * step_s * SECOND).astype(np.int64)


# The replay's charger


def test_a_load_step_lies_over_the_limit_for_the_delay():
    load = np.concatenate([np.full(50, 500.0), np.full(50, 2500.0)])
    charger = taken(load, 5000.0, math.inf, BackOff(7.0), 1.0)
    over = load + charger > 5000.0
    assert over.sum() == 7
    assert (load + charger).max() == 7000.0
    assert charger[:50].tolist() == [4500.0] * 50
    assert charger[-1] == 2500.0


def test_after_its_delay_a_charger_gives_way_at_its_own_pace():
    load = np.concatenate([np.full(50, 500.0), np.full(50, 2500.0)])
    charger = taken(load, 5000.0, math.inf, BackOff(3.0, ramp_w_s=500.0), 1.0)
    assert charger[50:60].tolist() == [4500, 4500, 4500, 4000, 3500, 3000, 2500, 2500, 2500, 2500]


@given(st.integers(1, 40), st.integers(0, 2**16))
@settings(max_examples=30, deadline=None)
def test_the_charger_takes_the_most_that_was_left_within_its_delay(delay, seed):
    load = np.random.default_rng(seed).uniform(0, 6000, 200)
    charger = taken(load, 4000.0, 3000.0, BackOff(float(delay)), 1.0)
    left = np.clip(4000.0 - load, 0, 3000)
    for row in (0, 3, 57, 199):
        assert charger[row] == left[max(0, row - delay) : row + 1].max()


# How it gives way


def followed(
    delay: float, ramp: float, every_s: float, phases: list[float]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(time, load, generator) as read every so often: steps of 1000 to 2000 W at a limit of 4600 W."""
    fine = 0.1
    load = np.full(round(300 / fine) * len(phases), 500.0)
    for number, phase in enumerate(phases):
        first = round((300 * number + 150 + phase) / fine)
        load[first : first + round(100 / fine)] += 1000 + 250 * (number % 5)
    generator = load + taken(load, 4600.0, math.inf, BackOff(delay, ramp_w_s=ramp), fine)
    rows = np.arange(0, len(load), round(every_s / fine))
    return time_of(len(rows), every_s), load[rows].astype(np.float32), generator[rows].astype(np.float32)


@pytest.mark.parametrize("every_s", [1.0, 2.0, 5.0])
@pytest.mark.parametrize(("delay", "ramp"), [(2.0, 300.0), (6.0, 300.0), (10.0, 1000.0)])
def test_delay_and_pace_are_measured_however_far_apart_the_readings_lie(delay, ramp, every_s):
    chance = np.random.default_rng(5)
    found = measured_back_off(
        *followed(delay, ramp, every_s, chance.uniform(0, every_s, 40).tolist()), 4600.0, every_s
    )
    assert not found.assumed
    # What an excess of 1500 W adds up to is what matters, and is the better known.
    assert found.delay_s + 750 / found.ramp_w_s == pytest.approx(delay + 750 / ramp, abs=0.25 * every_s + 0.5)


def test_a_single_overshoot_tells_both():
    """A trapezium of 2 kW: 4 s at full height, then 5 s falling."""
    found = fitted([Overshoot(2000.0, 9.0, 2000 * 4 + 2000 * 5 / 2)])
    assert found.delay_s == pytest.approx(4.0)
    assert found.ramp_w_s == pytest.approx(400.0)


def test_a_charger_that_gives_way_within_a_reading_is_measured_as_quick():
    found = measured_back_off(*followed(0.0, math.inf, 1.0, [0.0] * 5), 4600.0, 1.0)
    assert found == BackOff(0.0, assumed=False)


def test_steps_away_from_the_limit_tell_nothing():
    time, load, generator = followed(6.0, 300.0, 1.0, [0.0] * 3)
    assert measured_back_off(time, load, generator, 9000.0, 1.0) == USUAL_BACK_OFF


def test_an_overload_that_ended_in_a_trip_tells_nothing_of_the_charger():
    time, load, generator = followed(20.0, 300.0, 1.0, [0.0])
    generator[160:] = 0.0
    assert measured_back_off(time, load, generator, 4600.0, 1.0, (int(time[159]),)).assumed


# Where it holds the input


def wandering(rows: int = 3000) -> np.ndarray:
    """A house between 1 and 5 A."""
    return 3.0 + 2.0 * np.sin(np.arange(rows) / 50)


def test_what_a_charger_leaves_below_its_limit_is_measured():
    load = wandering()
    current = np.full(3000, 18.8) + np.random.default_rng(1).normal(0, 0.05, 3000)
    found = measured_held(current, load, np.full(3000, 20.0), 30.0, 0.01)
    assert found.below_a == pytest.approx(1.2, abs=0.02)
    assert found.doubt == pytest.approx(0.01 * 18.8 / 30, rel=0.01)
    assert not found.assumed


def test_a_charger_that_the_battery_holds_back_tells_nothing_of_the_limit():
    load = wandering()
    assert measured_held(load + 12.0, load, np.full(3000, 20.0), 30.0, 0.01) == ASSUMED_HELD
    steady = np.full(3000, 3.0)
    assert measured_held(steady + 12.0, steady, np.full(3000, 20.0), 30.0, 0.01) == ASSUMED_HELD


@given(st.floats(0, 1), st.integers(2, 3))
@settings(max_examples=25, deadline=None)
def test_without_meters_on_the_legs_a_charger_is_never_taken_to_hold_further_below_than_it_does(part, legs):
    load = wandering()
    busiest = load * (1 + part * (legs - 1))
    mean = 20.0 - 1.5 - (busiest - load)
    found, uneven = measured_unmetered(mean, load, np.full(3000, 20.0), 30.0, 0.01, 230.0 * legs, legs)
    assert 0 <= found.below_a <= 1.5 + 0.05
    if not found.assumed:
        watts = load * 230.0 * legs
        # Whatever is taken as the charger's or the house's, together they are what was seen.
        lacking = found.below_a + (uneven.on_busiest(watts) - watts) / (230.0 * legs)
        assert np.median(np.abs(lacking - (20.0 - mean))) < 0.2


# The legs


def test_unevenness_is_what_the_house_puts_on_its_busiest_leg():
    rows = 400
    load = np.where(np.arange(rows) % 100 < 50, 500.0, 2500.0)
    extra = np.where(load > 1000, 2400.0, 400.0)
    mean = np.full(rows, 20.0)
    generator = 2 * 230 * mean
    first = (generator + extra) / 460
    recording = Recording.from_columns(
        time_of(rows), {"generator_current_l1": first, "generator_current_l2": 40.0 - first}
    )
    found = unevenness(recording, load.astype(np.float32), generator.astype(np.float32), 2)
    assert found.on_busiest(np.array([500.0, 2500.0])) == pytest.approx([900.0, 4900.0], rel=1e-3)
    assert found.on_busiest(np.array([6000.0])) == pytest.approx([8400.0], rel=1e-3)
    assert unevenness(recording, load.astype(np.float32), generator.astype(np.float32), 1) == EVEN


# Ends that the readings don't explain


def ending(frequency_after: float, load_after: float) -> tuple[Recording, np.ndarray, np.ndarray]:
    load = np.full(200, 400, np.float32)
    generator = np.full(200, 4000, np.float32)
    frequency = np.full(200, 50.0)
    generator[150:], frequency[150:], load[150:] = 0, frequency_after, load_after
    return Recording.from_columns(time_of(200, 5.0), {"generator_frequency": frequency}), load, generator


def test_a_set_that_goes_dead_as_a_load_comes_on_is_noticed():
    recording, load, generator = ending(0.0, 2200.0)
    assert sudden_ends(recording, load, generator, 6000.0, 230.0, 50.0) == (int(recording.time[150]),)


@pytest.mark.parametrize(("frequency", "load"), [(50.0, 2200.0), (0.0, 400.0)])
def test_a_set_that_runs_on_or_is_stopped_in_a_quiet_house_is_not(frequency, load):
    recording, loads, generator = ending(frequency, load)
    assert sudden_ends(recording, loads, generator, 6000.0, 230.0, 50.0) == ()


def test_without_a_meter_at_the_terminals_power_that_is_gone_between_two_readings_tells_it():
    _, load, generator = ending(0.0, 2200.0)
    time = time_of(200, 5.0)
    bare = Recording.from_columns(time, {"generator_power": generator.astype(np.float64)})
    assert sudden_ends(bare, load, generator, 5700.0, 230.0, 50.0, 12.5) == (int(time[150]),)
    # As much as it carries: that may as well be a set that was let down quickly.
    assert sudden_ends(bare, load, generator, 5900.0, 230.0, 50.0, 12.5) == ()
    time[150:] += 60_000_000_000
    torn = Recording.from_columns(time, {"generator_power": generator.astype(np.float64)})
    assert sudden_ends(torn, load, generator, 5700.0, 230.0, 50.0, 12.5) == ()


# What the battery took


def test_what_a_battery_took_at_each_state_of_charge_and_what_came_of_it():
    """From 40 to 90 % in five hours: the limit leaves 4 kW, above 70 % the battery takes 2 kW."""
    rows = 5 * 3600
    soc = 40 + 50 * np.arange(rows) / rows
    charger = np.where(soc < 70, 4000.0, 2000.0)
    room = np.full(rows, 4000.0)
    found = measured_taking(time_of(rows), soc, charger, room, 5000.0, 28_000.0, 60.0)
    assert found.gained == pytest.approx(0.5 * 28_000 / (3 * 4000 + 2 * 2000), rel=1e-3)
    assert found.parts(60.0, 80.0) == [(0.25, math.inf), (0.25, math.inf), (0.25, 2000.0), (0.25, 2000.0)]
    sunny = measured_taking(time_of(rows), soc, charger, room, 5000.0, 35_000.0, 60.0, most_gained=0.94)
    assert sunny.gained == 0.94
    assert found.parts(92.0, 98.0) == [(0.5, 2000.0), (0.5, 2000.0)]


def test_what_the_limit_held_back_is_not_taken_for_the_batterys_own():
    """From 10 to 60 %: a battery that hardly takes anything at first, and then all that the limit leaves."""
    rows = 5 * 3600
    soc = 10 + 50 * np.arange(rows) / rows
    charger = np.where(soc < 15, 1000.0, 4000.0)
    found = measured_taking(time_of(rows), soc, charger, np.full(rows, 4000.0), 5000.0, 28_000.0, 60.0)
    assert found.parts(10.0, 90.0)[0] == (pytest.approx(5 / 80), 1000.0)
    assert all(math.isinf(most) for _, most in found.parts(15.0, 90.0))


def test_a_charger_that_was_slow_for_a_while_isnt_taken_for_the_batterys_own():
    """From 10 to 90 %: all that the limit leaves, but for the start of a run at 40 %, and little at the end."""
    rows = 5 * 3600
    soc = 10 + 80 * np.arange(rows) / rows
    charger = np.where((soc >= 40) & (soc < 45), 1000.0, np.where(soc < 80, 4000.0, 1500.0))
    found = measured_taking(time_of(rows), soc, charger, np.full(rows, 4000.0), 5000.0, 28_000.0, 60.0)
    assert all(math.isinf(most) for _, most in found.parts(10.0, 80.0))
    assert found.parts(80.0, 100.0) == [(0.25, 1500.0)] * 4


def test_a_charge_too_short_to_tell_leaves_it_unknown():
    soc = np.full(600, 50.0)
    found = measured_taking(
        time_of(600), soc, np.full(600, 4000.0), np.full(600, 4000.0), 5000.0, 28_000.0, 60.0
    )
    assert math.isnan(found.gained)
    assert all(math.isinf(most) for most in found.most_w)
