"""Milestones, trends, ratings: the small parts that a review is made of."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from desktop.review.milestones import FirstReadings, milestone
from desktop.review.ratings import ratings, round_up
from desktop.review.readings import FOREVER, Readings
from desktop.review.trends import Trends
from desktop.site import Site
from recordings.recording import Recording

SECOND = 1_000_000_000


def test_few_rows_are_all_learned_from():
    assert [milestone(rows) for rows in (0, 1, 63, 64)] == [0, 1, 63, 64]


def test_milestones_grow_by_an_eighth():
    assert [milestone(rows) for rows in (65, 71, 72, 80, 81, 91, 92)] == [64, 64, 72, 72, 81, 81, 92]


@given(st.integers(0, 3_000_000))
def test_a_milestone_is_reached_and_never_far_behind(rows):
    reached = milestone(rows)
    assert reached <= rows
    assert milestone(reached) == reached
    assert rows < math.ceil(1.125 * reached) or rows <= 64


@given(st.lists(st.integers(0, 400), max_size=8))
def test_trends_keep_what_they_are_given(pieces):
    kept, given_values = Trends(("load",)), np.arange(sum(pieces), dtype=float)
    at = 0
    for count in pieces:
        kept.append({"load": given_values[at : at + count], "other": None}, count)
        at += count
    np.testing.assert_array_equal(kept.column("load"), given_values.astype(np.float32))
    assert len(kept) == at


def test_trends_are_read_only_and_constant_where_nothing_is_kept():
    kept = Trends(("load",))
    kept.append({"load": np.ones(3)}, 3)
    with pytest.raises(ValueError, match="read-only"):
        kept.column("load")[0] = 2
    assert kept.column("grid", otherwise=0.0).tolist() == [0, 0, 0]
    assert np.isnan(kept.column("chi2")).all()
    assert "load" in kept
    assert "grid" not in kept


def test_ratings_come_from_the_sheet_before_what_was_seen():
    site = Site.parse(
        "[generator]\nrated_w = 7500\n[inverter]\nrated_w = 5000\n[charger]\nrated_w = 3000\n"
        "[battery]\nmax_charge_a = 100\nnominal_v = 51.2\n[solar]\nrated_w = 4200\n"
    )
    found = ratings(site, {"grid": 1234.0, "load": 9000.0, "solar_ac": math.nan})
    assert found["generator"] == (7500, False)
    assert found["load"] == (5000, False)
    assert found["converter_ac"] == (5000, False)
    assert found["battery"] == (5120, False)
    assert found["solar"] == (4200, False)
    assert found["grid"] == (1500, True)
    assert found["solar_ac"] == (500, True)


@given(st.floats(0, 1e6))
def test_a_round_number_is_no_less_and_not_much_more(watts):
    assert watts <= round_up(watts) * (1 + 1e-9)
    assert round_up(watts) <= max(500.0, 1.6 * watts)


def test_readings_hold_for_a_while():
    limit = np.full(5000, np.nan)
    limit[3], limit[100] = 20, 25
    recording = Recording.from_columns(np.arange(5000) * SECOND, {"input_limit": limit})
    assert Readings(recording, 4999).get("input_limit", FOREVER) == 25
    assert Readings(recording, 99).get("input_limit", FOREVER) == 20
    assert Readings(recording, 110).get("input_limit", 10) == 25
    assert math.isnan(Readings(recording, 111).get("input_limit", 10))
    assert math.isnan(Readings(recording, 2).get("input_limit", FOREVER))
    assert math.isnan(Readings(recording, 50).get("battery_soc", FOREVER))
    assert math.isnan(Readings(recording, 101).get("input_limit"))


def test_first_readings_are_found_in_every_cutting():
    load, generator = np.ones(9), np.full(9, np.nan)
    generator[7] = 5
    recording = Recording.from_columns(
        np.arange(9) * SECOND,
        {"load_power": load, "generator_power": generator, "grid_power": np.full(9, np.nan)},
    )
    growing = FirstReadings()
    latest = [growing.latest(recording.rows(0, rows)) for rows in range(10)]
    assert latest == [-1, 0, 0, 0, 0, 0, 0, 0, 7, 7]
    assert FirstReadings().latest(recording) == 7
    assert growing.channels == {"load_power", "generator_power"}
