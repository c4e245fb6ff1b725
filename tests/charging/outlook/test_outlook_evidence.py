"""What an outlook reads off a recording: what the battery gives back, what the converter loses, how legs differ."""

from dataclasses import replace

import numpy as np
import pytest

from desktop.charging.outlook.evidence import gather
from desktop.charging.outlook.reckoned import reckoned
from desktop.charging.outlook.storage import Falling
from desktop.flow.conversion import ASSUMED
from desktop.site import Site
from recordings.provenance import Provenance
from recordings.recording import Recording

CAPACITY_WH, KEPT = 10_000.0, 0.85
IDLE_W, SLOPE, LOAD_W, CHARGED_W = 30.0, 0.05, 600.0, 1500.0
SHEET = """
[generator]
rated_w = 6000
volts = 230
hz = 50
legs = 3
fuel = "diesel"
[input]
limit_a = 15
[battery]
chemistry = "flooded"
capacity_kwh = 10
nominal_v = 48
max_charge_a = 40
"""


@pytest.fixture(scope="module")
def evidence():
    """Six days of a battery between 40 and 65 %, charged from a set with the whole house on its first leg."""
    minutes = 6 * 24 * 60
    soc, on = np.empty(minutes), np.empty(minutes, bool)
    level, running = 64.9, False
    out_w = (LOAD_W + IDLE_W) / (1 - SLOPE)
    in_w = CHARGED_W * (1 - SLOPE) - IDLE_W
    for minute in range(minutes):
        running = level < 65 if running else level < 40
        soc[minute], on[minute] = level, running
        level += (in_w * KEPT if running else -out_w) / 60 / CAPACITY_WH * 100
    charged = np.where(on, CHARGED_W, 0.0)
    battery = np.where(on, in_w, -out_w)
    columns = {
        "generator_power": charged + on * LOAD_W,
        "load_power": np.full(minutes, LOAD_W),
        "battery_power": battery,
        "battery_voltage": np.where(on, 52.0, 48.0),
        "battery_soc": soc,
        "generator_current_l1": (charged / 3 + on * LOAD_W) / 230,
        "generator_current_l2": charged / 3 / 230,
        "generator_current_l3": charged / 3 / 230,
    }
    time = 1_767_225_600_000_000_000 + np.arange(minutes) * 60_000_000_000
    recording = Recording.from_columns(time, columns, Provenance(name="by hand", timezone="UTC"))
    return gather(recording, Site.parse(SHEET))


def test_what_came_back_between_low_levels_is_not_taken_for_that_of_a_whole_charge(evidence):
    battery = reckoned(Site.parse(SHEET), evidence).plant.battery
    assert evidence.round_trip(CAPACITY_WH) == pytest.approx(KEPT, abs=0.01)
    assert battery.taper_soc > 65
    assert battery.efficiency == pytest.approx(KEPT, abs=0.01)
    assert battery.efficiency_full < 0.5 * KEPT
    assert 0 < battery.efficiency_sd < 0.05


def test_efficiency_falls_in_a_straight_line_beyond_the_taper():
    falling = Falling(70.0, 0.4)
    assert falling.at(np.array([20.0, 70.0, 85.0, 100.0])) == pytest.approx([1.0, 1.0, 0.7, 0.4])
    soc = np.linspace(0, 100, 100_001)
    # A whole charge takes the mean of 1 / efficiency.
    assert 1 / np.mean(1 / (falling.before(0.75) * falling.at(soc))) == pytest.approx(0.75, rel=1e-4)
    assert Falling(95.0, 1.0).before(0.95) == 0.95


def test_energy_is_weighed_by_the_level_that_it_met(evidence):
    assert evidence.over_charge(lambda soc: soc) == pytest.approx(52.5, abs=0.5)


def test_a_law_that_is_off_is_mended_by_what_was_lost(evidence):
    off = replace(evidence, learned=replace(evidence.learned, conversion=ASSUMED))
    share = off.loss_share()
    minutes = evidence.minutes
    feeding = np.maximum(minutes.stream("converter_ac"), -minutes.stream("converter_dc"))
    by_law = ASSUMED.idle_w + ASSUMED.slope * feeding
    assert share == pytest.approx((IDLE_W + SLOPE * feeding).sum() / by_law.sum(), rel=0.05)
    converter = reckoned(Site.parse(SHEET), off).plant.converter
    assert converter.idle_w == pytest.approx(ASSUMED.idle_w * share)
    # What was recorded has taken in whatever the law is off.
    assert converter.idle_sd_w == 0.0
    assert reckoned(Site.parse(SHEET), None).plant.converter.idle_sd_w > 0.0


def test_a_house_on_one_leg_takes_its_load_off_every_leg(evidence):
    # 3 × (charge / 3 + load) − (charge + load) = 2 × load (worked by hand).
    assert evidence.uneven(3, 230.0) == pytest.approx(2.0, abs=0.02)
    assert evidence.uneven(1, 230.0) == 0.0
    assert reckoned(Site.parse(SHEET), evidence).plant.generator.uneven == pytest.approx(2.0, abs=0.02)


def test_a_busy_leg_shows_in_how_far_a_charge_stays_below_the_input_limit(evidence):
    # 96 % of 4.982 A at 230 V on three legs are 3300 W: 1200 W more than is taken, twice the load (by hand).
    limited = Site.parse(SHEET.replace("limit_a = 15", "limit_a = 4.982") + "[charger]\nlimit_a = 100\n")
    assert evidence.uneven_by_limit(limited, 690.0) == pytest.approx(2.0, abs=0.02)
    # 1395 W into 52 V are 27 A: a charger of 28 A may be what holds it.
    held = Site.parse(SHEET.replace("limit_a = 15", "limit_a = 4.982") + "[charger]\nlimit_a = 28\n")
    assert evidence.uneven_by_limit(held, 690.0) is None
    assert evidence.uneven_by_limit(Site.parse(SHEET), 690.0) is None


def test_a_battery_turned_over_twice_tells_what_it_gives_back(evidence):
    into = evidence.turned_wh[0]
    assert evidence.round_trip(into / 2.0) is not None
    assert evidence.round_trip(into / 1.2) is None
