"""Why a battery fell below its reserve."""

from __future__ import annotations

import numpy as np
import pytest

from desktop.review import review
from desktop.site import Site
from recordings.recording import Recording

HOUR = 3_600_000_000_000
MINUTE_NS = 60_000_000_000


def day(
    hours: float = 10.0, load: float = 900.0, sun: float = 300.0, run_at: float | None = None
) -> Recording:
    """A battery of 10 kWh that gives what the sun doesn't, from 60 % on; a run of an hour from `run_at` on, h."""
    minutes = np.arange(round(hours * 60))
    running = np.zeros(len(minutes), bool) if run_at is None else (minutes // 60 == run_at)
    battery = np.where(running, 2000.0, sun - load)
    soc = 60 + np.cumsum(battery) / 60 / 10_000 * 100
    columns = {
        "load_power": np.full(len(minutes), load),
        "solar_power": np.full(len(minutes), sun),
        "battery_power": battery,
        "battery_soc": np.round(np.clip(soc, 0, 100)),
        "generator_power": np.where(running, battery + load - sun, 0.0),
    }
    return Recording.from_columns(np.int64(1_700_000_040_000_000_000) + minutes * MINUTE_NS, columns)


def low(recording: Recording):
    told = review(recording, Site())
    finding = next(one for one in told.findings if one.kind == "battery_low")
    return finding, next(one for one in told.chains if one.finding == "battery_low"), told


def test_it_says_what_the_house_took_and_the_sun_gave_until_the_reserve_was_reached():
    finding, chain, told = low(day())
    hours = (finding.start - int(told.recording.time[0])) / HOUR
    assert chain.certain
    values = finding.cause.values["drained"].values
    assert values["load"] == pytest.approx(900 * hours, rel=0.05)
    assert values["source"].values["sun"] == pytest.approx(300 * hours, rel=0.05)
    assert "No generator came on" in str(finding.cause)
    assert [link.kind for link in chain.links] == ["highest_charge", "below_reserve"]


def test_it_says_how_late_the_generator_came():
    finding, chain, told = low(day(run_at=8))
    run = told.sessions[0]
    assert [link.kind for link in chain.links] == ["highest_charge", "below_reserve", "generator_on"]
    assert finding.cause.values["late"].values["delay"] == pytest.approx((run.start - finding.start) / 1e9)
    assert "The generator came on" in str(finding.cause)


def test_only_what_came_after_the_last_charge_counts():
    recording = day(hours=24, load=1300.0, sun=0.0, run_at=4)
    told = review(recording, Site())
    lows = [one for one in told.chains if one.finding == "battery_low"]
    assert len(lows) >= 1
    last = lows[-1]
    before = [one.end for one in told.sessions if one.end <= last.start]
    assert all(link.time >= max(before, default=0) for link in last.links)


def test_without_the_time_before_it_says_that_it_cant_tell():
    recording = day()
    start = int(np.flatnonzero(recording.column("battery_soc") < 20)[0]) - 4
    _, chain, _ = low(recording.rows(start, len(recording)))
    assert not chain.certain
    assert "Can't tell" in str(chain.cause)


def test_an_unknown_load_is_not_guessed():
    recording = day()
    columns = {name: recording.column(name) for name in ("battery_soc", "generator_power")}
    finding, chain, _ = low(Recording.from_columns(recording.time.copy(), columns))
    assert "what the house took isn't known" in str(finding.cause)
    assert chain.certain
