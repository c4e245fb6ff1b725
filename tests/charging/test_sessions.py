"""Charge sessions: where they begin and end, and what they hold."""

import math
from dataclasses import dataclass

import numpy as np
import pytest
from handmade import SECOND, START, block_of, cut
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.charging.counter import SessionCounter, session_of
from desktop.charging.runs import MARK_ROWS
from desktop.charging.sessions import Session
from desktop.site import Site

SITE = Site.parse("[generator]\nrated_w = 7000")


@dataclass(frozen=True)
class Facts:
    interval_s: float = 1.0
    gap_s: float = 60.0
    volts: float | None = 230.0
    hz: float | None = 50.0


def counted(*blocks, site=SITE) -> tuple[Session, ...]:
    counter = SessionCounter(Facts(), site)
    for block in blocks:
        counter.extend(block)
    return counter.sessions()


def run_of(*parts, **more):
    """A block at 1 Hz from (seconds, generator watts) parts; house load of 1000 W, 10 % loss on the rest."""
    power = np.concatenate([np.full(seconds, float(watts)) for seconds, watts in parts])
    flows = {
        ("generator", "load"): np.minimum(power, 1000),
        ("generator", "battery"): 0.9 * np.maximum(power - 1000, 0),
        ("generator", "losses"): 0.1 * np.maximum(power - 1000, 0),
        ("solar", "battery"): 500.0,
    }
    return block_of(np.arange(len(power)), generator=power, flows=flows, **more)


def seconds(instant):
    return (instant - START) / SECOND


def test_a_session_runs_from_the_first_to_the_last_row_under_load():
    (found,) = counted(run_of((100, 0), (3600, 5000), (200, 0)))
    assert (seconds(found.start), seconds(found.end)) == (100, 3699)
    assert found.generator_wh == pytest.approx(5000)
    assert found.to_load_wh == pytest.approx(1000)
    assert found.to_battery_wh == pytest.approx(3600)
    assert found.losses_wh == pytest.approx(400)
    assert found.solar_to_battery_wh == pytest.approx(500)
    assert found.mean_load_share == pytest.approx(5000 / 7000)


def test_the_energies_of_a_session_add_up():
    (found,) = counted(run_of((10, 0), (777, 4321), (100, 0)))
    parts = found.to_load_wh + found.to_battery_wh + found.losses_wh
    assert parts == pytest.approx(found.generator_wh)


def test_idling_and_meter_noise_are_no_session():
    assert counted(run_of((600, 80))) == ()


def test_a_moment_of_load_is_no_session():
    assert counted(run_of((50, 0), (8, 3000), (200, 0))) == ()


def test_a_short_dip_does_not_end_a_session_and_a_long_one_does():
    assert len(counted(run_of((300, 5000), (55, 0), (300, 5000), (90, 0)))) == 1
    assert len(counted(run_of((300, 5000), (65, 0), (300, 5000), (90, 0)))) == 2


def test_the_energy_within_a_dip_belongs_to_the_session():
    (found,) = counted(run_of((9, 0), (300, 3600), (20, 50), (300, 3600), (90, 0)))
    assert found.generator_wh == pytest.approx(600 + 20 * 50 / 3600, abs=0.01)


def test_missing_readings_are_bridged_for_a_while_only():
    short, long = run_of((2000, 3600)), run_of((2000, 3600))
    short.value[:, 500:1000] = short.measured[:, 500:1000] = np.nan
    long.value[:, 500:1500] = long.measured[:, 500:1500] = np.nan
    assert len(counted(short)) == 1
    assert len(counted(long)) == 2


def test_a_gap_is_bridged_for_a_while_only_and_holds_no_energy():
    for gap, sessions in ((600, 1), (1000, 2)):
        at = np.concatenate((np.arange(100), np.arange(100) + 99 + gap))
        found = counted(block_of(at, generator=3600))
        assert len(found) == sessions
        assert sum(s.generator_wh for s in found) == pytest.approx(198)


def test_state_of_charge_at_both_ends_is_the_latest_known_one():
    soc = np.full(300, np.nan)
    soc[10], soc[150], soc[290] = 40, 45, 60
    (found,) = counted(run_of((50, 0), (150, 5000), (100, 0), channels={"battery_soc": soc}))
    assert (found.soc_start, found.soc_end) == (40, 45)
    late = np.where(np.arange(300) < 120, np.nan, 50)
    (found,) = counted(run_of((50, 0), (150, 5000), (100, 0), channels={"battery_soc": late}))
    assert found.soc_start == 50


def test_the_peak_is_that_of_the_highest_leg_under_load():
    legs = {"generator_current_l1": np.full(200, 12.0), "generator_current_l2": np.full(200, 9.0)}
    legs["generator_current_l2"][60] = 31.0
    legs["generator_current_l1"][5] = 99.0
    site = Site.parse("[generator]\nlegs = 2")
    (found,) = counted(run_of((20, 0), (150, 5000), (30, 0), channels=legs), site=site)
    assert found.peak_input_a == 31


def test_a_current_that_is_not_metered_follows_from_power_and_volts():
    # Common practice, no source: a 7.5 kW set at 240 V delivers 31.25 A at full load.
    site = Site.parse("[generator]\nlegs = 2")
    block = run_of((20, 0), (150, 7500), (30, 0), channels={"generator_voltage": np.full(200, 120.0)})
    (found,) = counted(block, site=site)
    assert found.peak_input_a == pytest.approx(31.25)


def test_a_session_that_goes_on_stands_without_an_end():
    (found,) = counted(run_of((10, 0), (100, 5000)))
    assert found.stop == "still running"
    assert seconds(found.end) == 109
    (stopped,) = counted(run_of((10, 0), (100, 5000), (200, 0)))
    assert stopped.stop != "still running"


def test_what_is_not_known_stays_unknown():
    block = run_of((10, 0), (100, 5000), (90, 0))
    block.traced[:] = np.nan
    (found,) = counted(block, site=Site())
    assert found.generator_wh == pytest.approx(5000 * 100 / 3600)
    assert math.isnan(found.to_battery_wh)
    assert math.isnan(found.mean_load_share)
    assert math.isnan(found.soc_start)


def test_a_run_can_be_seen_as_it_stood_at_any_row():
    block = run_of((10, 0), (4000, 5000), (30, 60), (800, 5000), (200, 0))
    counter = SessionCounter(Facts(), SITE)
    for piece in cut(block, 1500, 3000):
        counter.extend(piece)
    before = numbers(counter.sessions())
    for row in (30, 1024, 1500, 2999, 4020, 4500, 4839):
        start, runs = counter.runs_before(row)
        assert row - MARK_ROWS < start <= row
        *_, again, _ = cut(block, start, row + 1)
        again.step[0] = again.step[0] if start else np.nan
        runs.extend(again)
        (expected,) = counted(next(cut(block, row + 1)))
        assert session_of(runs.latest, 7000.0, "still running").generator_wh == pytest.approx(
            expected.generator_wh
        )
    np.testing.assert_equal(numbers(counter.sessions()), before)


def test_how_a_run_ended_is_told():
    volts = np.full(400, 230.0)
    kept = run_of((10, 0), (190, 5000), (200, 0), channels={"generator_voltage": volts})
    assert [s.stop for s in counted(kept)] == ["normal"]
    volts = np.where(np.arange(400) < 200, 230.0, 0.0)
    dropped = run_of((10, 0), (190, 5000), (200, 0), channels={"generator_voltage": volts})
    assert [s.stop for s in counted(dropped)] == ["under load"]


def numbers(found):
    return [
        [getattr(s, name) for name in Session.__slots__ if name not in ("start", "end", "stop")]
        for s in found
    ]


@given(
    parts=st.lists(
        st.tuples(st.integers(1, 90), st.sampled_from([0.0, 90.0, 4000.0, 6000.0, math.nan])),
        min_size=1,
        max_size=12,
    ),
    gaps=st.lists(st.tuples(st.integers(1, 1000), st.sampled_from([30, 400, 2000])), max_size=3),
    at=st.lists(st.integers(0, 1000), max_size=10),
)
@settings(deadline=None)
def test_sessions_do_not_depend_on_the_cut(parts, gaps, at):
    power = np.concatenate([np.full(count, watts) for count, watts in parts])
    offsets = np.arange(float(len(power)))
    for row, length in gaps:
        offsets[row:] += length
    soc = np.where(np.arange(len(power)) % 7, np.nan, np.arange(len(power)) % 100)
    flows = {("generator", "battery"): power, ("solar", "battery"): 200.0}
    block = block_of(offsets, generator=power, flows=flows, channels={"battery_soc": soc})
    whole, pieces = counted(block), counted(*cut(block, *[row for row in at if row < len(power)]))
    assert [(s.start, s.end, s.stop) for s in pieces] == [(s.start, s.end, s.stop) for s in whole]
    np.testing.assert_allclose(numbers(pieces), numbers(whole), rtol=1e-11, atol=1e-9)
