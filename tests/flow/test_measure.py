"""From channels to streams and their deviations."""

from __future__ import annotations

import math

import numpy as np
import pytest
from plants import USUAL, day, metered

from desktop.flow.deviations import deviations
from desktop.flow.learned import learn
from desktop.flow.measure import ASSUMED_POWER_FACTOR_PERCENT, NOMINAL_VOLTS_PERCENT
from desktop.flow.network import Network
from desktop.flow.streams import INDEX, STREAMS
from desktop.flow.worker import Worker
from desktop.site import Site
from recordings.recording import Recording

CLASS = (2.0,) * len(STREAMS), (15.0,) * len(STREAMS)


def read(site: Site | None = None, rows: int = 4, **channels: object):
    """The block of a small recording."""
    columns = {name: np.broadcast_to(np.asarray(values, float), rows) for name, values in channels.items()}
    recording = Recording.from_columns(np.arange(1, rows + 1) * 10**9, columns)
    site = site or Site()
    return Worker(learn(recording, site), site).work(recording, 0, rows)


def test_a_set_of_7_5_kw_at_240_v_gives_31_25_a():
    """Common practice, no source: at full load; 30 A is a usual input limit for it, 7.2 kW."""
    site = Site.of({"generator": {"volts": 120.0, "legs": 2, "power_factor": 1.0}})
    block = read(site, generator_voltage=120.0, generator_current=31.25, load_power=700)
    assert block.measured[INDEX["generator"]] == pytest.approx(7500)
    assert block.derived == {"generator"}
    assert read(site, generator_current=30.0, load_power=700).measured[INDEX["generator"]] == pytest.approx(
        7200
    )


def test_legs_are_summed_with_their_own_volts():
    site = Site.of({"generator": {"legs": 2, "power_factor": 0.9}})
    block = read(
        site, generator_voltage_l1=118.0, generator_voltage_l2=122.0, generator_current_l1=10.0,
        generator_current_l2=20.0, load_power=500,
    )  # fmt: skip
    assert block.measured[INDEX["generator"]] == pytest.approx(0.9 * (1180 + 2440))


def test_one_metered_leg_of_two_tells_no_power():
    """Half of the generator would pass for the whole."""
    site = Site.of({"generator": {"legs": 2}})
    block = read(site, generator_voltage=120.0, generator_current_l1=10.0, load_power=500)
    assert np.isnan(block.measured[INDEX["generator"]]).all()


def test_battery_power_from_volts_and_amperes_only_where_no_channel_tells_it():
    block = read(battery_voltage=52.0, battery_current=[-10, 0, np.nan, 20], load_power=500)
    assert block.measured[INDEX["battery"]] == pytest.approx([-520, 0, np.nan, 1040], nan_ok=True)
    assert block.derived == {"battery"}
    own = read(
        battery_voltage=52.0, battery_current=10.0, battery_power=[500, np.nan, 510, 505], load_power=500
    )
    assert own.measured[INDEX["battery"]] == pytest.approx([500, np.nan, 510, 505], nan_ok=True)
    assert own.derived == frozenset()


def test_derived_readings_carry_the_classes_of_volts_and_amperes():
    amperes, volts = {"percent": 3.0, "floor_w": 20.0}, {"percent": 0.5, "floor_w": 5.0}
    site = Site.of({"meters": {"battery_current": amperes, "battery_voltage": volts}})
    recording = Recording.from_columns(
        np.arange(1, 4) * 10**9,
        {"battery_voltage": [50.0] * 3, "battery_current": [40.0] * 3, "generator_current": [10.0] * 3},
    )
    metering = learn(recording, site).metering
    assert metering.percent[INDEX["battery"]] == pytest.approx(math.hypot(3, 0.5))
    assert metering.floor_w[INDEX["battery"]] == pytest.approx(math.hypot(20, 5))
    assert "generator" not in metering.products
    nominal = learn(recording, Site.of({"generator": {"volts": 230.0}})).metering
    assert nominal.percent[INDEX["generator"]] == pytest.approx(
        math.hypot(2, NOMINAL_VOLTS_PERCENT, ASSUMED_POWER_FACTOR_PERCENT)
    )


def test_a_generator_that_stands_still_gives_nothing():
    """No reading of its power, but of its frequency: then that is evidence. A meter that doubts it is believed."""
    unread = read(
        generator_power=[np.nan, np.nan, 500, np.nan], generator_frequency=[0, 50, 50, np.nan], load_power=500,
        battery_power=-600,
    )  # fmt: skip
    assert unread.measured[INDEX["generator"]] == pytest.approx([0, np.nan, 500, np.nan], nan_ok=True)
    assert unread.channels["generator_power"] == pytest.approx([np.nan, np.nan, 500, np.nan], nan_ok=True)
    assert unread.sd[INDEX["generator"], 0] <= 1
    doubted = read(generator_power=2000, generator_frequency=0, load_power=500, battery_power=-600)
    assert (doubted.measured[INDEX["generator"]] == 2000).all()
    assert (doubted.chi2 > 100).all()


def test_low_volts_say_the_same():
    block = read(
        generator_voltage=[3, 230, 230, 231], generator_power=[np.nan, 900, 900, 900], load_power=500
    )
    assert block.measured[INDEX["generator"], 0] == 0


def test_infinite_readings_are_missing():
    block = read(load_power=[500, np.inf, 510, 505], battery_power=-560.0)
    assert np.isnan(block.measured[INDEX["load"], 1])
    assert np.isfinite(block.value[INDEX["load"]]).all()


INSIDE = {"battery", "converter_ac", "converter_dc", "loss"}


def streams(site: dict | None = None, **channels: object) -> set[str]:
    columns = {name: np.full(3, value, float) for name, value in channels.items()}
    return set(Network.of(Recording.from_columns(np.arange(3), columns), Site.of(site or {})).present)


def test_streams_of_a_plant():
    """By channels with readings and by the sheet."""
    assert streams(load_power=900, generator_power=900) == {"load", "generator"}
    assert streams(load_power=900, grid_power=910, generator_frequency=0) == {"load", "generator", "grid"}
    assert streams({"generator": {}}, load_power=900, grid_power=900) == {"load", "generator", "grid"}
    assert streams(load_power=900, battery_power=-1000, battery_soc=50) == {"load", *INSIDE}
    assert streams({"solar": {"coupling": "ac"}}, load_power=1) == {"load", "solar_ac", *INSIDE}
    assert streams({"solar": {}}, load_power=1) == {"load", "solar", *INSIDE}
    assert streams(solar_power=900, battery_power=300) == {"load", "solar", *INSIDE}
    assert streams({"generator": {}}, dc_load_power=1, solar_power=np.nan) == {
        "load",
        "generator",
        "dc_load",
        *INSIDE,
    }


def test_what_feeds_a_plant_and_is_not_recorded_is_unknown_and_not_absent():
    unknown = {"load", "generator", "solar", *INSIDE}
    assert streams(load_power=900) == unknown
    assert streams(load_power=900, battery_soc=50) == unknown
    assert streams({"battery": {"capacity_kwh": 5}}, load_power=900) == unknown
    assert streams(battery_power=1000) == unknown
    assert streams(battery_voltage=50, battery_current=20) == unknown
    assert streams(load_power=900, battery_power=1000) == unknown


def test_what_takes_the_rest_and_is_not_recorded_is_unknown_and_not_absent():
    assert streams(generator_power=900) == {"load", "generator", *INSIDE}
    assert streams(grid_power=900) == {"load", "grid", *INSIDE}
    assert streams(generator_power=3000, load_power=400) == {"load", "generator", *INSIDE}


def test_more_in_the_battery_than_comes_from_anywhere_has_another_source():
    assert streams(generator_power=3000, battery_power=3200) == {"load", "generator", "solar", *INSIDE}
    assert streams(solar_power=300, battery_power=200, dc_load_power=100) == {
        "load", "generator", "solar", "dc_load", *INSIDE,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("channels", "known"),
    [
        ({"load_power": 900}, {"load": 900}),
        ({"generator_power": 900}, {"generator": 900}),
        ({"battery_power": 900}, {"battery": 900}),
        ({"load_power": 400, "battery_power": 900}, {"load": 400, "battery": 900}),
        ({"solar_power": 900}, {"solar": 900}),
    ],
)
def test_a_stream_that_is_metered_alone_is_what_its_meter_says(channels, known):
    block = read(**channels)
    for name in ("generator", "load", "battery", "converter_ac"):
        expected = known.get(name)
        values = block.value[INDEX[name]]
        if expected is not None:
            assert values == pytest.approx(np.full(len(values), expected))
        elif name != "generator" or "solar" not in known:
            assert np.isnan(values).all()
    assert np.isnan(block.missing("ac")).all()


def test_deviation_of_steady_readings_is_the_class():
    """sqrt((2 % of 1000)² + 15²)."""
    readings = np.full((len(STREAMS), 5), 1000.0)
    step = np.array([np.nan, 1, 1, 1, 1])
    assert deviations(readings, step, 1.0, 60.0, *CLASS) == pytest.approx(np.full((10, 5), 25.0))


def test_a_step_is_covered_where_it_shows_and_a_row_later():
    readings = np.zeros((len(STREAMS), 6))
    readings[INDEX["load"], 2:] = 2000.0
    found = deviations(readings, np.array([np.nan, 1, 1, 1, 1, 1]), 1.0, 60.0, *CLASS)[INDEX["load"]]
    assert (found[2:4] > 1999).all()
    assert found[[0, 1]] == pytest.approx(15)
    assert found[4:] == pytest.approx(math.hypot(40, 15))


def test_a_change_over_a_gap_counts_by_its_rate():
    readings = np.zeros((len(STREAMS), 2))
    readings[:, 1] = 3600.0
    found = deviations(readings, np.array([np.nan, 3600.0]), 1.0, 60.0, *CLASS)
    assert found[:, 1] == pytest.approx(math.hypot(72, 15, 1))


def test_a_missing_reading_hides_no_step():
    readings = np.full((len(STREAMS), 4), [100.0, np.nan, 900.0, 900.0])
    found = deviations(readings, np.array([np.nan, 1, 1, 1]), 1.0, 60.0, *CLASS)[0]
    assert np.isnan(found[1])
    assert found[2] == pytest.approx(math.hypot(18, 15, 800))
    assert np.isfinite(found[3])


def test_a_load_step_that_one_meter_sees_a_row_late_is_no_imbalance():
    """The generator answers a 2.5 kW step at once, its meter a row late."""
    x = day(900)
    step = np.where(np.arange(900) >= 500, 2500.0, 0.0)
    late = np.concatenate(([0.0], step[:-1]))
    x[INDEX["generator"]] = 4000 + step
    x[INDEX["load"]] = 500 + step
    x[INDEX["battery"]] = x[INDEX["solar"]] + 3500 * 0.94 - 40
    x[INDEX["generator"]] = 4000 + late
    recording = metered(x, *USUAL)
    block = Worker(learn(recording, Site()), Site()).work(recording, 0, 900)
    assert block.chi2.max() < 3.84
