"""Stamps that rise whatever the local clock does, ticks at whole multiples, and pulses that stop."""

import threading

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.pulse import Pulse
from drivers.timing import RisingClock, Ticker, Timing


class Clock:
    def __init__(self):
        self.utc, self.monotonic = 10**18, 100.0

    def timing(self):
        return Timing(lambda: self.utc, lambda: self.monotonic, lambda: 0.5, self.wait)

    def wait(self, event, seconds):
        self.pass_(seconds)
        return event.is_set()

    def pass_(self, seconds):
        self.monotonic += seconds
        self.utc += round(seconds * 1e9)


def test_stamps_follow_the_local_clock():
    clock = Clock()
    rising = RisingClock(clock.timing())
    assert rising.stamp() == 10**18
    clock.pass_(1)
    assert rising.stamp() == 10**18 + 10**9


def test_a_clock_that_is_set_back_keeps_the_distance_of_rows():
    clock = Clock()
    rising = RisingClock(clock.timing())
    before = rising.stamp()
    clock.utc -= 3600 * 10**9
    clock.pass_(2)
    assert rising.stamp() == before + 2 * 10**9


@given(st.lists(st.tuples(st.floats(0, 100), st.integers(-(10**13), 10**13)), max_size=30))
def test_stamps_rise_strictly_whatever_happens(steps):
    clock = Clock()
    rising = RisingClock(clock.timing())
    last = rising.stamp()
    for seconds, jump in steps:
        clock.pass_(seconds)
        clock.utc += jump
        now = rising.stamp()
        assert now > last
        last = now


def test_ticks_are_whole_multiples_and_missed_ones_are_left_out():
    clock, stopped = Clock(), threading.Event()
    clock.monotonic = 100.03
    ticker = Ticker(0.5, clock.timing())
    at = []
    for busy in (0.0, 0.1, 0.9, 0.0):
        assert ticker.wait(stopped)
        at.append(clock.monotonic)
        clock.pass_(busy)
    assert at == pytest.approx([100.03, 100.5, 101.0, 101.9])
    assert ticker.wait(stopped)
    assert clock.monotonic == pytest.approx(102.0)


def test_a_ticker_that_is_stopped_says_so():
    stopped = threading.Event()
    stopped.set()
    assert not Ticker(10.0, Clock().timing()).wait(stopped)


def test_a_number_that_never_moved_is_no_pulse():
    pulse = Pulse(1.0)
    assert not any(pulse.stale(5, second) for second in range(1000))


def test_a_pulse_that_stops_is_noticed_after_three_intervals():
    pulse = Pulse(1.0)
    for second in range(10):
        assert not pulse.stale(second, float(second))
    assert [pulse.stale(9, second) for second in (10.0, 11.0, 12.0, 12.5)] == [False, False, False, True]
    assert not pulse.stale(10, 13.0)


def test_a_slow_pulse_is_given_its_time():
    pulse = Pulse(0.2)
    now = 0.0
    for beat in range(5):
        for _ in range(50):
            assert not pulse.stale(beat, now)
            now += 0.2


def test_a_pulse_that_is_not_told_says_nothing():
    pulse = Pulse(1.0)
    assert not any(pulse.stale(None, second) for second in range(10))
