"""Capacity, what it takes to fill, and efficiency, against batteries whose truth is known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from battery_help import Cell, days, judged, lfp_site, metered, recording

from desktop.site import Site

SECONDS = 20.0


def _log(seed, *, half_cycles=3, percent=2.0, step=1.0, seconds=SECONDS, **cell):
    chance = np.random.default_rng(seed)
    bank = Cell(**{"ah": float(chance.uniform(80, 500)), "efficiency": 0.995, **cell})
    current = days(chance, bank.ah, half_cycles, seconds)
    soc, volts = bank.run(current, seconds, 85.0)
    columns = metered(current, volts, soc, chance, percent=percent, step=step)
    return bank, columns, recording(columns, seconds)


def _within(estimate, truth):
    return estimate.low <= truth <= estimate.high


def _width(estimate):
    return (estimate.high - estimate.low) / 2 / estimate.value


def test_interval_holds_the_truth_and_is_narrow_after_three_half_cycles():
    held, filled, widths = [], [], []
    for seed in range(60):
        bank, _, rows = _log(seed, step=(1.0, 0.5, 2.0)[seed % 3])
        facts = judged(rows, lfp_site(percent=2.0))
        assert facts.half_cycles == 3
        held.append(_within(facts.capacity_wh, bank.delivers_wh(0.12 * bank.ah)))
        filled.append(_within(facts.fill_wh, bank.takes_wh(0.27 * bank.ah)))
        widths.append(_width(facts.capacity_wh))
    assert np.mean(held) >= 0.95
    assert np.mean(filled) >= 0.95
    # The meter's gain alone makes 1.96 · 2 %: more half-cycles don't help against that.
    assert min(widths) >= 0.039
    assert max(widths) < 0.10


def test_half_cycles_narrow_the_interval_down_to_the_gain_of_the_meter():
    logs = [_log(4, half_cycles=n, step=1.0)[2] for n in (1, 3, 9)]
    one, three, nine = (_width(judged(rows, lfp_site(0.5)).capacity_ah) for rows in logs)
    assert one > three > nine > 1.9 * 0.005


def test_a_perfect_meter_and_a_fine_display():
    bank, _, rows = _log(7, percent=0.0, step=0.1)
    facts = judged(rows, lfp_site(percent=0.0))
    assert facts.capacity_ah.value == pytest.approx(bank.ah, rel=0.004)
    assert facts.capacity_wh.value == pytest.approx(bank.delivers_wh(0.12 * bank.ah), rel=0.012)


def test_a_display_in_whole_percent_is_read_at_its_changes():
    bank, _, rows = _log(7, percent=0.0, step=1.0)
    assert judged(rows, lfp_site(percent=0.0)).capacity_ah.value == pytest.approx(bank.ah, rel=0.004)


def test_a_display_that_rounds_down_gives_the_same():
    bank, columns, _ = _log(7, percent=0.0, step=0.001)
    columns["battery_soc"] = np.floor(columns["battery_soc"])
    facts = judged(recording(columns, SECONDS), lfp_site(percent=0.0))
    assert facts.capacity_ah.value == pytest.approx(bank.ah, rel=0.004)


def test_a_gauge_that_wanders():
    bank, columns, _ = _log(9, half_cycles=5)
    wander = np.random.default_rng(1).normal(0, 0.7, len(columns["battery_soc"]))
    columns["battery_soc"] = np.round(columns["battery_soc"] + wander)
    facts = judged(recording(columns, SECONDS), lfp_site(percent=2.0))
    assert _within(facts.capacity_ah, bank.ah)
    assert _width(facts.capacity_wh) < 0.10


def test_a_meter_with_an_offset():
    bank, columns, _ = _log(11, half_cycles=5, percent=0.0)
    site = Site.of(
        {
            "battery": {"chemistry": "lfp", "nominal_v": 51.2},
            "meters": {"battery_current": {"percent": 0.5, "floor_w": 15}, "battery_power": {"floor_w": 40}},
        }
    )
    columns["battery_current"] = columns["battery_current"] + 0.5
    columns["battery_power"] = columns["battery_power"] + 0.5 * columns["battery_voltage"]
    assert judged(recording(columns, SECONDS), site).capacity_ah.value == pytest.approx(bank.ah, rel=0.01)


def test_charge_efficiency_is_measured_where_meters_are_good():
    _, _, rows = _log(13, half_cycles=9, percent=0.3, efficiency=0.975)
    site = Site.of(
        {
            "battery": {"chemistry": "lfp", "nominal_v": 51.2},
            "meters": {
                "battery_power": {"percent": 0.3, "floor_w": 0.5},
                "battery_current": {"percent": 0.3, "floor_w": 0.5},
            },
        }
    )
    facts = judged(rows, site)
    assert facts.coulombic.origin == "measured"
    assert _within(facts.coulombic, 0.975)
    assert facts.coulombic.high < 0.99


def test_what_the_recording_does_not_tell_of_efficiency_is_assumed():
    _, _, rows = _log(13, half_cycles=1)
    assert judged(rows, lfp_site(2.0)).coulombic.origin == "assumed"


def test_energy_alone():
    bank, columns, _ = _log(15, half_cycles=5)
    kept = {name: columns[name] for name in ("battery_power", "battery_soc")}
    facts = judged(recording(kept, SECONDS), lfp_site(percent=2.0))
    assert _within(facts.capacity_wh, bank.delivers_wh(0.12 * bank.ah))
    assert _width(facts.capacity_wh) < 0.10
    assert math.isnan(facts.charge_in_ah)
    assert not facts.coulombic.known


def test_volts_and_amperes_alone():
    bank, columns, _ = _log(15, half_cycles=3)
    del columns["battery_power"]
    facts = judged(recording(columns, SECONDS), lfp_site(percent=2.0))
    assert _within(facts.capacity_wh, bank.delivers_wh(0.12 * bank.ah))


def test_nothing_known_beforehand():
    bank, _, rows = _log(17, half_cycles=4)
    facts = judged(rows)
    assert facts.cells == 0
    assert _within(facts.capacity_wh, bank.delivers_wh(0.12 * bank.ah))


def test_a_gauge_that_is_set_anew_is_two_pieces():
    bank, columns, _ = _log(19, half_cycles=4, percent=0.0)
    middle = len(columns["battery_soc"]) // 2
    columns["battery_soc"][middle:] -= 14
    facts = judged(recording(columns, SECONDS), lfp_site(percent=0.5))
    assert facts.capacity_ah.value == pytest.approx(bank.ah, rel=0.01)


def test_gaps_between_pieces():
    bank, columns, _ = _log(21, half_cycles=5, percent=0.0)
    for start in range(200, len(columns["battery_power"]), 500):
        for name in ("battery_power", "battery_current", "battery_soc"):
            columns[name][start : start + 30] = np.nan
    facts = judged(recording(columns, SECONDS), lfp_site(percent=0.5))
    assert facts.capacity_ah.value == pytest.approx(bank.ah, rel=0.015)


@pytest.mark.parametrize(
    ("change", "lack"),
    [
        (lambda c: {**c, "battery_power": -c["battery_power"], "battery_current": -c["battery_current"]},
         "nothing fits"),
        (lambda c: {name: c[name] for name in c if name != "battery_soc"}, "no state of charge"),
        (lambda c: {name: values[:150] for name, values in c.items()}, "too little moved"),
        (lambda c: {**c, "battery_soc": 50 + 20 * np.sin(np.arange(len(c["battery_soc"])) / 100)},
         "nothing fits"),
    ],
)  # fmt: skip
def test_silence_where_nothing_can_be_told(change, lack):
    _, columns, _ = _log(23, half_cycles=3)
    facts = judged(recording(change(columns), SECONDS), lfp_site(capacity_kwh=9.6))
    assert facts.lack == lack
    assert (facts.capacity_wh.origin, facts.capacity_wh.value) == ("given", 9600.0)
    assert math.isnan(facts.capacity_wh.low)
    assert not facts.fill_wh.known
    assert not facts.energy_efficiency.known


def test_a_recording_without_a_battery():
    load = {"generator_power": np.full(100, 900.0), "load_power": np.full(100, 900.0)}
    facts = judged(recording(load, SECONDS))
    assert facts.lack == "no power"
    assert not facts.capacity_wh.known
    assert facts.own_soc is None


def test_lead_acid_takes_in_more_near_full():
    chance = np.random.default_rng(29)
    ah, seconds = 300.0, 20.0
    points = ((0, 70, 80, 90, 95, 100), (0.99, 0.97, 0.90, 0.75, 0.60, 0.35))
    current, soc = [], [60.0]
    for phase in (1, -1) * 3:
        while (soc[-1] < 97 if phase > 0 else soc[-1] > 55) and len(soc) < 40_000:
            amperes = 45.0 if phase > 0 else -25.0
            kept = np.interp(soc[-1], *points) if phase > 0 else 1.0
            current.append(amperes)
            soc.append(soc[-1] + kept * amperes * seconds / 36 / ah)
    current, level = np.array(current), np.array(soc[:-1])
    volts = 24 * np.interp(level, (0, 50, 100), (1.96, 2.04, 2.11)) + current * np.where(
        current > 0, 0.06, 0.01
    )
    columns = metered(current, volts, level, chance, percent=1.0)
    site = Site.of(
        {
            "battery": {"chemistry": "flooded", "nominal_v": 48},
            "meters": {name: {"percent": 1.0, "floor_w": 5} for name in ("battery_power", "battery_current")},
        }
    )
    facts = judged(recording(columns, seconds), site)
    grid = np.linspace(0, 100, 2001)
    lasting = 1 / np.mean(1 / np.interp(grid, *points))
    rest = 24 * np.interp(grid, (0, 50, 100), (1.96, 2.04, 2.11))
    assert _within(facts.capacity_wh, ah * (rest.mean() - 25 * 0.01))
    assert _within(facts.fill_wh, ah * np.mean((rest + 45 * 0.06) / np.interp(grid, *points)))
    assert facts.coulombic.origin == "measured"
    assert _within(facts.coulombic, lasting)
    assert _width(facts.capacity_wh) < 0.06
