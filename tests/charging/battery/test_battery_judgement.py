"""What a recording is too coarse to tell isn't told."""

from __future__ import annotations

import numpy as np
import pytest
from battery_help import Cell, days, judged, lfp_site, metered, recording

from desktop.charging.battery.told import told_step
from desktop.review.battery import battery_text


def test_readings_minutes_apart_tell_no_capacity_but_what_the_sheet_gives():
    chance, bank = np.random.default_rng(5), Cell()
    site = lfp_site(capacity_kwh=10.2)
    for seconds, told in ((60.0, "measured"), (300.0, "given")):
        current = days(chance, bank.ah, 5, seconds)
        soc, volts = bank.run(current, seconds, 85.0)
        facts = judged(recording(metered(current, volts, soc), seconds), site)
        assert facts.capacity_wh.origin == told
        assert (facts.lack == "rows too far apart") == (told == "given")
    assert any("too far apart" in line for line in battery_text(facts))


def judged_with_steps(seed, step, *, current_too):
    """Capacity over the truth: what is judged of four half-cycles of steady currents told in such steps, W."""
    chance, bank = np.random.default_rng(seed), Cell()
    current = days(chance, bank.ah, 4, 30.0)
    soc, volts = bank.run(current, 30.0, 85.0)
    columns = metered(current, volts, soc)
    columns["battery_power"] = np.round(columns["battery_power"] / step) * step
    if not current_too:
        del columns["battery_current"]
    told = judged(recording(columns, 30.0), lfp_site(capacity_kwh=10.2)).capacity_wh
    true = bank.delivers_wh(float(np.mean(-current[current < 0])))
    return told.low / true, told.high / true


@pytest.mark.parametrize("current_too", [True, False])
def test_a_meter_that_tells_hundreds_of_watts_leaves_more_in_doubt(current_too):
    fine, coarse = (
        np.array([judged_with_steps(seed, step, current_too=current_too) for seed in range(12)])
        for step in (1.0, 100.0)
    )
    assert (np.diff(coarse) > np.diff(fine)).all()
    for low, high in (fine.T, coarse.T):
        assert np.mean((low <= 1.0) & (high >= 1.0)) >= 0.8


@pytest.mark.parametrize("step", [100.0, 50.0, 10.0, 1.0, 0.5])
def test_the_step_of_a_display_shows_in_its_readings(step):
    readings = np.random.default_rng(3).uniform(-2000, 2000, 400)
    assert told_step(np.round(readings / step) * step) == step
    assert told_step(readings) == 0.0
    assert told_step(np.append(np.nan, np.full(50, 400.0))) == 0.0
