"""The checks of settings, from the sheet alone and with what a recording shows."""

from itertools import pairwise

import numpy as np
import pytest
from diagnosis_blocks import START, block, part, running
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.diagnosis.settings_check.book import SettingsBook, SettingsEvidence
from desktop.diagnosis.settings_check.checking import settings_check
from desktop.flow.learned import learn
from desktop.flow.worker import Worker
from desktop.review.checks import checks_json, checks_text
from desktop.site import Site
from recordings.recording import Recording

SHEET = {
    "generator": {"rated_w": 6900, "volts": 230, "hz": 50},
    "input": {"limit_a": 24, "circuit_a": 32},
    "charger": {"limit_a": 80, "on_grid": False},
    "inverter": {"cut_off_soc": 20},
    "battery": {
        "chemistry": "lfp",
        "capacity_kwh": 15,
        "nominal_v": 51.2,
        "max_charge_a": 100,
        "reserve_soc": 20,
    },
}


def site(**changes):
    table = {name: {**keys, **changes.pop(name, {})} for name, keys in SHEET.items()}
    cleared = {
        name: {key: value for key, value in keys.items() if value is not None} for name, keys in table.items()
    }
    return Site.of({**cleared, **changes})


def states(sheet, seen=None):
    return {check.key: check.state for check in settings_check(sheet, None, seen)}


def the(key, sheet, seen=None):
    return next(check for check in settings_check(sheet, None, seen) if check.key == key)


def test_a_sheet_alone_is_checked_as_far_as_it_goes():
    assert states(site()) == {
        "limit_within_rating": "pass",
        "limit_within_circuit": "pass",
        "limit_as_given": "unknown",
        "charger_within_battery": "pass",
        "charger_on_with_generator": "unknown",
        "charger_off_on_grid": "unknown",
        "cut_off_above_reserve": "pass",
        "charge_within_temperatures": "unknown",
    }


def test_of_an_empty_sheet_nothing_is_known():
    assert set(states(Site()).values()) == {"unknown"}


def test_the_limit_is_held_against_the_derated_rating():
    # ISO 3046-1 / ISO 15550 at 84.560 kPa (1500 m in the standard atmosphere), 40 °C, 30 % humidity: α = 0.76654,
    # formula quoted from memory, worked by hand. Of 10 kW that leaves 7665 W, 33.3 A at 230 V.
    high = {"rated_w": 10_000, "altitude_m": 1500, "air_c": 40}
    assert states(site(generator=high, input={"limit_a": 33}))["limit_within_rating"] == "pass"
    check = the("limit_within_rating", site(generator=high, input={"limit_a": 34}))
    assert check.state == "fail"
    values = {value.name: value.value for value in check.values}
    assert values["derated_w"] == pytest.approx(7665, abs=2)
    assert values["most_a"] == pytest.approx(33.33, abs=0.01)
    assert "7.67 kW" in str(check.means)
    assert states(site(generator={"rated_w": 10_000}, input={"limit_a": 34}))["limit_within_rating"] == "pass"


def test_each_leg_counts():
    legs = {"rated_w": 7200, "volts": 120, "legs": 2, "hz": 60}
    # 7200 W over two legs of 120 V are 30 A (common practice, no source).
    assert states(site(generator=legs, input={"limit_a": 30}))["limit_within_rating"] == "pass"
    assert states(site(generator=legs, input={"limit_a": 31}))["limit_within_rating"] == "fail"


@pytest.mark.parametrize(("circuit", "usual"), [(20, 16), (30, 24), (50, 40)])
def test_four_fifths_of_a_circuit_for_what_runs_for_hours(circuit, usual):
    # Common practice, no source; local code governs.
    assert states(site(input={"limit_a": usual, "circuit_a": circuit}))["limit_within_circuit"] == "pass"
    check = the("limit_within_circuit", site(input={"limit_a": usual + 1, "circuit_a": circuit}))
    assert check.state == "fail"
    assert "local code" in str(check.how)


def test_charger_and_cut_off_against_the_battery():
    assert states(site(charger={"limit_a": 120}))["charger_within_battery"] == "fail"
    assert states(site(inverter={"cut_off_soc": 10}))["cut_off_above_reserve"] == "fail"
    by_voltage = {"cut_off_soc": None, "cut_off_v": 40.0}
    assert states(site(inverter=by_voltage))["cut_off_above_reserve"] == "fail"
    by_voltage["cut_off_v"] = 48.0
    assert states(site(inverter=by_voltage))["cut_off_above_reserve"] == "unknown"
    assert states(site(battery={"min_charge_c": -10}))["charge_within_temperatures"] == "fail"


def test_what_to_set_is_told_with_its_number():
    sheet = site(inverter={"cut_off_soc": 10}, battery={"reserve_soc": 25, "max_charge_a": 40})
    told = {one.key: one for one in settings_check(sheet)}
    assert str(told["cut_off_above_reserve"].set_to) == (
        "Set the cut-off to 25 % or somewhat more, and let the generator start well above it, such as at 35 % "
        "(common practice)."
    )
    assert "(common practice). It is a setting" in str(told["cut_off_above_reserve"].how)
    assert str(told["cut_off_above_reserve"].how).count("such as at 35 %") == 1
    assert str(told["charger_within_battery"].set_to) == "Set the charger to 40.0 A or less."
    assert all(not str(one.set_to) for one in told.values() if one.state != "fail")


def test_what_a_recording_shows_goes_before_the_sheet():
    seen = SettingsEvidence(limit_a=34.0, limit_most_a=34.0, charge_a=120.0, charge_most_a=120.0)
    found = states(site(), seen)
    assert [found[key] for key in ("limit_within_rating", "limit_as_given", "charger_within_battery")] == [
        "fail"
    ] * 3
    assert the("limit_within_rating", site(), seen).values[0].source == "measured"


def test_what_was_done_is_held_against_what_was_meant():
    seen = SettingsEvidence(
        carrying_s=7200, charger_off_s=3000, off_known=True, grid_s=9000, from_grid_wh=2500
    )
    assert states(site(), seen)["charger_on_with_generator"] == "fail"
    assert states(site(), seen)["charger_off_on_grid"] == "fail"
    assert states(site(charger={"on_grid": True}), seen)["charger_off_on_grid"] == "pass"
    assert states(site(charger={"on_grid": None}), seen)["charger_off_on_grid"] == "unknown"
    seen = SettingsEvidence(lowest_soc=12.0, coldest_c=-4.0, warmest_c=21.0)
    assert states(site(), seen)["cut_off_above_reserve"] == "fail"
    assert states(site(), seen)["charge_within_temperatures"] == "fail"
    seen = SettingsEvidence(lowest_soc=24.0, coldest_c=4.0, warmest_c=21.0)
    assert states(site(), seen)["charge_within_temperatures"] == "pass"


def rows():
    channels = running(1500)
    on = np.arange(1500) >= 240
    channels["input_limit"] = np.where(np.arange(1500) % 7 == 0, 34.0, np.nan)
    channels["charge_limit"] = np.full(1500, 70.0)
    channels["charger_enabled"] = np.where(np.arange(1500) < 700, 1.0, 0.0)
    channels["battery_soc"][~on] = 18.0
    return channels


def learned_of(channels):
    time = START + np.arange(1500) * 1_000_000_000
    return learn(Recording.from_columns(time, channels), site())


@settings(max_examples=10, deadline=None)
@given(cuts=st.lists(st.integers(1, 1499), max_size=5))
def test_a_book_of_what_was_in_force(cuts):
    channels = rows()
    book, whole = SettingsBook(learned_of(channels), site()), block(channels)
    for start, stop in pairwise((0, *sorted(set(cuts)), 1500)):
        book.extend(part(whole, start, stop))
    seen = book.evidence
    assert (seen.limit_a, seen.limit_most_a, seen.charge_a, seen.off_known) == (34.0, 34.0, 70.0, True)
    assert (seen.carrying_s, seen.charger_off_s) == (pytest.approx(1260), pytest.approx(800))
    assert (seen.lowest_soc, seen.coldest_c, seen.warmest_c) == (18.0, 18.0, 18.0)


def test_what_comes_from_the_grid_is_counted():
    n = 3600
    load, charge = np.full(n, 500.0), np.where(np.arange(n) >= 1800, 2000.0, 60.0)
    columns = {
        "grid_power": load + charge,
        "load_power": load,
        "converter_ac_power": charge,
        "battery_power": 0.94 * charge - 40,
    }
    recording = Recording.from_columns(START + np.arange(n) * 1_000_000_000, columns)
    learned = learn(recording, site())
    book = SettingsBook(learned, site())
    book.extend(Worker(learned, site()).work(recording, 0, n))
    assert book.evidence.grid_s == pytest.approx(n - 1)
    assert book.evidence.from_grid_wh == pytest.approx(1000, rel=0.02)
    assert states(site(), book.evidence)["charger_off_on_grid"] == "fail"


def test_what_failed_is_told_first_and_in_full():
    checks = settings_check(site(charger={"limit_a": 120}))
    lines = list(checks_text(checks))
    assert lines[0] == "Settings"
    assert lines[1].startswith("  [fail] Charger limit")
    assert "    Charger limit: 120 A (on the site sheet)" in lines
    table = checks_json(checks)
    assert [one["key"] for one in table] == list(states(site()))
    assert table[3]["values"]["battery_a"] == {"value": 100.0, "unit": "A", "source": "given"}
    assert table[0]["values"]["limit_a"]["value"] == 24.0
    assert list(checks_text(())) == []
