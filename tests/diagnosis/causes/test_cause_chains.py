"""The chains of the demos and of small plants: the events in order, and the cause that is named."""

import re

import numpy as np
import pytest
from cause_help import SECOND, chain, demo, every_second, found, only

from desktop.diagnosis.causes.asked import Shares, shares_phrase
from desktop.diagnosis.causes.judging import with_causes
from desktop.site import Site
from desktop.words import clock
from recordings.recording import Recording

SHARED = {"before", "generator_peak"}


def events(one, site):
    return [(clock(link.time, site.zone), link.kind) for link in one.links]


def test_a_limit_above_the_rating_is_named_at_once():
    recording, site = demo("limit-too-high")
    one = chain("generator_stopped_under_load", recording, site)
    assert str(one.cause).startswith(
        "The input limit is set too high: its 42.0 A let 5.04 kW through, and the generator can carry 4.00 kW here."
    )
    assert one.certain
    shown = events(one, site)
    assert [kind for _, kind in shown if kind in ("input_limit", "before", "load_step", "stopped")] == [
        "input_limit",
        "before",
        "load_step",
        "load_step",
        "stopped",
    ]
    # The scenario's heater and kettle.
    assert [time for time, kind in shown if kind == "load_step"] == ["17:24:00", "17:24:16"]
    assert ("17:24:04", "charger_gave_way") in shown
    assert {"frequency_sank", "voltage_sank", "generator_peak"} <= {kind for _, kind in shown}
    assert shown[-1] == ("17:24:18", "stopped")
    assert list(one.links) == sorted(one.links, key=lambda link: link.time)


def test_a_slow_charger_is_named():
    recording, site = demo("load-step")
    one = chain("input_over_limit", recording, site)
    assert "charger began to give way only 12 s later" in str(one.cause)
    step = next(link for link in one.links if link.kind == "load_step")
    assert step.value == pytest.approx(1900, rel=0.03)
    assert "at first" in str(step.text)
    assert [link.kind for link in one.links][-1] == "back_in_limits"


def test_what_is_told_of_house_and_charger_adds_up():
    recording, site = demo("limit-too-high")
    one = chain("generator_over_rating", recording, site)
    for text in [str(one.cause), *(str(each.text) for each in one.links if each.kind in SHARED)]:
        sums = re.search(r"([\d.]+) kW: ([\d.]+) kW for the house, ([\d.]+) kW for the charger", text)
        assert sums is not None, text
        carried, house, charger = map(float, sums.groups())
        assert carried == pytest.approx(house + charger, abs=0.0151)
    assert {each.kind for each in one.links} >= SHARED


def test_what_the_meters_differ_by_is_told():
    told = shares_phrase(Shares(6490.0, 360.0, 6290.0))
    assert str(told) == (
        "6.49 kW: 0.36 kW for the house, 6.29 kW for the charger (the meters differ by 0.16 kW)"
    )
    others = shares_phrase(Shares(6490.0, 360.0, 3000.0))
    assert str(others) == "6.49 kW; the house took 0.36 kW, the charger 3.00 kW"


def test_findings_take_the_cause_of_their_chain():
    findings, chains, _ = found(*demo("limit-too-high"))
    caused = {one.kind: str(one.cause) for one in with_causes(findings, chains)}
    assert caused["generator_over_rating"] == caused["generator_stopped_under_load"]
    assert caused["limit_above_rating"] == str(findings[0].cause)


@pytest.mark.parametrize("name", ["healthy-charge", "grid-failure", "unequal-legs"])
def test_where_nothing_is_urgent_there_is_no_chain(name):
    assert found(*demo(name))[1] == ()


def test_a_log_of_a_minute_says_what_it_can_t_tell():
    recording, site = demo("limit-too-high")
    for first in (7, 30, 50):
        _, chains, _ = found(only(recording, lambda name: True, 60, first), site)
        assert all(one.unknown or not one.certain for one in chains)


SHEET = Site.parse(
    """
    [generator]
    rated_w = 6000
    volts = 230
    hz = 50
    [input]
    limit_a = 20
    [charger]
    limit_a = 80
    [battery]
    chemistry = "lfp"
    capacity_kwh = 15
    nominal_v = 51.2
    absorb_v = 56.0
    max_charge_a = 60
    """
)


def plant(rows=900, **changes):
    noise = np.random.default_rng(4).normal(0, 2, (8, rows))
    at = np.arange(rows)
    on = at >= 100
    load = 500 + noise[0]
    charge = np.where(on, 3000 + noise[1], 0.0)
    columns = {
        "generator_power": np.where(on, load + charge, 0.0),
        "generator_voltage": np.where(at >= 40, 230 + noise[2] / 10, 0.0),
        "generator_frequency": np.where(at >= 40, 50.3 + noise[3] / 100, 0.0),
        "load_power": load,
        "converter_ac_power": charge - np.where(on, 0.0, load),
        "converter_dc_power": np.where(on, 0.94 * charge - 40, -load / 0.94 - 40),
        "battery_voltage": 52.5 + noise[5] / 100,
        "battery_temperature": np.full(rows, 15.0),
    }
    columns["battery_power"] = columns["converter_dc_power"] + noise[4]
    columns.update(changes)
    return columns


def recorded(columns):
    return Recording.from_columns(every_second(len(columns["load_power"])), columns)


def test_running_dry_is_named_with_the_gauge_and_without():
    columns = plant(fuel_level=np.linspace(6, 0, 900).round())
    speed = columns["generator_frequency"]
    speed[690:700] = 50.3 - np.linspace(0.2, 9, 10)
    for name in ("generator_power", "converter_ac_power", "generator_frequency", "generator_voltage"):
        columns[name][700:] = 0.0
    columns["fuel_level"][600:] = 0.0
    one = chain("generator_stopped_under_load", recorded(columns), SHEET)
    assert str(one.cause) == "It ran dry: the tank read 0 %."
    assert [link.kind for link in one.links if link.kind in ("fuel", "frequency_sank", "stopped")] == [
        "fuel",
        "frequency_sank",
        "stopped",
    ]
    del columns["fuel_level"]
    bare = chain("generator_stopped_under_load", recorded(columns), SHEET)
    assert "short of fuel: its speed sank to 41.3 Hz" in str(bare.cause)
    assert any("fuel level isn't recorded" in str(phrase) for phrase in bare.unknown)


def test_a_set_that_is_switched_off_is_not_accused_of_anything():
    columns = plant()
    for name in ("generator_power", "converter_ac_power", "generator_frequency", "generator_voltage"):
        columns[name][700:] = 0.0
    one = chain("generator_stopped_under_load", recorded(columns), SHEET)
    assert "no overload shows" in str(one.cause)


def test_a_charger_set_above_what_the_battery_may_take():
    columns = plant()
    columns["battery_current"] = np.where(np.arange(900) >= 300, 71.0, 50.0)
    columns["battery_power"] = columns["battery_current"] * columns["battery_voltage"]
    one = chain("charge_over_limit", recorded(columns), SHEET)
    assert "set to 80.0 A, more than the 60.0 A that the battery may take" in str(one.cause)
    assert {link.kind for link in one.links} >= {"charge_limit", "charge_peak", "charging"}


def test_voltage_and_cold_name_the_source_that_charges():
    columns = plant()
    columns["battery_voltage"][400:500] = 59.0
    one = chain("battery_over_voltage", recorded(columns), SHEET)
    assert str(one.cause).startswith("The charger went on charging")
    columns = plant(battery_temperature=np.full(900, -6.0))
    one = chain("charging_while_cold", recorded(columns), SHEET)
    assert str(one.cause) == "The charger takes no notice of how cold the battery is."
    assert one.links[0].value == -6.0


def test_of_two_sources_the_second_is_named():
    columns = plant()
    columns["grid_power"] = np.where(np.arange(900) >= 500, 900.0, 0.0)
    one = chain("two_sources_live", recorded(columns), SHEET)
    assert str(one.cause) == "The generator was carrying the house when the grid was connected beside it."
    assert (one.links[0].time - every_second(1)[0]) / SECOND == 500
