"""Balance, legs, sources, telemetry: what concerns the plant as a whole."""

import numpy as np
import pytest
from diagnosis_blocks import START, Facts, block, kinds, running, second, sheet, the

from recordings.provenance import ClockJump


def missing(place, watts, count, n=1200):
    off = np.zeros(n)
    off[300 : 300 + count] = watts
    return block(running(n), unaccounted={place: off}, sd=20.0)


@pytest.mark.parametrize(
    ("place", "watts", "words"),
    [
        ("ac", 480.0, "0.48 kW came in on the AC side and was not seen to leave"),
        ("dc", -480.0, "0.48 kW was used on the DC side and not seen to come in"),
        ("both", 480.0, "in the plant as a whole"),
    ],
)
def test_power_that_doesn_t_add_up(place, watts, words):
    found = the("power_unaccounted", missing(place, watts, 120))
    assert second(found) == (300, 420)
    assert (found.channel, found.peak, found.threshold) == (place, 480.0, 100.0)
    assert words in str(found.text)
    assert kinds(missing(place, watts, 50)) == []
    assert kinds(missing(place, watts / 5, 600)) == []


def test_what_meters_can_explain_is_not_unaccounted():
    off = np.full(900, 400.0)
    assert kinds(block(running(900), unaccounted={"ac": off}, sd=150.0)) == []
    assert kinds(block(running(900), unaccounted={"ac": off}, sd=100.0)) == ["power_unaccounted"]


def test_a_battery_meter_that_lies_is_not_believed():
    channels = running(1500)
    channels["battery_power"][240:] = -channels["battery_power"][240:]
    kept = kinds(block(channels))
    assert "battery_discharging_on_generator" in kept
    off = np.where(np.arange(1500) >= 240, 7000.0, 0.0)
    kept = kinds(block(channels, unaccounted={"dc": off}))
    assert "power_unaccounted" in kept
    assert "battery_discharging_on_generator" not in kept


def test_legs_apart():
    channels = running(900)
    loaded = np.arange(900) >= 240
    channels["generator_current_l1"] = np.where(loaded, 14.0, 0.0)
    channels["generator_current_l2"] = np.where(loaded, 5.0, 0.0)
    site = sheet(generator={"legs": 2}, input={"limit_a": 15})
    # 7.5 kW on two legs of 230 V: 16.3 A each.
    found = the("legs_unequal", block(channels), site)
    assert (second(found), found.peak) == ((240, None), 9.0)
    assert found.threshold == pytest.approx(0.25 * 7500 / 460)
    assert "Leg 1 carried 14.0 A of 16.3 A, the lightest 5.0 A at the same time." in str(found.text)
    channels["generator_current_l2"][loaded] = 10.5
    assert kinds(block(channels), site) == []
    channels["generator_current_l1"][loaded], channels["generator_current_l2"][loaded] = 7.0, 1.0
    assert kinds(block(channels), site) == []


def two(grid, count=120):
    channels = running(900)
    channels["grid_power"] = np.zeros(900)
    channels["grid_power"][500 : 500 + count] = grid
    return block(channels)


def test_generator_and_grid_at_once():
    found = the("two_sources_live", two(1500.0))
    assert second(found) == (500, 620)
    assert found.severity == "act now"
    assert "1.50 kW came from the grid" in str(found.text)
    assert "licensed electrician" in str(found.advice)
    assert "flowed out into the grid" in str(the("two_sources_live", two(-1500.0)).text)
    assert kinds(two(1500.0, 5)) == []
    assert kinds(two(60.0)) == []


def test_a_gap_in_the_readings():
    steps = np.ones(900)
    steps[400] = 600.0
    found = the("telemetry_gap", block(running(900), step_s=steps))
    assert second(found) == (399, 999)
    assert (found.peak, found.threshold, found.unit) == (600.0, 60.0, "s")
    assert "10 min" in str(found.text)


def test_gaps_in_a_row_are_one_finding():
    steps = np.ones(900)
    steps[[400, 500, 600]] = (100.0, 300.0, 200.0)
    found = the("telemetry_gap", block(running(900), step_s=steps))
    assert second(found) == (399, 600 + 597)
    assert "3 gaps in the readings, the longest of 5 min" in str(found.text)


def test_a_reading_that_stands_still():
    channels = running(3000)
    channels["load_power"][600:1400] = 612.0
    channels["generator_power"][700:] += 300.0
    found = the("telemetry_stuck", block(channels))
    assert second(found) == (600, 1399)
    assert (found.channel, found.peak) == ("load_power", 612.0)
    assert "load power read exactly 0.61 kW" in str(found.text)


@pytest.mark.parametrize(
    ("channel", "value", "count"),
    [("load_power", 612.0, 590), ("load_power", 12.0, 900), ("load_power", np.nan, 900)],
)
def test_what_may_stand_still(channel, value, count):
    channels = running(3000)
    channels[channel][600 : 600 + count] = value
    channels["generator_power"][700:] += 300.0
    assert "telemetry_stuck" not in kinds(block(channels))


def test_nothing_is_stuck_while_nothing_else_moves():
    channels = running(1800, off=1800)
    for name in (
        "load_power",
        "battery_power",
        "battery_current",
        "converter_ac_power",
        "converter_dc_power",
    ):
        channels[name][:] = channels[name][0]
    assert kinds(block(channels)) == []


def test_a_slow_log_needs_more_rows_to_be_stuck():
    channels = running(300)
    channels["load_power"][50:75] = 612.0
    channels["generator_power"][55:] += 400.0
    slow = Facts(interval_s=60.0, gap_s=180.0)
    assert "telemetry_stuck" not in kinds(block(channels, step_s=60.0, gap_s=180.0), facts=slow)
    channels["load_power"][50:82] = 612.0
    assert "telemetry_stuck" in kinds(block(channels, step_s=60.0, gap_s=180.0), facts=slow)


def test_a_clock_that_went_back():
    jump = ClockJump(before=START + 500_000_000_000, after=START + 200_000_000_000)
    found = the("clock_jump", block(running(900)), jumps=[jump])
    assert second(found) == (200, 500)
    assert "went back by 5 min" in str(found.text)
