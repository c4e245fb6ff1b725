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


def test_no_event_is_told_twice(healthy):
    recording, site = healthy
    snapshot, learned = gathered(recording, site)
    found = arounds(Case.of(snapshot, learned, site))
    assert len(found) > 3
    assert not any(one is not other and one.overlaps(other) for one in found for other in found)
