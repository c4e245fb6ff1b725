"""The battery's book: what is counted, and that it doesn't matter how rows are cut."""

from __future__ import annotations

import math

import numpy as np
import pytest
from battery_help import Cell, blocks, book_of, days, judged, lfp_site, metered, recording
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.charging.battery.book import BatteryBook, total
from desktop.flow.learned import learn


def _rows(half_cycles=3, seconds=20.0, seed=3, **cell):
    chance = np.random.default_rng(seed)
    bank = Cell(**cell)
    current = days(chance, bank.ah, half_cycles, seconds)
    soc, volts = bank.run(current, seconds, 85.0)
    return metered(current, volts, soc), soc, current, volts


def test_in_less_out_less_losses_is_what_is_stored():
    seconds, bank = 20.0, Cell(efficiency=0.97)
    # Every row holds for its whole step, so that a trapezoid counts it exactly: currents change over two rows.
    chance = np.random.default_rng(5)
    current = np.repeat(chance.uniform(-30, 30, 40), 30)
    soc, volts = bank.run(current, seconds, 50.0)
    columns = metered(current, volts, soc)
    columns = {name: values.astype(np.float32).astype(float) for name, values in columns.items()}
    minutes = book_of(recording(columns, seconds), lfp_site()).snapshot().minutes
    power = columns["battery_power"]
    mean = 0.5 * (power[1:] + power[:-1])
    net = mean.sum() * seconds / 3600
    assert total(minutes, "wh_in") - total(minutes, "wh_out") == pytest.approx(net, rel=1e-9)
    amperes = power / columns["battery_voltage"]
    charge = (0.5 * (amperes[1:] + amperes[:-1])).sum() * seconds / 3600
    assert total(minutes, "ah_in") - total(minutes, "ah_out") == pytest.approx(charge, rel=1e-9)
    above = np.maximum(power, 0)
    assert total(minutes, "wh_in") == pytest.approx(
        (0.5 * (above[1:] + above[:-1])).sum() * seconds / 3600, rel=1e-9
    )


def test_the_energy_books_of_a_battery_close():
    # What went in less what came out less what the resistance turned to heat is what the cells hold.
    seconds = 1.0
    bank = Cell(ah=50.0, ohm=0.02)
    current = 20 * np.sin(np.arange(4000) / 300)
    soc, _ = bank.run(current, seconds, 50.0)
    flat = 52.0
    volts = flat + current * bank.ohm
    minutes = book_of(recording(metered(current, volts, soc), seconds), lfp_site()).snapshot().minutes
    power = (current * volts).astype(np.float32).astype(float)
    within = (0.5 * (power[1:] + power[:-1])).sum() / 3600
    assert total(minutes, "wh_in") - total(minutes, "wh_out") == pytest.approx(within, rel=1e-9)
    heat = (0.5 * ((current**2)[1:] + (current**2)[:-1])).sum() * bank.ohm / 3600
    stored = flat * bank.ah * (soc[-1] - soc[0]) / 100
    assert total(minutes, "wh_in") - total(minutes, "wh_out") - heat == pytest.approx(stored, rel=2e-6)


def test_a_gap_is_not_bridged():
    columns, *_ = _rows()
    rows = len(columns["battery_power"])
    columns["battery_power"][1000:1010] = np.nan
    columns["battery_current"][1000:1010] = np.nan
    snapshot = book_of(recording(columns, 20.0), lfp_site()).snapshot()
    run = snapshot.minutes["run"]
    assert set(run.tolist()) == {0.0, 1.0}
    power = columns["battery_power"]
    mean = 0.5 * (np.maximum(power, 0)[1:] + np.maximum(power, 0)[:-1])
    assert total(snapshot.minutes, "wh_in") == pytest.approx(np.nansum(mean) * 20 / 3600, rel=1e-6)
    assert len(snapshot.minutes) <= rows / 3 + 2


def test_a_short_hole_is_bridged():
    columns, *_ = _rows()
    columns["battery_power"][1000:1002] = np.nan
    columns["battery_current"][1000:1002] = np.nan
    assert set(book_of(recording(columns, 20.0), lfp_site()).snapshot().minutes["run"].tolist()) == {0.0}


def test_a_current_that_comes_late_begins_a_run_of_its_own():
    columns, *_ = _rows()
    columns["battery_current"][:500] = np.nan
    columns["battery_voltage"][:500] = np.nan
    snapshot = book_of(recording(columns, 20.0), lfp_site()).snapshot()
    assert set(snapshot.minutes["run"].tolist()) == {0.0, 1.0}


def test_without_voltage_there_is_no_charge_to_count():
    columns, *_ = _rows()
    minutes = (
        book_of(recording({"battery_power": columns["battery_power"]}, 20.0), lfp_site()).snapshot().minutes
    )
    assert math.isnan(total(minutes, "ah_in"))
    assert total(minutes, "wh_in") > 0


def test_memory_is_bounded_by_the_minutes():
    columns, *_ = _rows(2, 1.0)
    # A display that chatters with every row.
    columns["battery_soc"] = 50 + np.arange(len(columns["battery_soc"])) % 2
    snapshot = book_of(recording(columns, 1.0), lfp_site()).snapshot()
    minutes = len(columns["battery_soc"]) / 60 + 2
    assert len(snapshot.minutes) <= minutes
    assert len(snapshot.changes) <= minutes
    assert len(snapshot.steps) <= 2 * minutes


_COLUMNS = _rows(2, 20.0)[0]
for _at in (700, 703, 1400):
    _COLUMNS["battery_power"][_at : _at + 12] = np.nan
    _COLUMNS["battery_soc"][_at + 20] = np.nan
_WHOLE = recording(_COLUMNS, 20.0)
_FACTS = judged(_WHOLE, lfp_site())


@settings(max_examples=12, deadline=None)
@given(cuts=st.lists(st.integers(0, len(_WHOLE)), max_size=40))
def test_it_does_not_matter_how_rows_are_cut(cuts):
    facts = judged(_WHOLE, lfp_site(), cuts)
    for name in ("capacity_wh", "fill_wh", "coulombic", "energy_efficiency"):
        one, other = getattr(facts, name), getattr(_FACTS, name)
        assert (one.value, one.low, one.high) == pytest.approx((other.value, other.low, other.high), rel=1e-9)
    assert facts.resistance is not None
    assert facts.resistance == _FACTS.resistance
    assert facts.energy_in_wh == _FACTS.energy_in_wh


def test_row_by_row_at_the_end():
    cuts = range(len(_WHOLE) - 200, len(_WHOLE))
    whole, cut = (book_of(_WHOLE, lfp_site(), some).snapshot() for some in ((), cuts))
    for name in ("minutes", "changes", "steps"):
        one, other = getattr(whole, name), getattr(cut, name)
        assert len(one) == len(other)
        at = "at_after" if name == "changes" else "at"
        np.testing.assert_array_equal(one[at], other[at])


def test_a_snapshot_does_not_change_when_the_book_goes_on():
    site = lfp_site()
    first, second = blocks(_WHOLE, site, [len(_WHOLE) // 2])
    book = BatteryBook(learn(_WHOLE, site), site)
    book.extend(first)
    before = book.snapshot()
    held, rows = before.minutes["wh_out"].copy(), len(before.minutes)
    book.extend(second)
    assert len(before.minutes) == rows < len(book.snapshot().minutes)
    np.testing.assert_array_equal(before.minutes["wh_out"], held)
