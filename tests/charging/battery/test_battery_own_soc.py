"""The state of charge counted anew from full and from rest."""

from __future__ import annotations

import numpy as np
import pytest
from battery_help import Cell, judged, lfp_site, metered, recording

from desktop.charging.battery.apart import stretches_apart
from desktop.site import Site

SECONDS = 30.0


def _charged_full(gauge=lambda soc: soc, percent=0.0):
    """Discharge to about 40 %, full charge that ends at absorption voltage with the tail current, discharge."""
    bank = Cell(ah=200.0)
    parts = [np.full(3 * 120, -30.0), np.full(20, -0.5), np.full(333, 60.0)]
    # Held at absorption voltage while the current dies away.
    parts.append(60.0 * np.exp(-np.arange(120) / 25.0))
    parts.append(np.full(5 * 120, -20.0))
    current = np.concatenate(parts)
    soc, volts = bank.run(current, SECONDS, 50.0)
    top = 713
    soc += 100.0 - soc[top + 119]
    volts = bank.rest(soc) + current * bank.ohm
    volts[top : top + 120] = 56.0
    columns = metered(current, volts, soc, np.random.default_rng(3), percent=percent, step=0.1)
    columns["battery_soc"] = gauge(columns["battery_soc"])
    return recording(columns, SECONDS), soc


def _site(percent=1.0, **battery):
    return lfp_site(percent, **{"capacity_kwh": 10.6, "absorb_v": 56.0, "float_v": 54.0, **battery})


def test_it_counts_from_full():
    rows, soc = _charged_full()
    own = judged(rows, _site()).own_soc
    assert own is not None
    assert own.full == 1
    truth = np.interp(own.time, rows.time, soc)
    known = np.isfinite(own.soc)
    assert known.all()
    # Full is known to two points.
    assert np.abs(own.soc - truth).max() <= 4.0
    assert (np.abs(own.soc - truth) <= 3 * own.sd).all()


def test_its_doubt_grows_with_time_and_charge_since_full():
    rows, _ = _charged_full()
    own = judged(rows, _site()).own_soc
    assert own is not None
    after = own.sd[-240:]
    assert after[-1] > after[0]
    assert (np.diff(after) >= -1e-9).all()


def test_it_shows_a_gauge_that_is_wrong():
    # A gauge that lost count some days ago.
    rows, _ = _charged_full(gauge=lambda soc: soc - 25)
    own = judged(rows, _site()).own_soc
    assert own is not None
    found = stretches_apart(own)
    assert len(found) == 1
    assert found[0].counted - found[0].reported == pytest.approx(25, abs=4)
    assert found[0].end - found[0].start > 3 * 3600e9
    honest = judged(_charged_full()[0], _site()).own_soc
    assert honest is not None
    assert stretches_apart(honest) == []


def test_a_gauge_that_moves_too_little_does_not_carry_the_count_along():
    rows, soc = _charged_full(gauge=lambda soc: 0.55 * soc + 45)
    own = judged(rows, _site()).own_soc
    assert own is not None
    assert abs(own.soc[-1] - soc[-1]) < abs(own.reported[-1] - soc[-1])


def test_a_hundred_percent_that_is_held_is_full():
    rows, _ = _charged_full(gauge=lambda soc: np.where(soc > 99.0, 100.0, soc))
    own = judged(rows, Site.of({"battery": {"capacity_kwh": 10.6}})).own_soc
    assert own is not None
    assert own.full >= 1


def test_no_anchor_no_count():
    current = np.concatenate((np.full(300, -30.0), np.full(200, 30.0)))
    soc, volts = Cell().run(current, SECONDS, 70.0)
    assert judged(recording(metered(current, volts, soc), SECONDS), _site()).own_soc is None


def _resting(chemistry, rest_v, percent, hours=6.0):
    rows = round(hours * 120)
    current = np.concatenate((np.full(60, -20.0), np.full(rows, -0.2), np.full(60, -20.0)))
    volts = np.full(len(current), rest_v) + current * 0.002
    columns = {
        "battery_power": current * volts,
        "battery_voltage": volts,
        "battery_current": current,
    }
    site = Site.of(
        {
            "battery": {
                "chemistry": chemistry,
                "nominal_v": 51.2 if chemistry == "lfp" else 48,
                "capacity_kwh": 10,
            },
            "meters": {"battery_voltage": {"percent": percent, "floor_w": 0}},
        }
    )
    return judged(recording(columns, SECONDS), site)


def test_lead_acid_at_rest():
    # Six cells at 12.20 V: half full by two published tables (± 10 points).
    own = _resting("flooded", 4 * 12.20, 0.1).own_soc
    assert own is not None
    assert (own.full, own.rest) == (0, 1)
    middle = len(own.soc) - 60
    assert own.soc[middle] == pytest.approx(50.0, abs=10.0)
    assert own.sd[middle] >= 5.0


def test_a_poor_voltmeter_tells_nothing_at_rest():
    # A voltmeter of ± 1 % means ± 15 points (posting on a measuring technique list): not worth an anchor.
    assert _resting("flooded", 4 * 12.20, 1.0).own_soc is None


def test_too_short_a_rest_tells_nothing():
    assert _resting("flooded", 4 * 12.20, 0.1, hours=2.0).own_soc is None


def test_the_plateau_of_iron_phosphate_tells_nothing():
    assert _resting("lfp", 16 * 3.315, 0.05).own_soc is None
    low = _resting("lfp", 16 * 3.16, 0.05).own_soc
    assert low is not None
    assert low.soc[-70] == pytest.approx(7.5, abs=4.0)


def test_after_a_gap_it_waits_for_the_next_anchor():
    rows, _ = _charged_full()
    columns = {name: rows.column(name).astype(float) for name in rows.channels}
    for values in columns.values():
        values[900:920] = np.nan
    own = judged(recording(columns, SECONDS), _site()).own_soc
    assert own is not None
    assert np.isfinite(own.soc[:440]).all()
    assert np.isnan(own.soc[-200:]).all()
