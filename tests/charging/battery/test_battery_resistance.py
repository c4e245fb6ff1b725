"""Internal resistance from steps of the load."""

from __future__ import annotations

import numpy as np
import pytest
from battery_help import Cell, days, judged, lfp_site, metered, recording

from desktop.site import Site


def _steps(ohm, *, noise_v=0.01, noise_a=0.1, seconds=10.0, seed=1, charging_ohm=None):
    chance = np.random.default_rng(seed)
    bank = Cell(ah=200.0, ohm=ohm)
    current = days(chance, 200.0, 3, seconds)
    soc, volts = bank.run(current, seconds, 85.0)
    if charging_ohm is not None:
        volts = volts + np.where(current > 0, current * (charging_ohm - ohm), 0.0)
    columns = metered(current, volts, soc)
    columns["battery_voltage"] = np.round(volts + chance.normal(0, noise_v, len(volts)), 2)
    columns["battery_current"] = np.round(current + chance.normal(0, noise_a, len(volts)), 1)
    return columns


@pytest.mark.parametrize("ohm", [0.002, 0.006, 0.02])
def test_resistance(ohm):
    found = judged(recording(_steps(ohm), 10.0), lfp_site()).resistance
    assert found is not None
    assert abs(found.ohm - ohm) <= 2.5 * found.sd
    assert found.sd <= 0.12 * ohm
    assert found.steps >= 6
    assert found.seconds == 10.0


def test_a_sound_interval():
    inside = 0
    for seed in range(60):
        found = judged(recording(_steps(0.005, seed=seed, noise_v=0.03), 10.0), lfp_site()).resistance
        assert found is not None
        inside += abs(found.ohm - 0.005) <= 1.96 * found.sd
    assert inside >= 56


def test_lead_acid_is_judged_while_it_gives():
    columns = _steps(0.01, charging_ohm=0.12)
    site = Site.of(
        {
            "battery": {"chemistry": "agm", "nominal_v": 48},
            "meters": {"battery_voltage": {"percent": 0.2, "floor_w": 0}},
        }
    )
    found = judged(recording(columns, 10.0), site).resistance
    assert found is not None
    assert found.ohm == pytest.approx(0.01, abs=2.5 * found.sd)


def test_no_answer_where_rows_are_far_apart():
    assert judged(recording(_steps(0.006, seconds=60.0), 60.0), lfp_site()).resistance is None


def test_no_answer_from_a_voltmeter_that_shows_nothing_of_it():
    columns = _steps(0.006)
    columns["battery_voltage"] = np.round(columns["battery_voltage"] / 5) * 5
    assert judged(recording(columns, 10.0), lfp_site()).resistance is None


def test_a_few_readings_out_of_step_do_not_matter():
    columns = _steps(0.006)
    columns["battery_voltage"][::97] -= 2.0
    found = judged(recording(columns, 10.0), lfp_site()).resistance
    assert found is not None
    assert found.ohm == pytest.approx(0.006, rel=0.1)
