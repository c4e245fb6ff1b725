"""Input current, generator load and the input limit against what the set can carry."""

import numpy as np
import pytest
from diagnosis_blocks import Facts, block, kinds, running, second, sheet, the

from desktop.diagnosis.plant import Plant

LOADED = 240
"""The row from which the set of `running` carries load."""


def with_input(amperes, *, n=900, **more):
    channels = running(n)
    channels["generator_current"] = np.where(np.arange(n) >= LOADED, 20.8, 0.0)
    for start, count, value in amperes:
        channels["generator_current"][start : start + count] = value
    return block(channels, **more)


def test_a_charge_at_its_limit_is_no_finding():
    rows = with_input([(LOADED, 660, 25.4)])
    assert kinds(rows) == []


def test_ten_seconds_above_the_limit_are_told():
    found = the("input_over_limit", with_input([(500, 12, 26.6)]))
    assert second(found) == (500, 512)
    assert (found.peak, found.threshold, found.unit) == (pytest.approx(26.6), 25.0, "A")
    assert found.severity == "act now"
    assert "26.6 A" in str(found.text)
    assert "25.0 A for 12 s" in str(found.text)
    assert kinds(with_input([(500, 9, 26.6)])) == []


def test_three_seconds_above_110_percent_are_told():
    assert second(the("input_over_limit", with_input([(500, 4, 28.0)]))) == (500, 504)
    assert kinds(with_input([(500, 3, 28.0)])) == []


def test_the_device_s_own_limit_goes_before_the_sheet_s():
    rows = with_input([])
    rows.channels["input_limit"] = np.where(np.arange(900) % 30 == 0, 16.0, np.nan)
    assert the("input_over_limit", rows).threshold == 16.0


def test_overload_is_judged_leg_by_leg():
    # Common practice, no source: a 240 V, 30 A set on split phase. 3000 W and 1200 W on legs of 120 V are 25 A
    # and 10 A: 83 % on one leg while the set carries 58 %.
    site = sheet(generator={"rated_w": 7200, "volts": 120, "legs": 2}, input={"limit_a": 22})
    channels = running(600)
    channels["generator_power"] = np.where(np.arange(600) >= LOADED, 4200.0, 0.0)
    channels["generator_voltage"] = channels["generator_voltage"] * 120 / 230
    channels["generator_current_l1"] = channels["generator_power"] * 3000 / 4200 / 120
    channels["generator_current_l2"] = channels["generator_power"] * 1200 / 4200 / 120
    found = the("input_over_limit", block(channels), site, Facts(volts=120.0))
    assert (found.channel, found.peak) == ("generator_current_l1", pytest.approx(25.0))
    assert "Leg 1" in str(found.text)
    unequal = the("legs_unequal", block(channels), site, Facts(volts=120.0))
    assert (unequal.peak, second(unequal)) == (pytest.approx(15.0), (LOADED, None))


def test_amperes_volts_and_watts_of_the_trade():
    # Common practice, no source: a 7.5 kW set at 240 V gives 31.25 A at full load, 30 A is a usual limit for it.
    plant = Plant.of(Facts(volts=240.0), sheet(generator={"volts": 240}, input={"limit_a": 30}))
    assert plant.leg_a == pytest.approx(31.25)
    assert plant.limit_a < plant.leg_a
    # Textbook: S = 5 kVA at P = 4 kW has a power factor of 0.8; at 240 V that is 20.83 A.
    plant = Plant.of(Facts(volts=240.0), sheet(generator={"rated_w": 4000, "power_factor": 0.8}))
    assert plant.leg_a == pytest.approx(20.8333, abs=1e-4)


def test_the_current_is_worked_out_from_power_where_it_isn_t_metered():
    channels = running(700)
    channels["generator_power"][500:520] += 1500
    channels["load_power"][499:520] += 1500
    found = the("input_over_limit", block(channels))
    assert found.peak == pytest.approx(6300 / 230, rel=0.01)
    assert "house load step" in str(found.cause)
    assert "1.5" in str(found.cause)


def test_a_load_step_and_the_charger_s_answer_are_the_cause():
    channels = running(700)
    channels["load_power"][500:600] += 1700
    channels["generator_power"][501:510] += 1700
    channels["converter_ac_power"][510:600] -= 1700
    found = the("input_over_limit", block(channels))
    assert second(found) == (501, 510)
    assert str(found.cause) == (
        f"A house load step of {found.cause.values['step'] / 1000:.2f} kW came 1 s before; "
        "the charger took 10 s to give way."
    )
    assert found.cause.values["step"] == pytest.approx(1700, abs=20)


def overloaded(watts, count=40):
    channels = running(900)
    channels["generator_power"][500 : 500 + count] = watts
    return block(channels)


def test_a_set_beyond_its_rating_is_told():
    site = sheet(input={"limit_a": None})
    found = the("generator_over_rating", overloaded(8000), site)
    assert second(found) == (500, 540)
    assert (found.peak, found.threshold, found.unit) == (8000.0, 7500.0, "W")
    assert "107 %" in str(found.text)
    assert "26.1 A" in str(found.advice)
    assert kinds(overloaded(7600), site) == []
    assert kinds(overloaded(8000, 9), site) == []
    assert second(the("generator_over_rating", overloaded(8600, 4), site)) == (500, 504)


def test_thin_air_makes_the_same_load_an_overload():
    site = sheet(input={"limit_a": None}, generator={"altitude_m": 2000})
    assert the("generator_over_rating", overloaded(6200), site).threshold == pytest.approx(5676, abs=2)
    assert kinds(overloaded(6200), sheet(input={"limit_a": None})) == []


def test_a_bad_power_factor_overloads_the_alternator():
    # 7.5 kW at power factor 1 is 32.6 A on one leg of 230 V.
    channels = running(600)
    channels["generator_current"] = np.where(np.arange(600) >= LOADED, 36.0, 0.0)
    found = the("generator_over_rating", block(channels), sheet(input={"limit_a": 50}))
    assert "110 % of the generator's rating" in str(found.text)


def test_without_a_rating_no_overload_is_told():
    site = sheet(generator={"rated_w": None}, input={"limit_a": None})
    assert kinds(overloaded(20000), site) == []


def test_a_limit_above_the_rating_stands_while_the_set_runs():
    channels = running(900)
    channels["generator_frequency"][800:] = 0.0
    channels["generator_voltage"][800:] = 0.0
    for name in ("generator_power", "converter_ac_power"):
        channels[name][700:] = 0.0
    site = sheet(generator={"rated_w": 5500})
    found = the("limit_above_rating", block(channels), site)
    assert second(found) == (60, 800)
    assert (found.peak, found.threshold) == (25.0, pytest.approx(5500 / 230))
    assert "5.75 kW" in str(found.text)
    assert kinds(block(channels)) == []


def test_a_limit_is_held_against_the_derated_rating():
    site = sheet(generator={"rated_w": 6500, "altitude_m": 1800, "air_c": 35})
    found = the("limit_above_rating", block(running(400)), site)
    assert "1800 m" in str(found.cause)
    assert "limit_above_rating" not in kinds(block(running(400)), sheet(generator={"rated_w": 6500}))


def test_a_missing_meter_is_no_alarm():
    rows = with_input([(500, 300, np.nan)])
    rows.measured[:, 500:] = np.nan
    rows.value[:, 500:] = np.nan
    assert [kind for kind in kinds(rows) if kind.startswith(("input", "generator"))] == []


def test_a_charger_that_went_down_with_the_set_didn_t_back_off():
    channels = running(700)
    channels["load_power"][500:] += 4000
    channels["generator_power"][500:505] += 4000
    for name in ("generator_power", "converter_ac_power", "generator_frequency", "generator_voltage"):
        channels[name][505:] = 0.0
    found = the("generator_over_rating", block(channels))
    assert "came at that moment." in str(found.cause)
    assert "give way" not in str(found.cause)
