"""Who feeds whom."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from plants import day, true_streams

from desktop.flow.conversion import ASSUMED
from desktop.flow.network import Network
from desktop.flow.reconcile import reconcile
from desktop.flow.streams import INDEX, SINKS, SOURCES, STREAMS
from desktop.flow.trace import Tracer, trace


def cell(table: np.ndarray, source: str, sink: str) -> np.ndarray:
    return table[SOURCES.index(source), SINKS.index(sink)]


def plant(**streams: object) -> np.ndarray:
    x = np.zeros((len(STREAMS), max(np.size(value) for value in streams.values())))
    for name, value in streams.items():
        x[INDEX[name]] = value
    return x


def assert_sums(x: np.ndarray, table: np.ndarray) -> None:
    """Rows and columns sum to the streams."""
    scale = 1e-9 * (1 + np.abs(x).max(axis=0))
    sources = {name: np.maximum(x[INDEX[name]], 0) for name in SOURCES}
    sources["battery"] = np.maximum(-x[INDEX["battery"]], 0)
    sinks = {name: x[INDEX[name]] for name in ("load", "dc_load")}
    sinks |= {"battery": np.maximum(x[INDEX["battery"]], 0), "grid": np.maximum(-x[INDEX["grid"]], 0)}
    sinks["losses"] = x[INDEX["loss"]]
    for row, name in enumerate(SOURCES):
        assert (np.abs(table[row].sum(axis=0) - sources[name]) <= scale).all(), name
    for column, name in enumerate(SINKS):
        assert (np.abs(table[:, column].sum(axis=0) - sinks[name]) <= scale).all(), name
    assert (table >= -scale).all()


def test_every_outflow_has_the_mix_of_the_inflows():
    """Bialek 1996 (IEE Proc. GTD 143:313), the four-line node: 40 and 60 in, 70 and 30 out (from memory)."""
    table = trace(plant(generator=40.0, solar_ac=60.0, load=70.0, grid=-30.0))
    assert cell(table, "generator", "load") == pytest.approx(28)
    assert cell(table, "solar_ac", "load") == pytest.approx(42)
    assert cell(table, "generator", "grid") == pytest.approx(12)
    assert cell(table, "solar_ac", "grid") == pytest.approx(18)
    assert table.sum() == pytest.approx(100)


def test_two_buses_in_a_row():
    """The same rule twice: 40 and 60 feed 70 and a lossless converter, whose 30 meet 10 of DC solar."""
    table = trace(
        plant(generator=40.0, solar_ac=60.0, load=70.0, converter_ac=30.0, converter_dc=30.0, solar=10.0,
              battery=24.0, dc_load=16.0)
    )  # fmt: skip
    assert cell(table, "generator", "battery") == pytest.approx(40 * 0.3 * 24 / 40)
    assert cell(table, "solar_ac", "dc_load") == pytest.approx(60 * 0.3 * 16 / 40)
    assert cell(table, "solar", "battery") == pytest.approx(6)


def test_losses_belong_to_what_went_through():
    """While charging, DC solar bears none of the converter's loss; while inverting it bears its part."""
    charging = true_streams(generator=np.array([4000.0]), load=np.array([1000.0]), solar=np.array([500.0]))
    table = trace(charging)
    assert cell(table, "solar", "losses") == pytest.approx(0)
    assert cell(table, "generator", "losses") == pytest.approx(charging[INDEX["loss"]])
    inverting = true_streams(load=np.array([1000.0]), solar=np.array([500.0]))
    table = trace(inverting)
    battery = -inverting[INDEX["battery"], 0]
    share = 500 / (500 + battery)
    assert cell(table, "solar", "losses")[0] == pytest.approx(share * inverting[INDEX["loss"], 0])
    assert cell(table, "solar", "load")[0] == pytest.approx(share * 1000)


ONE_WAY = ("generator", "solar_ac", "load", "solar", "dc_load")
amounts = st.one_of(st.just(0.0), st.floats(0, 9000, width=32))


@settings(deadline=None, derandomize=True)
@given(
    st.fixed_dictionaries(
        dict.fromkeys(ONE_WAY, arrays(np.float64, 5, elements=amounts))
    ),
    arrays(np.float64, 5, elements=st.floats(-5000, 5000, width=32)),
)  # fmt: skip
def test_rows_and_columns_sum_to_the_streams(streams, grid):
    """Charging, inverting, standing still, and both sides feeding an idle converter."""
    x = true_streams(grid=grid, **streams)
    assert_sums(x, trace(x))


def test_both_sides_feed_an_idle_converter():
    x = plant(generator=1010.0, load=1000.0, converter_ac=10.0, converter_dc=-30.0, battery=-30.0, loss=40.0)
    table = trace(x)
    assert_sums(x, table)
    assert cell(table, "generator", "losses") == pytest.approx(10)
    assert cell(table, "battery", "losses") == pytest.approx(30)


def test_nothing_flows():
    assert not trace(np.zeros((len(STREAMS), 3))).any()


@settings(deadline=None, derandomize=True)
@given(arrays(np.float64, (len(STREAMS), 4), elements=st.floats(-6000, 6000, width=32)))
def test_reconciled_streams_of_any_readings_are_traced_whole(measured):
    """Also where readings contradict each other, and streams are held at zero."""
    found = reconcile(measured, np.full(measured.shape, 40.0), Network(STREAMS), ASSUMED)
    assert_sums(found.value, trace(found.value))


def test_unknown_streams_leave_only_what_depends_on_them_unknown():
    """Load and converter unknown: DC solar may go anywhere, but the silent generator goes nowhere."""
    x = plant(generator=0.0, load=np.nan, converter_ac=np.nan, converter_dc=np.nan, loss=np.nan, solar=800.0,
              battery=300.0)  # fmt: skip
    table = trace(x)
    assert not table[SOURCES.index("generator")].any()
    assert not table[:, SINKS.index("dc_load")].any()
    assert np.isnan(cell(table, "solar", "load")).all()
    assert np.isnan(cell(table, "solar", "battery")).all()


def test_a_known_ac_side_is_traced_beside_an_unknown_dc_side():
    x = plant(generator=3000.0, load=1000.0, converter_ac=2000.0, converter_dc=1800.0, loss=200.0, solar=np.nan,
              battery=np.nan)  # fmt: skip
    table = trace(x)
    assert cell(table, "generator", "load") == pytest.approx(1000)
    assert cell(table, "generator", "losses") == pytest.approx(200)
    assert np.isnan(cell(table, "generator", "battery")).all()
    assert cell(table, "solar", "load") == pytest.approx(0)


def test_unknown_rows_change_nothing_in_their_neighbours():
    x = day(50)
    holed = x.copy()
    holed[[INDEX["load"], INDEX["converter_ac"]], 7] = np.nan
    whole, part = trace(x), trace(holed)
    kept = np.arange(50) != 7
    assert np.array_equal(whole[:, :, kept], part[:, :, kept])
    assert np.isnan(part[:, :, 7]).any()


def test_a_plants_own_tracer_equals_the_general_one():
    x = day(500)
    table = np.empty((len(SOURCES), len(SINKS), 500))
    Tracer({"generator", "load", "converter_ac", "converter_dc", "solar", "battery", "loss"}).run(x, table)
    assert np.array_equal(table, trace(x))
