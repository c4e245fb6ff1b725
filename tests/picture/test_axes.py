"""Ticks on round values, and on round times of the site's clock."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.picture.axes import time_ticks, value_label, value_step, value_ticks
from desktop.words import local

S = 1_000_000_000
BERLIN = ZoneInfo("Europe/Berlin")
ZONES = [
    *(UTC, BERLIN, ZoneInfo("America/St_Johns"), ZoneInfo("Asia/Kathmandu")),
    *(ZoneInfo("Australia/Lord_Howe"), ZoneInfo("America/Santiago")),
]


def instant(text: str) -> int:
    return round(datetime.fromisoformat(text).timestamp()) * S


@settings(deadline=None, max_examples=200)
@given(
    st.integers(instant("2020-01-01T00:00+00:00"), instant("2030-01-01T00:00+00:00")),
    st.floats(0.0, 8.8),
    st.integers(2, 14),
    st.sampled_from(ZONES),
)
def test_ticks_rise_stay_inside_and_are_few(start: int, decades: float, most: int, zone: ZoneInfo) -> None:
    stop = start + round(10**decades * S)
    ticks = time_ticks(start, stop, most, zone)
    instants = [tick.at for tick in ticks]
    assert instants == sorted(set(instants))
    assert all(start <= at <= stop for at in instants)
    assert len(ticks) <= most + 2
    assert all(tick.label for tick in ticks)


@settings(deadline=None, max_examples=100)
@given(
    st.integers(instant("2025-01-01T00:00+00:00"), instant("2027-01-01T00:00+00:00")),
    st.integers(1, 72),
    st.sampled_from(ZONES),
)
def test_labels_say_what_the_clock_says(start: int, hours: int, zone: ZoneInfo) -> None:
    for tick in time_ticks(start, start + hours * 3600 * S, 8, zone):
        clock = local(tick.at, zone)
        if ":" in tick.label:
            assert tick.label.startswith(clock.strftime("%H:%M"))
        else:
            assert (clock.hour, clock.minute) == (0, 0)
            assert tick.label.startswith(str(clock.day))


def test_when_the_clock_is_set_back_the_hour_comes_twice_and_is_named() -> None:
    start = instant("2025-10-25T22:00+00:00")
    labels = [tick.label for tick in time_ticks(start, start + 5 * 3600 * S, 6, BERLIN)]
    assert labels == ["26 Oct", "01:00", "02:00", "02:00 CET", "03:00", "04:00"]


def test_when_the_clock_is_set_forward_an_hour_is_left_out() -> None:
    start = instant("2026-03-28T23:00+00:00")
    labels = [tick.label for tick in time_ticks(start, start + 4 * 3600 * S, 6, BERLIN)]
    assert labels == ["29 Mar", "01:00", "03:00 CEST", "04:00", "05:00"]


def test_days_begin_at_local_midnight_on_both_sides_of_a_change() -> None:
    start = instant("2026-03-27T12:00+00:00")
    ticks = time_ticks(start, start + 4 * 86_400 * S, 5, BERLIN)
    assert [local(tick.at, BERLIN).hour for tick in ticks] == [0, 0, 0, 0]
    assert ticks[2].at - ticks[1].at == 23 * 3600 * S


def test_parts_of_a_second_are_written_out() -> None:
    start = instant("2026-02-14T12:00:00+00:00")
    labels = [tick.label for tick in time_ticks(start + 1, start + S, 10, UTC)]
    assert labels[:2] == ["12:00:00.1", "12:00:00.2"]


def test_years_are_strong() -> None:
    start = instant("2023-06-01T00:00+00:00")
    ticks = time_ticks(start, start + round(timedelta(days=900).total_seconds()) * S, 6, UTC)
    assert [tick.label for tick in ticks if tick.strong] == ["2024", "2025"]


@settings(deadline=None)
@given(st.floats(-1e5, 1e5), st.floats(1e-3, 1e6), st.integers(1, 8))
def test_value_steps_are_round_and_few(low: float, span: float, most: int) -> None:
    step = value_step(low, low + span, most)
    assert f"{step:.0e}"[0] in "125"
    assert len(value_ticks(low, low + span, step)) <= most + 1


@pytest.mark.parametrize(
    ("value", "step", "text"),
    [(0.30000000000000004, 0.1, "0.3"), (-0.0, 0.5, "0.0"), (-5.0, 5.0, "−5"), (49.5, 0.5, "49.5")],
)
def test_value_labels_have_the_decimals_of_the_step(value: float, step: float, text: str) -> None:
    assert value_label(value, step) == text
