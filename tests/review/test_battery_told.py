"""The battery as JSON and as text."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np

from desktop.charging.battery.facts import NOT_KNOWN, BatteryFacts, Estimate, OwnSoc
from desktop.charging.battery.resistance import Resistance
from desktop.review.battery import battery_json, battery_text

START = 1_767_225_600_000_000_000
MINUTES = 120

OWN = OwnSoc(
    time=START + 60_000_000_000 * np.arange(MINUTES),
    soc=np.linspace(100.0, 80.0, MINUTES),
    sd=np.full(MINUTES, 2.0),
    reported=np.concatenate((np.linspace(100.0, 90.0, 60), np.full(60, 60.0))),
    full=1,
    rest=0,
)

KNOWN = BatteryFacts(
    charge_in_ah=100.0,
    charge_out_ah=95.0,
    energy_in_wh=5200.0,
    energy_out_wh=4900.0,
    capacity_wh=Estimate(10_000.0, 9600.0, 10_500.0, "measured"),
    fill_wh=Estimate(10_500.0, 10_000.0, 11_000.0, "assumed"),
    capacity_ah=Estimate(195.0, 188.0, 203.0, "measured"),
    coulombic=Estimate(0.995, 0.985, 1.0, "assumed"),
    energy_efficiency=Estimate(0.952, 0.93, 0.97, "assumed"),
    resistance=Resistance(0.0042, 0.0002, 40, 5.0),
    half_cycles=5,
    lack="",
    cells=16,
    gain_sd=0.02,
    own_soc=OWN,
)
UNKNOWN = BatteryFacts(*[math.nan] * 4, *[NOT_KNOWN] * 5, None, 0, "no state of charge", 0, 0.02, None)


def test_the_public_keys():
    told = battery_json(KNOWN)
    assert told["capacity_kwh"] == {"value": 10.0, "low": 9.6, "high": 10.5, "source": "measured"}
    assert told["kwh_to_fill"] == {"value": 10.5, "low": 10.0, "high": 11.0, "source": "assumed"}
    assert (told["charge_efficiency"], told["resistance_ohm"]) == (0.952, 0.0042)
    assert told["counted"]["in_kwh"] == 5.2
    own = told["own_soc"]
    assert (own["at"], own["soc"], own["reported"]) == ("2026-01-01T01:59:00Z", 80.0, 60.0)
    assert [(one["start"], one["end"]) for one in own["apart"]] == [
        ("2026-01-01T01:00:00Z", "2026-01-01T01:59:00Z")
    ]
    json.dumps(told, allow_nan=False)


def test_what_is_not_known_is_null():
    told = battery_json(UNKNOWN)
    assert told["capacity_kwh"] == {"value": None, "low": None, "high": None, "source": None}
    assert (told["charge_efficiency"], told["resistance_ohm"], told["own_soc"]) == (None, None, None)
    assert told["lack"] == "no state of charge"
    json.dumps(told, allow_nan=False)


def test_the_text():
    text = "\n".join(battery_text(KNOWN))
    assert (
        "delivers 10.00 kWh from full to empty (9.60 kWh to 10.50 kWh), by 5 charges and discharges." in text
    )
    assert "takes 10.50 kWh to fill it from empty (10.00 kWh to 11.00 kWh)." in text
    assert "assumed by chemistry" in text
    assert "95 % comes back (93 % to 97 %)" in text
    assert "Internal resistance 4.2 mΩ, give or take 0.4, from 40 steps of the load." in text
    assert "stands at 80 %, give or take 4 %; the gauge says 60 %." in text
    assert "it said 60 % where 90 % were counted" in text


def test_one_half_cycle_reads_well():
    assert "by one charge or discharge." in battery_text(replace(KNOWN, half_cycles=1))[0]


def test_what_the_sheet_gives_is_marked():
    given = replace(UNKNOWN, capacity_wh=Estimate.given(9.6e3))
    assert battery_json(given)["capacity_kwh"]["source"] == "given"
    assert battery_text(given)[1] == "By the site sheet the battery holds 9.60 kWh."


def test_no_battery_no_words():
    assert battery_text(replace(UNKNOWN, lack="no power")) == []
    assert "too seldom" in battery_text(UNKNOWN)[0]
