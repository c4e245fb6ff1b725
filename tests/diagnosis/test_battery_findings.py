"""Charge current, voltage, temperature and state of charge of the battery."""

import numpy as np
import pytest
from diagnosis_blocks import Facts, block, findings, kinds, running, second, sheet, the

from desktop.diagnosis.battery import compensation_v, highest_charge_v
from desktop.site import Battery


def changed(channel, start, stop, value, n=1200):
    channels = running(n)
    channels[channel][start:stop] = value
    return block(channels)


def test_more_than_the_charger_is_set_to():
    rows = changed("converter_dc_power", 600, 620, 90 * 53.5)
    rows.channels["battery_voltage"][600:620] = 53.5
    found = the("charge_over_limit", rows)
    assert second(found) == (600, 620)
    assert (found.peak, found.threshold) == (pytest.approx(90.0), 80.0)
    assert "charger gave up to 90.0 A on a limit of 80.0 A" in str(found.text)


def test_more_than_the_battery_may_take():
    found = the("charge_over_limit", changed("battery_current", 600, 620, 160.0))
    assert (found.peak, found.threshold) == (160.0, 150.0)
    assert "which may take 150 A, was charged with up to 160 A" in str(found.text)
    assert kinds(changed("battery_current", 600, 620, 152.0)) == []
    assert kinds(changed("battery_current", 600, 609, 160.0)) == []


def test_the_sun_may_add_to_what_the_charger_gives():
    channels = running(1200)
    channels["battery_current"][600:] += 40
    assert kinds(block(channels)) == []


def test_a_current_that_is_only_computed_must_be_sure():
    rows = changed("converter_dc_power", 600, 640, 90 * 53.5)
    row = 5
    rows.value[row] = rows.measured[row]
    rows.measured[row] = np.nan
    del rows.channels["converter_dc_power"]
    assert the("charge_over_limit", rows).peak == pytest.approx(90 - 2 * 20 / 53.5, rel=0.01)
    rows.chi2[:] = 50.0
    assert kinds(rows) == []


def test_the_device_s_charge_limit_goes_before_the_sheet_s():
    channels = running(1200)
    channels["charge_limit"] = np.full(1200, 50.0)
    assert the("charge_over_limit", block(channels)).threshold == 50.0


def test_voltage_above_absorption():
    found = the("battery_over_voltage", changed("battery_voltage", 600, 630, 57.5))
    assert second(found) == (600, 630)
    assert (found.peak, found.threshold) == (57.5, pytest.approx(57.12))
    assert "57.5 V" in str(found.text)
    assert kinds(changed("battery_voltage", 600, 610, 57.5)) == []
    assert kinds(changed("battery_voltage", 600, 900, 56.9)) == []


def test_the_highest_charge_voltage_of_a_chemistry():
    # LiFePO4 at most 3.65 V per cell: 14.6, 29.2 and 58.4 V for 4, 8 and 16 cells (cell maker's data sheet).
    for nominal, volts in ((12.8, 14.6), (25.6, 29.2), (51.2, 58.4), (48, 58.4)):
        level, _ = highest_charge_v(Battery(chemistry="lfp", nominal_v=nominal))
        assert level == pytest.approx(1.01 * volts)
    assert highest_charge_v(Battery(chemistry="agm", nominal_v=24))[1] == 12
    assert highest_charge_v(Battery(chemistry="flooded", absorb_v=57.6))[1] == 24
    assert np.isnan(highest_charge_v(Battery())[0])


def test_compensation_lies_within_what_makers_print():
    # Sealed 12 V, 2.40 V per cell, −3 mV/°C: 14.85 V at 0 °C, 14.13 V at 40 °C. Gel 48 V, −5 mV/°C: 60.6 V at
    # 0 °C, 55.8 V at 40 °C (battery makers' guides). A charger by either table must not be blamed.
    added = compensation_v(np.array([0.0, 10.0, 25.0, 40.0]), 6)
    assert (14.4 + added >= np.array([14.85, 14.67, 14.40, 14.13]) - 1e-9).all()
    added = compensation_v(np.array([0.0, 10.0, 25.0, 40.0]), 24)
    assert (57.6 + added >= np.array([60.6, 59.4, 57.6, 55.8]) - 1e-9).all()
    assert compensation_v(np.array([np.nan]), 24) == pytest.approx(1.8)


def test_a_cold_lead_battery_may_stand_higher():
    site = sheet(battery={"chemistry": "agm", "nominal_v": 48, "absorb_v": 57.6})
    for celsius, told in ((0.0, False), (25.0, True)):
        channels = running(1200)
        channels["battery_voltage"][600:] = 60.5
        channels["battery_temperature"][:] = celsius
        assert ("battery_over_voltage" in kinds(block(channels), site)) is told


def test_charging_below_freezing():
    channels = running(1200)
    channels["battery_temperature"][:] = -4.0
    found = the("charging_while_cold", block(channels))
    assert second(found) == (240, None)
    assert (found.peak, found.threshold, found.severity) == (-4.0, 0.0, "act now")
    assert "−4 °C" in str(found.text)
    channels["battery_temperature"][:] = 1.0
    assert kinds(block(channels)) == []
    channels["battery_temperature"][:] = -4.0
    lead = sheet(battery={"chemistry": "agm", "nominal_v": 48, "absorb_v": None})
    assert "charging_while_cold" not in kinds(block(channels), lead)
    assert "charging_while_cold" in kinds(block(channels), sheet(battery={"min_charge_c": 5}))
    assert kinds(block(channels), sheet(battery={"chemistry": None})) == []


def test_discharging_in_the_cold_is_fine():
    channels = running(400, off=400)
    channels["battery_temperature"][:] = -4.0
    assert kinds(block(channels)) == []


def test_battery_low():
    channels = running(1200)
    channels["battery_soc"] = np.concatenate((np.linspace(20.4, 19.4, 600), np.linspace(19.4, 23.4, 600)))
    site = sheet(battery={"capacity_kwh": None})
    found = the("battery_low", block(channels), site)
    start, end = second(found)
    assert start == pytest.approx(240, abs=2)
    assert end == pytest.approx(600 + 150 * 2.6, abs=3)
    assert (found.peak, found.threshold) == (pytest.approx(19.4), 20.0)


def test_the_state_of_charge_jumps():
    channels = running(1200)
    channels["battery_soc"][700:] += 12
    found = the("soc_jump", block(channels))
    assert second(found) == (699, 700)
    assert found.peak == pytest.approx(12, abs=0.2)
    assert "no such charge flowed" in str(found.text)
    assert "soc_disagrees" not in kinds(block(channels))


def test_jumps_in_a_row_are_one_finding():
    channels = running(1200)
    channels["battery_soc"][600:800] += np.where(np.arange(200) % 2 == 0, 8.0, 0.0)
    found = the("soc_jump", block(channels))
    assert second(found) == (599, 799)
    assert "200 times" in str(found.text)


def test_a_gauge_by_whole_percents_is_no_jump():
    channels = running(3600)
    channels["battery_soc"] = np.round(channels["battery_soc"])
    assert kinds(block(channels)) == []


def test_without_capacity_only_a_large_jump_is_one():
    site = sheet(battery={"capacity_kwh": None})
    for points, told in ((4.0, False), (6.0, True)):
        channels = running(1200)
        channels["battery_soc"][700:] += points
        assert ("soc_jump" in kinds(block(channels), site)) is told


def test_a_change_over_a_gap_is_no_jump():
    channels = running(1200)
    channels["battery_soc"][700:] += 12
    steps = np.ones(1200)
    steps[700] = 3600.0
    assert kinds(block(channels, step_s=steps)) == ["telemetry_gap"]


def test_a_gauge_that_leaves_what_was_counted():
    channels = running(9000)
    channels["battery_soc"] = np.full(9000, 45.0)
    found = the("soc_disagrees", block(channels))
    start, end = second(found)
    # 4.2 kW less losses into 15 kWh: 10 points and 15 % of what flowed are reached after some 27 minutes.
    assert 1700 < start < 2100
    assert end is None
    assert "The gauge read 45 %" in str(found.text)
    assert "15.00 kWh" in str(found.cause)
    assert "soc_disagrees" not in kinds(block(running(9000)))


def idle(**changes):
    channels = running(1500)
    n = slice(240, 1500)
    channels["generator_power"][n] = 900 + np.arange(1260) % 7
    channels["converter_ac_power"][n] = 0.0
    channels["converter_dc_power"][n] = 0.0
    channels["battery_power"][n] = 0.0
    channels["battery_current"][n] = 0.0
    channels.update(changes)
    return block(channels)


def test_a_charger_that_does_nothing():
    found = the("charger_idle", idle())
    assert second(found) == (240, None)
    assert "at 45 %, took nothing while the generator carried 0.90 kW" in str(found.text)
    # Light load follows from it and is not told beside it.
    assert kinds(idle()) == ["charger_idle"]


def test_a_charger_that_is_off_or_not_wanted_is_not_called_idle():
    assert "charger_idle" not in kinds(idle(charger_enabled=np.zeros(1500)))
    assert "charger_idle" not in kinds(idle(battery_soc=np.full(1500, 75.0)))
    assert "charger_idle" not in kinds(idle(battery_soc=np.full(1500, np.nan)))
    full = idle()
    full.measured[0, 240:] = 5600.0
    assert "charger_idle" not in kinds(full)


def test_cold_is_the_cause_that_is_named():
    assert "too cold" in str(the("charger_idle", idle(battery_temperature=np.full(1500, -6.0))).cause)


def test_a_battery_that_gives_while_the_generator_runs():
    channels = running(1500)
    channels["load_power"][700:900] = 7000.0
    channels["battery_power"][700:900] = -1500.0
    found = the("battery_discharging_on_generator", block(channels))
    assert second(found) == (700, 900)
    assert (found.peak, found.severity) == (1500.0, "attend")
    assert "The house took 7.00 kW" in str(found.cause)
    channels["battery_power"][760:] = 3900.0
    assert "battery_discharging_on_generator" not in kinds(block(channels))


def test_a_battery_may_help_while_the_set_warms_up():
    channels = running(1500, warm=5)
    channels["battery_power"][60:175] = -1500.0
    assert kinds(block(channels)) == []


def test_missing_readings_of_the_battery_raise_nothing():
    channels = running(2400)
    for name in ("battery_power", "battery_current", "battery_voltage", "battery_soc", "battery_temperature"):
        channels[name][600:] = np.nan
    rows = block(channels)
    assert findings(rows) == ()
    assert findings(rows, facts=Facts(volts=None, hz=None)) == ()
