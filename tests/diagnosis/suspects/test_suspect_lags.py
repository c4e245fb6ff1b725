"""Readings that come late: small loads, few rows, missing readings; and what only looks like it."""

import numpy as np
import pytest
from suspect_help import gathered, named, suspects

from desktop.diagnosis.suspects.around import arounds
from desktop.diagnosis.suspects.case import Case
from desktop.diagnosis.suspects.lags import lag_of
from desktop.opening import demos
from desktop.site import Site
from recordings.recording import Recording
from recordings.tables import read_table


@pytest.fixture(scope="module")
def healthy():
    path = next(demo.path for demo in demos() if demo.path.stem == "healthy-charge")
    return read_table(path), Site.load(path.with_suffix(".toml"))


def with_small_load(recording, late_rows):
    """A load of some 60 W on the DC side, taken out of what goes into the battery; its meter comes late."""
    columns = {name: recording.column(name).astype(float) for name in recording.channels}
    chance = np.random.default_rng(4)
    load = 15.0 + 60.0 * ((np.arange(len(recording)) // 97) % 3 == 1)
    columns["battery_power"] = columns["battery_power"] - load
    read = load[np.maximum(np.arange(len(load)) - late_rows, 0)]
    columns["dc_load_power"] = np.round(read + chance.normal(0, 1, len(load)))
    return Recording.from_columns(recording.time, columns)


def test_a_small_load_among_large_ones(healthy):
    recording, site = healthy
    (found,) = suspects(with_small_load(recording, 40), site)
    assert (found.channel, found.fault, found.clear) == ("dc_load_power", "lag", True)
    assert found.parameter == pytest.approx(80.0, rel=0.12)


def test_a_small_load_that_is_read_in_time_accuses_nobody(healthy):
    recording, site = healthy
    assert suspects(with_small_load(recording, 0), site) == ()


def test_missing_readings_hide_no_lag(healthy):
    recording, site = healthy
    late = with_small_load(recording, 40)
    columns = {name: late.column(name).astype(float) for name in late.channels}
    for row, values in enumerate(columns.values()):
        values[row + 30 :: 71] = np.nan
    found = suspects(Recording.from_columns(late.time, columns), site)
    assert named(found) == [("dc_load_power", "lag")]


@pytest.mark.parametrize("change", [lambda power: -power, lambda power: 0.6 * power])
def test_a_wrong_gain_is_no_lag(healthy, change):
    recording, site = healthy
    columns = {name: recording.column(name).astype(float) for name in recording.channels}
    columns["load_power"] = change(columns["load_power"])
    snapshot, learned = gathered(Recording.from_columns(recording.time, columns), site)
    case = Case.of(snapshot, learned, site)
    assert max(each.unrest for each in arounds(case)) > 10
    assert lag_of(case) is None


def charging(moves, late_rows=0):
    """Forty minutes, each second, of a house, a battery and a generator that starts and, moving twice, stops."""
    chance = np.random.default_rng(5)
    row = np.arange(2400)
    runs = [0.0, 1.0, 1.0, 0.0 if moves == 2 else 1.0]
    given = 3000.0 * np.interp(row, (600, 608, 1500, 1502), runs)
    house = np.full(2400, 400.0)
    through = given - house
    columns = {
        "generator_power": given[np.maximum(row - late_rows, 0)],
        "load_power": house,
        "battery_power": np.where(through > 0, 0.94 * through, through / 0.94) - 30.0,
    }
    columns = {name: np.round(power + chance.normal(0, 8, 2400)) for name, power in columns.items()}
    return Recording.from_columns(row.astype(np.int64) * 10**9, columns)


@pytest.mark.parametrize(
    ("moves", "late_rows", "said"), [(2, 30, [("generator_power", "lag")]), (1, 30, []), (2, 0, [])]
)
def test_a_start_and_a_stop_are_enough_but_one_of_them_proves_nothing(moves, late_rows, said):
    site = Site.of({"inverter": {"rated_w": 5000}, "battery": {"nominal_v": 51.2}})
    snapshot, learned = gathered(charging(moves, late_rows), site)
    late = lag_of(Case.of(snapshot, learned, site))
    assert (late is not None) == bool(said)
    assert named(suspects(charging(moves, late_rows), site)) == said
    assert late is None or late.seconds == pytest.approx(late_rows, abs=2)


def test_no_event_is_told_twice(healthy):
    recording, site = healthy
    snapshot, learned = gathered(recording, site)
    found = arounds(Case.of(snapshot, learned, site))
    assert len(found) > 3
    assert not any(one is not other and one.overlaps(other) for one in found for other in found)
