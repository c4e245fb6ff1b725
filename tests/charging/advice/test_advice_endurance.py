"""What trips a set, what a recording shows of that, and what chance of a trip follows."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import gamma

from desktop.charging.advice.charger import BackOff
from desktop.charging.advice.endurance import (
    Endurance,
    Level,
    Reached,
    heat,
    learned_endurance,
    overloaded,
    sustained,
)
from desktop.charging.advice.replay import lively, memory_s, whole
from desktop.charging.advice.trips import UNSEEN, Trips, most_likely_at_most

NOWHERE = np.array([], np.int64)


@pytest.mark.parametrize(("multiple", "seconds"), [(1.5, 64.0), (2.0, 80 / 3), (3.0, 10.0), (5.0, 10 / 3)])
def test_the_curve_is_the_extremely_inverse_one(multiple, seconds):
    """IEC 60255-151, extremely inverse: t = TMS · 80 / (M² − 1); constants quoted from memory."""
    share = np.full(2000, multiple)
    opened = heat(share, 0.1) >= 1.0
    assert opened.argmax() * 0.1 == pytest.approx(seconds, abs=0.2)


def test_overload_is_forgotten_below_the_rating():
    share = np.concatenate([np.full(20, 1.2), np.full(300, 0.5), np.full(20, 1.2)])
    assert heat(share, 1.0).max() == pytest.approx(heat(share[:20], 1.0).max())
    rest = np.concatenate([np.full(20, 1.2), [0.5], np.full(20, 1.2)])
    seconds = np.concatenate([np.full(20, 1.0), [300.0], np.full(20, 1.0)])
    assert heat(rest, seconds).max() == pytest.approx(heat(share, 1.0).max())


@given(st.lists(st.booleans(), max_size=60), st.integers(1, 5))
def test_sustained_means_so_many_in_a_row(over, steps):
    found = sustained(np.array(over, bool), steps)
    expected = [all(over[max(0, i - steps + 1) : i + 1]) and i + 1 >= steps for i in range(len(over))]
    assert found.tolist() == expected


def test_what_was_survived_is_learned():
    assert learned_endurance(np.full(500, 0.9), 1.0, NOWHERE) == Endurance()
    carried = np.concatenate([np.full(100, 0.8), np.full(8, 1.2), np.full(100, 0.7)])
    found = learned_endurance(carried, 1.0, NOWHERE)
    assert not found.assumed
    assert min(each.capability for each in found.levels) > 1.2
    assert sum(each.weight for each in found.levels) == pytest.approx(1.0)
    strong = np.concatenate([np.full(100, 0.8), np.full(8, 1.6), np.full(100, 0.7)])
    (only,) = learned_endurance(strong, 1.0, NOWHERE).levels
    assert only.capability == pytest.approx(1.6)


def test_a_single_reading_far_above_shows_no_strength():
    share = np.full(500, 0.7)
    share[250] = 1.9
    assert learned_endurance(share, 5.0, NOWHERE) == Endurance()


def test_levels_that_would_have_carried_what_tripped_are_ruled_out():
    tripped = np.concatenate([np.full(100, 0.8), np.full(10, 1.12)])
    found = learned_endurance(tripped, 1.0, np.array([109]))
    assert max(each.capability for each in found.levels) < 1.12
    weak = np.concatenate([np.full(100, 0.8), np.full(10, 1.02)])
    found = learned_endurance(weak, 1.0, np.array([109]))
    assert {each.capability for each in found.levels} == {1.02}


def test_a_trip_below_the_rating_is_not_explained_by_the_readings():
    share = np.concatenate([np.full(200, 0.6), np.full(20, 1.08), np.full(200, 0.6)])
    share[410] = 1.5
    assert overloaded(share, 1.0, 225)
    assert not overloaded(share, 1.0, 199)
    assert not overloaded(share, 1.0, 419)


def test_an_inrush_may_take_what_the_masses_store_and_no_more():
    level = Level(1.15, 0.2, 1.0)
    share = np.full(100, 0.8)
    share[50] = 1.15 + 0.25
    assert not level.trips(share, 1.0, heat(share, 1.0)).any()
    share[50] = 1.15 + 0.35
    assert level.trips(share, 1.0, heat(share, 1.0)).tolist() == [row == 50 for row in range(100)]
    share[50:52] = 1.2
    assert level.trips(share, 1.0, heat(share, 1.0)).any()


@given(st.integers(0, 2**16), st.floats(0.4, 0.95), st.floats(1.05, 1.4), st.floats(0.1, 0.5))
@settings(max_examples=40, deadline=None)
def test_a_house_that_lifts_the_input_less_than_there_is_room_for_trips_nothing(
    seed, held, capability, multiplier
):
    level = Level(capability, multiplier, 1.0)
    lift = np.zeros(600)
    chance = np.random.default_rng(seed)
    for first in chance.integers(0, 600, 4):
        lift[first : first + chance.integers(1, 40)] = chance.uniform(0.05, 0.6)
    share, reached = held + lift, Reached()
    reached.take(share, heat(share, 1.0))
    room = level.room(reached, held, 1.0)
    tripped = level.trips(share, 1.0, heat(share, 1.0)).any()
    assert room >= 1.0
    assert room == 1.0 or not tripped
    if room > 1.0:
        higher = held + lift * (1 + 0.9 * (room - 1))
        assert not level.trips(higher, 1.0, np.zeros(600)).any()


@pytest.mark.parametrize("count", [0, 1, 2, 5, 20])
def test_what_may_not_have_been_seen_is_reckoned_with(count):
    """scipy's gamma distribution as reference for the 80 % point."""
    assert most_likely_at_most(count) == pytest.approx(gamma.ppf(0.8, count + 0.5), rel=0.02)


@given(st.lists(st.integers(0, 9999), max_size=12, unique=True), st.integers(1, 3000), st.integers(0, 2**16))
@settings(max_examples=40, deadline=None)
def test_the_chance_is_the_share_of_beginnings_that_meet_a_trip(rows, run_s, seed):
    begins = np.random.default_rng(seed).random(10_000) < 0.5
    trips = Trips(run_s / 3600)
    trips.add(np.array(sorted(rows), np.int64), np.append(0, np.cumsum(begins)), 1.0)
    met = [any(start <= row < start + run_s for row in rows) for start in np.flatnonzero(begins).tolist()]
    likely, chance = trips.chances(10_000 / 3600)
    unseen = math.exp(-UNSEEN * run_s / 10_000)
    assert likely == pytest.approx(1 - (1 - np.mean(met)) * unseen)
    assert likely <= chance <= 1
    assert likely == 1 or chance > likely
    assert np.mean(met) <= trips.chances(10_000 / 3600, room=1.5)[0] <= likely


def test_an_overload_that_lasts_counts_again_and_again_but_is_one():
    trips = Trips(1.0)
    trips.add(np.arange(1000, 2500), np.append(0, np.arange(1, 7201)), 1.0)
    assert (trips.count, trips.times) == (3, 1)


@given(st.integers(0, 2**16), st.floats(0, 12), st.floats(0.02, 0.5), st.floats(0.4, 0.95))
@settings(max_examples=40, deadline=None)
def test_what_is_left_out_of_a_replay_overloads_nothing(seed, delay, ramp, limit):
    chance = np.random.default_rng(seed)
    load = 0.1 + 0.02 * chance.random(4000)
    for first in chance.integers(0, 3900, 25):
        load[first : first + chance.integers(1, 300)] += chance.uniform(0.05, 0.5)
    back_off = BackOff(delay, assumed=False, ramp_w_s=ramp)
    every, few = whole(load, load, 1.0), lively(load, load, 1.0, memory_s(back_off, 2.0), 1.0)
    all_shares = every.shares(limit, 2.0, back_off, 1.0, 1.0)[1]
    shares = few.shares(limit, 2.0, back_off, 1.0, 1.0)[1]
    over = np.flatnonzero(all_shares > 1.0)
    assert set(over.tolist()) <= set(few.rows[few.counted].tolist())
    assert shares[few.counted] == pytest.approx(all_shares[few.rows[few.counted]])
    assert heat(shares, few.seconds).max() == pytest.approx(heat(all_shares, 1.0).max())
