"""Frequency, voltage, light load, short runs and stops of the generator."""

import numpy as np
import pytest
from diagnosis_blocks import Facts, block, findings, kinds, running, second, sheet, the


def changed(channel, start, stop, value, n=1200):
    channels = running(n)
    channels[channel][start:stop] = value
    return block(channels)


BANDS = [
    # ISO 8528-5, class G2: 5 % droop, steady band 1.5 %; low-power sets by ISO 8528-8 hold 10 % of voltage.
    # At 50 Hz the band is 48.375 … 52.875 Hz, at 230 V 207 … 253 V.
    ("generator_frequency_low", "generator_frequency", 48.3, 48.45, "Hz", 48.375),
    ("generator_frequency_high", "generator_frequency", 53.0, 52.8, "Hz", 52.875),
    ("generator_voltage_low", "generator_voltage", 205.0, 208.0, "V", 207.0),
    ("generator_voltage_high", "generator_voltage", 254.0, 252.0, "V", 253.0),
]


@pytest.mark.parametrize(("kind", "channel", "bad", "good", "unit", "edge"), BANDS)
def test_a_band_that_is_left_for_ten_seconds(kind, channel, bad, good, unit, edge):
    found = the(kind, changed(channel, 600, 640, bad))
    assert second(found) == (600, 640)
    assert (found.peak, found.unit, found.severity) == (bad, unit, "attend")
    assert found.threshold == pytest.approx(edge)
    assert "for 40 s" in str(found.text)
    assert kinds(changed(channel, 600, 610, bad)) == []
    assert kinds(changed(channel, 600, 640, good)) == []


@pytest.mark.parametrize(("kind", "channel", "bad", "good", "unit", "edge"), BANDS)
def test_a_cold_set_may_hunt(kind, channel, bad, good, unit, edge):
    assert kinds(changed(channel, 60, 175, bad)) == []


def test_bands_of_60_hz():
    # G2 band at 60 Hz: ± 0.45 Hz, no-load frequency 63.0 Hz with 5 % droop.
    channels = running(600)
    channels["generator_frequency"] = channels["generator_frequency"] * 1.2
    site, facts = sheet(generator={"hz": 60}), Facts(hz=60.0)
    assert kinds(block(channels), site, facts) == []
    channels["generator_frequency"][400:] = 63.46
    assert the("generator_frequency_high", block(channels), site, facts).threshold == pytest.approx(63.45)


def test_the_worst_leg_is_named():
    channels = running(600)
    for leg in ("l1", "l2"):
        channels[f"generator_voltage_{leg}"] = channels["generator_voltage"].copy()
    channels["generator_voltage_l2"][400:] = 200.0
    found = the("generator_voltage_low", block(channels))
    assert found.channel == "generator_voltage_l2"
    assert "on leg 2" in str(found.text)


def test_without_nominal_values_no_band_is_judged():
    rows = changed("generator_frequency", 400, 900, 45.0)
    assert [k for k in kinds(rows, facts=Facts(hz=None)) if "frequency" in k] == []


def lightly(watts, minutes):
    n = 240 + minutes * 60
    channels = running(n + 300)
    channels["generator_power"][240:n] = watts
    channels["converter_ac_power"][240:n] = watts - channels["load_power"][240:n]
    return block(channels)


def test_a_quarter_of_an_hour_at_light_load():
    # NFPA 110 (8.4.2): at least 30 % of the rating on the plate, here 2250 W.
    found = the("generator_lightly_loaded", lightly(2200.0, 20))
    assert second(found)[0] == 60
    assert found.threshold == pytest.approx(2250)
    assert "diesel" in str(found.advice)
    assert "generator_lightly_loaded" not in kinds(lightly(2200.0, 11))
    assert "generator_lightly_loaded" not in kinds(lightly(2300.0, 30))


def cycles(runs, n):
    """A set that runs from … to …; nothing else happens."""
    channels = running(n, off=n)
    for start, stop in runs:
        channels["generator_frequency"][start:stop] = 50.5
        channels["generator_voltage"][start:stop] = 230.0
    return block(channels)


def test_a_run_of_less_than_five_minutes():
    found = the("generator_short_cycle", cycles([(100, 340)], 1000))
    assert second(found) == (100, 340)
    assert "4 min only" in str(found.text)
    assert kinds(cycles([(100, 420)], 1000)) == []


def test_three_starts_within_an_hour():
    runs = [(100, 700), (1300, 1900), (2500, 3100)]
    found = the("generator_short_cycle", cycles(runs, 4000))
    assert second(found) == (100, 3100)
    assert "3 times within 40 min" in str(found.text)
    assert kinds(cycles([(100, 700), (2500, 3100)], 4000)) == []


def test_short_runs_in_a_row_are_one_finding():
    found = the("generator_short_cycle", cycles([(100, 200), (600, 700), (1100, 1200), (1600, 1700)], 2000))
    assert second(found) == (100, 1700)
    assert "4 times" in str(found.text)


def test_a_run_whose_start_was_not_seen_is_not_called_short():
    assert kinds(cycles([(0, 200)], 1000)) == []


def stopped(*, power=5000.0, run_on=0, fuel=None, n=1200, at=900, site=None, step=1.0, facts=None):
    channels = running(n)
    channels["generator_power"][at - 10 : at] = power
    for name in ("generator_power", "converter_ac_power"):
        channels[name][at:] = 0.0
    channels["battery_power"][at:] = -700.0
    for name in ("generator_frequency", "generator_voltage"):
        channels[name][at + run_on :] = 0.0
    if fuel is not None:
        channels["fuel_level"] = np.full(n, fuel)
    return findings(block(channels, step_s=step), site or sheet(input={"limit_a": None}), facts)


def test_a_stop_after_running_on_unloaded_is_normal():
    assert stopped(run_on=60) == ()


def test_a_stop_out_of_full_load():
    (found,) = stopped()
    assert (found.kind, found.severity) == ("generator_stopped_under_load", "act now")
    assert second(found) == (900, None)
    assert found.peak == 5000.0
    assert "5.00 kW" in str(found.text)
    assert "switched off under load" in str(found.cause)


def test_overload_is_the_cause_that_is_named():
    found = [one for one in stopped(power=8100.0) if one.kind == "generator_stopped_under_load"]
    assert "108 %" in str(found[0].cause)
    assert "input limit" in str(found[0].advice)


def test_an_empty_tank_is_the_cause_that_is_named():
    (found,) = stopped(fuel=0.0)
    assert str(found.cause) == "It ran dry: the tank read 0 %."
    assert "cool before refuelling" in str(found.advice)


def test_a_stop_stands_until_the_set_carries_load_again_but_for_ten_minutes_at_most():
    channels = running(3000)
    for name in ("generator_power", "converter_ac_power", "generator_frequency", "generator_voltage"):
        channels[name][900:1300] = 0.0
    found = the("generator_stopped_under_load", block(channels))
    assert second(found) == (900, 1300)
    (late,) = stopped(n=1800)
    assert second(late) == (900, 1500)


def test_voltage_and_speed_that_collapse_belong_to_the_stop():
    channels = running(1200)
    channels["generator_frequency"][880:900] = np.linspace(48, 41, 20)
    channels["generator_voltage"][880:900] = np.linspace(205, 196, 20)
    for name in ("generator_power", "converter_ac_power", "generator_frequency", "generator_voltage"):
        channels[name][900:] = 0.0
    (found,) = findings(block(channels))
    assert found.kind == "generator_stopped_under_load"
    assert "41.0 Hz" in str(found.cause)


def test_a_run_that_was_short_because_the_set_tripped_belongs_to_the_trip():
    channels = running(1200)
    for name in ("generator_power", "converter_ac_power", "generator_frequency", "generator_voltage"):
        channels[name][300:] = 0.0
    assert kinds(block(channels)) == ["generator_stopped_under_load"]


def test_load_that_comes_back_at_once_was_no_stop():
    channels = running(1200)
    for name in ("generator_power", "converter_ac_power"):
        channels[name][600:610] = 0.0
    assert kinds(block(channels)) == []


def test_a_light_load_may_be_dropped():
    assert stopped(power=400.0) == ()


def test_a_gap_over_the_stop_leaves_it_open():
    steps = np.ones(1200)
    steps[900] = 400.0
    assert [one.kind for one in stopped(step=steps)] == ["telemetry_gap"]


def test_a_log_by_the_minute_blames_only_with_evidence():
    slow = Facts(interval_s=60.0, gap_s=180.0)
    site = sheet(input={"limit_a": None})
    about = ("generator_over_rating", "generator_stopped_under_load")
    calm = stopped(step=60.0, facts=slow, site=site)
    assert [one for one in calm if one.kind in about] == []
    told = stopped(step=60.0, facts=slow, site=site, power=8200.0)
    assert [one.kind for one in told if one.kind in about] == list(about)
