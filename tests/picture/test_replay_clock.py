"""The instant of a replay, driven by a clock of the test."""

from zoneinfo import ZoneInfo

import pytest
from hand_clock import Seconds

from desktop.picture.replay import Loop, ReplayClock, next_of, position_text, previous_of, typed_instant
from recordings.errors import UsageError

S = 1_000_000_000
BERLIN = ZoneInfo("Europe/Berlin")
NOON = 1_771_066_800 * S
"""2026-02-14 12:00 in Berlin."""


@pytest.fixture
def seconds() -> Seconds:
    return Seconds()


@pytest.fixture
def clock(seconds: Seconds) -> ReplayClock:
    return ReplayClock(NOON, NOON + 7200 * S, seconds)


def test_sixty_times_is_a_minute_a_second(clock: ReplayClock, seconds: Seconds) -> None:
    clock.set_speed(60)
    clock.play()
    for _ in range(300):
        seconds.passed += 1 / 30
        clock.tick()
    assert clock.instant == pytest.approx(NOON + 600 * S, abs=100)


def test_it_pauses_at_the_end_and_plays_from_the_start_again(clock: ReplayClock, seconds: Seconds) -> None:
    clock.set_speed(3600)
    clock.play()
    seconds.passed = 60.0
    assert clock.tick() == clock.last
    assert not clock.playing
    clock.play()
    assert clock.tick() == clock.first


def test_a_new_speed_holds_from_here_on(clock: ReplayClock, seconds: Seconds) -> None:
    clock.set_speed(1)
    clock.play()
    seconds.passed = 10.0
    clock.set_speed(10)
    seconds.passed = 20.0
    assert clock.tick() == NOON + 110 * S


def test_no_time_passes_while_it_stands(clock: ReplayClock, seconds: Seconds) -> None:
    clock.play()
    seconds.passed = 1.0
    clock.pause()
    stood = clock.instant
    seconds.passed = 100.0
    assert clock.tick() == stood
    clock.play()
    assert clock.tick() == stood


def test_a_loop_starts_over_and_keeps_what_ran_past_its_end(clock: ReplayClock, seconds: Seconds) -> None:
    clock.move(NOON + 100 * S)
    clock.mark_b()
    clock.move(NOON + 40 * S)
    clock.mark_a()
    assert clock.loop == Loop(NOON + 40 * S, NOON + 100 * S)
    clock.set_speed(1)
    clock.play()
    seconds.passed = 60.0 * 3 + 7.0
    assert clock.tick() == NOON + 47 * S
    assert clock.playing


def test_beyond_a_loop_it_plays_on(clock: ReplayClock, seconds: Seconds) -> None:
    clock.mark_a()
    clock.move(NOON + 50 * S)
    clock.mark_b()
    clock.move(NOON + 60 * S)
    clock.set_speed(1)
    clock.play()
    seconds.passed = 5.0
    assert clock.tick() == NOON + 65 * S


def test_a_growing_recording_keeps_the_instant(clock: ReplayClock) -> None:
    clock.move(NOON + 7200 * S)
    clock.extend(NOON, NOON + 9000 * S)
    assert clock.instant == NOON + 7200 * S
    assert clock.move(NOON + 10_000 * S) == NOON + 9000 * S


def test_next_and_previous() -> None:
    assert next_of([10, 20, 30], 20) == 2
    assert previous_of([10, 20, 30], 20) == 0
    assert next_of([10], 10) is None
    assert previous_of([10], 10) is None


@pytest.mark.parametrize(
    ("text", "after_noon_s"),
    [
        ("14:03", 2 * 3600 + 180),
        (" 9:00:20 ", -3 * 3600 + 20),
        ("2026-02-15 00:30", 12 * 3600 + 1800),
        ("2026-02-14", -12 * 3600),
    ],
)
def test_typed_times(text: str, after_noon_s: int) -> None:
    assert typed_instant(text, NOON, BERLIN) == NOON + after_noon_s * S


@pytest.mark.parametrize("text", ["", "noon", "25:00", "12:61", "2026-02-30 10:00", "12", "2026-03-29 02:30"])
def test_what_is_no_time_is_refused_in_words(text: str) -> None:
    with pytest.raises(UsageError, match="no such time; expected"):
        typed_instant(text, NOON, BERLIN)


def test_of_a_time_that_comes_twice_it_is_the_first() -> None:
    first = typed_instant("2025-10-26 02:30", NOON, BERLIN)
    assert position_text(first + 3600 * S, first, first, BERLIN) == "02:30:00"


def test_what_is_shown_can_be_typed() -> None:
    text = position_text(NOON + 61 * S, NOON, NOON + 3 * 86_400 * S, BERLIN)
    assert text == "2026-02-14 12:01:01"
    assert typed_instant(text, 0, BERLIN) == NOON + 61 * S
