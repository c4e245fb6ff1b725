"""The energy books: trapezoids between rows, gaps left out, and the same answer for every cut."""

import math

import numpy as np
import pytest
from handmade import block_of, cut
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.charging.energy import Energy, EnergyBooks
from desktop.flow.streams import SIGNED, SINKS, SOURCES, STREAMS


def books(*blocks) -> Energy:
    kept = EnergyBooks()
    for block in blocks:
        kept.extend(block)
    return kept.energy()


def test_uneven_steps_are_trapezoids():
    # Worked by hand: 60 s of 1500 W on average and 30 s of 1000 W are 120 000 J.
    found = books(block_of([0, 60, 90], gap_s=100, generator=[1000, 2000, 0]))
    assert found.forward["generator"].wh == pytest.approx(33.333333, abs=1e-6)


def test_the_error_of_a_parabola_is_the_textbook_bound():
    # Error bound (b − a) h² max|f″| / 12 of the trapezoid rule, any text on numerical analysis.
    hours = np.arange(5)
    found = books(block_of(hours * 3600, gap_s=3700, solar=100 * hours**2))
    exact = 100 * 4**3 / 3
    assert found.forward["solar"].wh == pytest.approx(2200)
    assert found.forward["solar"].wh - exact == pytest.approx(4 * 1 * 200 / 12)


@pytest.mark.parametrize(
    ("steps", "watt_hours"),
    [(4, 36_213.203436), (12, 37_978.770564), (48, 38_183.549984), (144, 38_195.671287)],
)
def test_a_half_sine_of_sun_converges_with_the_square_of_the_step(steps, watt_hours):
    # Exact: 5000 W × 12 h × 2/π = 38 197.186342 Wh; the sums were worked out apart from this program.
    at = np.linspace(0, 12 * 3600, steps + 1)
    found = books(block_of(at, gap_s=1e6, solar=5000 * np.sin(np.pi * at / (12 * 3600))))
    assert found.forward["solar"].wh == pytest.approx(watt_hours, abs=1e-5)
    error = 38_197.186342 - found.forward["solar"].wh
    finer = np.linspace(0, 12 * 3600, 2 * steps + 1)
    halved = books(block_of(finer, gap_s=1e6, solar=5000 * np.sin(np.pi * finer / (12 * 3600))))
    assert error / (38_197.186342 - halved.forward["solar"].wh) == pytest.approx(4, rel=0.06)


def test_a_gap_of_an_hour_within_a_day_leaves_23_kilowatt_hours():
    # Worked by hand: 23 h of 1 kW seen out of 24 h, 95.833 % of the time.
    minutes = np.concatenate((np.arange(0, 601), np.arange(660, 1441)))
    found = books(block_of(minutes * 60.0, gap_s=180, load=1000))
    assert found.forward["load"].wh == pytest.approx(23_000)
    assert found.forward["load"].unknown_s == found.unknown_s == found.gap_s == 3600
    assert 1 - found.unknown_s / found.duration_s == pytest.approx(0.95833, abs=1e-5)


def test_a_missing_reading_leaves_out_its_two_steps_and_no_others():
    load = np.full(11, 3600.0)
    load[4] = np.nan
    found = books(block_of(np.arange(11), load=load, generator=3600))
    assert found.forward["load"].wh == pytest.approx(8)
    assert found.forward["load"].unknown_s == 2
    assert found.forward["generator"].wh == pytest.approx(10)
    assert found.forward["generator"].unknown_s == 0
    assert found.unknown_s == 2


def test_what_was_never_known_has_no_energy_and_does_not_count_as_unknown_time():
    found = books(block_of(np.arange(5), solar=np.nan, load=100))
    assert math.isnan(found.forward["solar"].wh)
    assert math.isnan(found.solar.wh)
    assert found.unknown_s == 0


def test_a_stream_that_cannot_be_reconciled_is_counted_as_metered():
    block = block_of([0, 3600], gap_s=4000, battery=500)
    block.value[:] = np.nan
    found = books(block)
    assert found.forward["battery"].wh == pytest.approx(500)


def test_both_ways_are_kept_apart_and_their_difference_is_the_plain_trapezoid():
    power = np.array([1000.0, 1000, -1000, -3000, 200])
    found = books(block_of(np.arange(5) * 3600, gap_s=4000, battery=power))
    into, out = found.forward["battery"].wh, found.backward["battery"].wh
    assert into == pytest.approx(1000 + 500 + 100)
    assert out == pytest.approx(500 + 2000 + 1500)
    assert into - out == pytest.approx(float(np.sum((power[1:] + power[:-1]) / 2)))


def test_errors_of_a_meter_add_up_in_full():
    found = books(block_of(np.arange(3601), generator=5000, grid=-1000))
    assert found.forward["generator"].sd == pytest.approx(50)
    assert found.backward["grid"].sd == pytest.approx(10)
    assert found.forward["grid"].sd == 0


def test_no_rows_and_one_row_give_nothing_known():
    assert math.isnan(books().forward["load"].wh)
    single = books(block_of([0], load=100))
    assert math.isnan(single.forward["load"].wh)
    assert single.unknown_s == single.duration_s == 0


@st.composite
def histories(draw):
    """A block with gaps, holes and both signs, and where to cut it."""
    rows = draw(st.integers(2, 60))
    steps = draw(st.lists(st.sampled_from([1.0, 2.5, 30.0, 61.0, 4000.0]), min_size=rows, max_size=rows))
    powers = st.one_of(st.floats(-9000, 9000), st.just(0.0), st.just(math.nan))
    column = st.lists(powers, min_size=rows, max_size=rows)
    streams = {name: draw(column) for name in ("battery", "grid")}
    streams |= {name: np.abs(draw(column)) for name in ("generator", "load")}
    flows = {("generator", "battery"): np.abs(draw(column)), ("battery", "load"): np.abs(draw(column))}
    block = block_of(np.cumsum(steps), flows=flows, **streams)
    return block, draw(st.lists(st.integers(0, rows), max_size=8))


def numbers(found: Energy) -> np.ndarray:
    amounts = [*found.forward.values(), *found.backward.values(), found.unaccounted]
    parts = [number for a in amounts for number in (a.wh, a.sd, a.unknown_s)]
    return np.array([*parts, *found.table.ravel(), found.duration_s, found.gap_s, found.unknown_s])


@given(histories())
def test_the_books_do_not_depend_on_the_cut(history):
    block, at = history
    np.testing.assert_allclose(numbers(books(*cut(block, *at))), numbers(books(block)), rtol=1e-12, atol=1e-9)


@given(histories())
@settings(max_examples=50)
def test_energy_is_additive_over_any_cut(history):
    """Two parts that share the row of the cut hold what the whole holds."""
    block, at = history
    row = min([*at, len(block) - 1])
    whole = books(block)
    (first, *_), (*_, second) = list(cut(block, row + 1)), list(cut(block, row))
    second.step = np.concatenate(([np.nan], second.step[1:]))
    second.gap = np.concatenate(([False], second.gap[1:]))
    parts = books(first), books(second)
    for name in STREAMS:
        for side in ("forward", "backward"):
            if side == "backward" and name not in SIGNED:
                continue
            both = np.nansum([getattr(part, side)[name].wh for part in parts])
            assert both == pytest.approx(np.nan_to_num(getattr(whole, side)[name].wh), rel=1e-9, abs=1e-9)
    assert sum(part.duration_s for part in parts) == pytest.approx(whole.duration_s)


def test_the_table_sums_to_the_streams():
    battery = np.array([500.0, -200, 900, -50])
    flows = {
        ("generator", "battery"): np.maximum(battery, 0),
        ("battery", "load"): np.maximum(-battery, 0),
    }
    found = books(block_of(np.arange(4), battery=battery, flows=flows))
    assert found.table[:, SINKS.index("battery")].sum() == pytest.approx(found.forward["battery"].wh)
    assert found.table[SOURCES.index("battery")].sum() == pytest.approx(found.backward["battery"].wh)


def test_a_million_single_rows_are_the_whole():
    from desktop.charging.integrals import Sums

    chance = np.random.default_rng(3)
    terms = chance.normal(0, 1e6, 100_000)
    kept = Sums(1)
    for term in terms:
        kept.add(np.array([term]))
    assert kept.total[0] == pytest.approx(math.fsum(terms), rel=1e-15)
