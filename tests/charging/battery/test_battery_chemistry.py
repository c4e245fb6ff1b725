"""Usual values of chemistries against published ones."""

from __future__ import annotations

import math

import numpy as np
import pytest

from desktop.charging.battery.chemistry import (
    CHEMISTRIES,
    FLOODED,
    LFP,
    absorb_v,
    cells_of,
    float_v,
    peukert_hours,
)
from desktop.site import Battery


@pytest.mark.parametrize(
    ("socs", "volts"),
    [
        # Questions and answers of a motorhome magazine.
        ((100, 75, 50, 25), (12.66, 12.45, 12.30, 12.15)),
        # Posting on a measuring technique list.
        ((100, 75, 50, 25, 0), (12.6, 12.4, 12.2, 12.0, 11.6)),
        # Battery manual of a road sign, at rest.
        (
            (100, 90, 80, 70, 60, 50, 40, 30, 20, 10),
            (12.70, 12.58, 12.46, 12.36, 12.28, 12.20, 12.12, 12.02, 11.88, 11.72),
        ),
        # BCI-style table, quoted from memory.
        ((100, 75, 50, 25, 0), (12.65, 12.45, 12.24, 12.06, 11.89)),
    ],
)
def test_rest_voltage_of_a_flooded_battery(socs, volts):
    # Published tables are approximate, ± 10 points; below a quarter they differ by more among each other.
    told = np.interp(np.array(volts) / 6, FLOODED.rest.volts, FLOODED.rest.soc)
    off = np.abs(told - np.array(socs))
    assert off[np.array(socs) > 25].max() <= 10.0
    assert np.sqrt(np.mean(off**2)) <= 10.0


def test_rest_voltage_there_and_back():
    soc = np.array([5.0, 25.0, 62.0, 95.0])
    for kind in CHEMISTRIES.values():
        np.testing.assert_allclose(kind.rest.soc_at(kind.rest.at(soc)), soc, atol=1e-6)
        assert np.isnan(kind.rest.soc_at(np.array([0.5, 9.9]))).all()


def test_a_voltmeter_of_one_percent_tells_fifteen_points():
    # 120 mV of 12 V mean ± 15 points at 80 mV for ten (posting on a measuring technique list).
    assert 0.12 / 6 / FLOODED.rest.slope(np.array([12.2 / 6]))[0] == pytest.approx(15.0, abs=4.0)


def test_the_plateau_of_iron_phosphate_is_flat():
    plateau, foot = LFP.rest.slope(np.array([3.315, 3.1]))
    assert plateau < LFP.rest.flat < foot


@pytest.mark.parametrize(
    ("rated_ah", "rated_h", "exponent", "amperes", "hours"),
    [
        # Computed from t = H (C / (I H))^k; at the rated current it is the rated time.
        (100, 20, 1.2, 10, 8.705506),
        (100, 20, 1.2, 5, 20.0),
        (100, 20, 1.2, 20, 3.789291),
    ],
)
def test_peukert(rated_ah, rated_h, exponent, amperes, hours):
    assert peukert_hours(rated_ah, rated_h, exponent, amperes) == pytest.approx(hours, rel=1e-6)


def test_peukert_in_its_simple_form():
    # 100 A^k h, k 1.2, 5 A: 14.5 h; 250, 1.3, 20 A: 5.088631644 h (two published calculators). There H is 1 h.
    assert peukert_hours(100, 1, 1.2, 5) * 100**-0.2 == pytest.approx(14.4956, abs=1e-3)
    assert peukert_hours(250, 1, 1.3, 20) * 250**-0.3 == pytest.approx(5.088631644, rel=1e-8)
    # 100 Ah at 20 h and 60 Ah at 20 A (published example): k = ln(20/3) / ln(20/5).
    assert peukert_hours(100, 20, math.log(20 / 3) / math.log(4), 20) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("battery", "cells"),
    [
        ({"chemistry": "lfp", "nominal_v": 51.2}, 16),
        ({"chemistry": "lfp", "nominal_v": 48}, 16),
        ({"chemistry": "lfp", "nominal_v": 12.8}, 4),
        ({"chemistry": "flooded", "nominal_v": 48}, 24),
        ({"chemistry": "agm", "absorb_v": 28.8}, 12),
        ({"chemistry": "nmc", "nominal_v": 51.8}, 14),
        ({"nominal_v": 48}, 0),
        ({"chemistry": "gel"}, 0),
    ],
)
def test_cells(battery, cells):
    assert cells_of(Battery(**battery)) == cells


def test_cells_by_the_voltage_that_it_usually_has():
    assert cells_of(Battery(chemistry="lfp"), 53.0) == 16
    assert cells_of(Battery(chemistry="flooded"), 12.6) == 6
    assert cells_of(Battery(chemistry="flooded"), 31.0) == 0


@pytest.mark.parametrize(
    ("chemistry", "lowest", "highest", "floating"),
    [
        # Sealed batteries' data sheets: cyclic 2.40 to 2.45, float 2.25 to 2.30 V per cell.
        ("agm", 2.40, 2.45, (2.22, 2.30)),
        # Deep-cycle gel guide: bulk 2.40, float 2.25.
        ("gel", 2.36, 2.42, (2.23, 2.27)),
        # Flooded: 2.40 to 2.49 and 2.17 to 2.25, quoted from memory.
        ("flooded", 2.40, 2.49, (2.17, 2.30)),
        # Daily use of iron phosphate: 3.45 to 3.50 and 3.35 to 3.40, quoted from memory.
        ("lfp", 3.45, 3.50, (3.35, 3.40)),
    ],
)
def test_charge_voltages(chemistry, lowest, highest, floating):
    kind = CHEMISTRIES[chemistry]
    assert lowest <= kind.absorb_v.value <= highest
    assert floating[0] <= kind.float_v.value <= floating[1]
    assert kind.absorb_v.low <= kind.absorb_v.value <= kind.absorb_v.high


def test_the_sheet_goes_before_what_is_assumed():
    assert absorb_v(Battery(chemistry="lfp", nominal_v=51.2, absorb_v=55.2)) == 55.2
    assert absorb_v(Battery(chemistry="lfp", nominal_v=51.2)) == pytest.approx(16 * 3.5)
    assert float_v(Battery(chemistry="gel", nominal_v=24)) == pytest.approx(12 * 2.25)
    assert math.isnan(float_v(Battery(nominal_v=24)))


def test_efficiencies():
    # Coulombic about 0.85 for lead-acid and over 0.99 for lithium; energy about 0.70 to 0.84 and 0.85 to 0.99
    # (battery design handbook on the web and other published ranges).
    for name in ("flooded", "agm", "gel"):
        kind = CHEMISTRIES[name]
        assert kind.coulombic.low <= 0.85 <= kind.coulombic.high
        # 110 % of what was taken out goes back in (a sealed battery's maker).
        assert kind.coulombic.low <= 1 / 1.1 <= kind.coulombic.high
        assert kind.energy.low <= 0.70
        assert kind.energy.high >= 0.80
    for name in ("lfp", "nmc"):
        assert CHEMISTRIES[name].coulombic.value > 0.99
        assert 0.85 <= CHEMISTRIES[name].energy.low < CHEMISTRIES[name].energy.high <= 0.99
