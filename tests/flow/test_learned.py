"""What a recording teaches: interval, nominal values, and above all what the converter loses."""

from __future__ import annotations

import math

import numpy as np
import pytest
from plants import IDLE_W, SLOPE, USUAL, day, metered

from desktop.flow.conversion import ASSUMED
from desktop.flow.learned import learn
from desktop.flow.streams import INDEX
from desktop.site import Site
from recordings.recording import Recording

BOTH = (*USUAL, "converter_ac", "converter_dc")


def law(recording: Recording):
    return learn(recording, Site()).conversion


@pytest.mark.parametrize("streams", [USUAL, BOTH, (*USUAL, "converter_ac"), ("converter_ac", "converter_dc")])
@pytest.mark.parametrize("noise", [0.0, 0.3, 1.0])
def test_the_law_is_found(streams, noise):
    """From bus sums or converter meters, with noise up to the class of the meters."""
    found = law(metered(day(), *streams, noise=noise))
    assert found.source == "fitted"
    assert found.idle_w == pytest.approx(IDLE_W, abs=2 * found.idle_sd_w)
    assert found.slope == pytest.approx(SLOPE, abs=found.slope_sd)


def spoilt(x: np.ndarray, **factors: float) -> np.ndarray:
    x = x.copy()
    for name, factor in factors.items():
        x[INDEX[name]] *= factor
    return x


@pytest.mark.parametrize(
    "factors",
    [
        {"battery": -1.0}, {"load": -1.0}, {"load": 0.5}, {"battery": 0.9}, {"battery": 1.1}, {"solar": 0.0},
    ],
)  # fmt: skip
def test_a_lying_meter_makes_no_law(factors):
    """Reversed, one leg of two, wrong by a tenth, stuck at nothing: the assumed law is kept, and says so."""
    found = law(metered(spoilt(day(), **factors), *USUAL, noise=0.3))
    assert found == ASSUMED


@pytest.mark.parametrize("factor", [-1.0, 0.5])
def test_the_law_is_found_in_the_rows_in_which_the_lying_meter_is_silent(factor):
    """A generator that stands still can't lie."""
    found = law(metered(spoilt(day(), generator=factor), *USUAL, noise=0.3))
    assert found == ASSUMED or (abs(found.idle_w - IDLE_W) <= 20 and abs(found.slope - SLOPE) <= 0.02)


def test_a_load_that_nobody_meters_is_not_taken_for_loss():
    x = day()
    x[INDEX["load"]] -= 250
    assert law(metered(x, *USUAL, noise=0.3)) == ASSUMED


def test_a_few_wild_rows_do_not_move_the_law():
    x = day()
    x[INDEX["battery"], 100:300] -= 1500
    found = law(metered(x, *USUAL, noise=0.3))
    assert found.source == "fitted"
    assert found.slope == pytest.approx(SLOPE, abs=0.01)


def test_without_redundancy_or_range_the_law_is_assumed():
    x = day()
    assert law(metered(x, "generator", "solar", "battery")) == ASSUMED
    assert law(metered(x[:, :40], *USUAL)) == ASSUMED
    steady = np.repeat(x[:, 1200:1201], 500, axis=1)
    assert law(metered(steady, *USUAL, noise=0.3)) == ASSUMED


def test_a_charger_at_3_kw_is_assumed_to_be_90_percent_efficient():
    """Common practice, no source."""
    assert ASSUMED.idle_w + ASSUMED.slope * 3000 == pytest.approx(300)


def test_a_small_converter_is_assumed_to_idle_on_little():
    x = day() * 0.03
    assert x.max() < 170
    found = law(metered(x, "generator", "solar", "battery"))
    assert (found.source, found.slope) == ("assumed", ASSUMED.slope)
    assert found.idle_w == 5.0
    told = learn(metered(x, "load"), Site.of({"inverter": {"rated_w": 600.0}})).conversion
    assert told.idle_w == 18.0
    assert told.idle_sd_w == pytest.approx(10)


def test_interval_and_gap():
    x = day(300)
    assert learn(metered(x, *USUAL, interval_s=1.0), Site()).gap_s == 60
    slow = learn(metered(x, *USUAL, interval_s=30.0), Site())
    assert slow.interval_s == 30
    assert slow.gap_s == 90
    alone = learn(metered(x[:, :1], *USUAL), Site())
    assert math.isnan(alone.interval_s)
    assert alone.gap_s == 60
    assert alone == learn(metered(x[:, :1], *USUAL), Site())


def test_nominal_values():
    """Those of the sheet, else the nearest usual ones to what it showed while it ran."""
    x = day(300)
    running = np.where(np.arange(300) > 100, 1.0, 0.0)
    recording = metered(x, *USUAL, generator_voltage=running * 226, generator_frequency=running * 51.2)
    found = learn(recording, Site())
    assert (found.volts, found.hz) == (230.0, 50.0)
    told = learn(recording, Site.of({"generator": {"volts": 240.0, "hz": 60.0}}))
    assert (told.volts, told.hz) == (240.0, 60.0)
    silent = learn(metered(x, *USUAL, generator_voltage=np.zeros(300)), Site())
    assert math.isnan(silent.volts)
    assert math.isnan(silent.hz)


def test_equal_when_the_same_was_learned():
    x = day(600)
    one, two = (learn(metered(x, *USUAL), Site()) for _ in range(2))
    assert one == two
    assert hash(one) == hash(two)
    assert one != learn(metered(x, *USUAL, interval_s=2.0), Site())


def test_a_channel_without_readings_teaches_nothing():
    """A recording that will have a channel later, and one that doesn't have it yet, are the same so far."""
    x = day(100)
    later = metered(x, *USUAL, grid_power=np.full(100, np.nan))
    assert learn(later, Site()) == learn(metered(x, *USUAL), Site())
