"""A review as a whole: the same live and afterwards, whole for every recording, and exact in its public keys."""

import json
import math
from itertools import pairwise

import numpy as np
import pytest
from days import SECOND, SHEET, SITE, START, columns_of, session_day
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from likeness import close

from desktop.flow.streams import GAPS, SINKS, SOURCES, STREAMS
from desktop.review import Review, review
from desktop.site import Site
from recordings.channels import CHANNELS
from recordings.recording import Recording


@pytest.fixture(scope="module")
def day() -> Review:
    return review(session_day(), SITE)


def piecewise(recording: Recording, cuts, site=SITE) -> Review:
    """Review a recording as it grows; a channel appears with its first reading."""
    growing = review(Recording(), site)
    edges = [0, *sorted(cuts), len(recording)]
    for start, stop in pairwise(edges):
        part = recording.rows(start, stop)
        told = {name: part.column(name) for name in part.channels}
        if stop < len(recording):
            told = {name: read for name, read in told.items() if np.isfinite(read).any()}
        growing.extend(part.time, told)
    return growing


@st.composite
def rough_days(draw):
    """Recordings with holes, gaps, odd values and missing channels."""
    rows = draw(st.integers(2, 220))
    seed = draw(st.integers(0, 2**16))
    chance = np.random.default_rng(seed)
    step = draw(st.sampled_from([1.0, 10.0, 60.0]))
    steps = np.full(rows, step)
    for row in draw(st.lists(st.integers(1, rows - 1), max_size=2)):
        steps[row] = draw(st.sampled_from([0.5, 45.0, 400.0, 5000.0]))
    time = START + np.cumsum(steps * SECOND).astype(np.int64)
    at = np.arange(rows)
    first, last = sorted(draw(st.tuples(st.integers(0, rows), st.integers(0, rows))))
    generator = np.where((at >= first) & (at < last), draw(st.sampled_from([150.0, 3000.0, 8000.0])), 0.0)
    columns = columns_of(
        generator, 500 + 300 * chance.random(rows), 400 * chance.random(rows), noise=10, seed=seed
    )
    for name in draw(st.sets(st.sampled_from(sorted(columns)), max_size=3)):
        if draw(st.booleans()) and len(columns) > 3:
            del columns[name]
        else:
            columns[name] = np.where(chance.random(rows) < 0.2, np.nan, columns[name])
    for leg in draw(st.sampled_from([(), ("l1",), ("l1", "l2")])):
        late = at >= draw(st.integers(0, rows))
        columns[f"generator_current_{leg}"] = np.where(late, generator / 400, np.nan)
    if not any(name.endswith("_power") for name in columns):
        columns["load_power"] = np.full(rows, 300.0)
    return Recording.from_columns(time, columns)


@given(rough_days(), st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_review_does_not_depend_on_how_its_rows_arrived(recording, data):
    cuts = data.draw(st.lists(st.integers(0, len(recording)), max_size=6))
    whole, grown = review(recording, SITE), piecewise(recording, cuts)
    close(grown.as_json(), whole.as_json())
    for name in STREAMS:
        np.testing.assert_allclose(grown.stream(name), whole.stream(name), rtol=1e-6, atol=1e-3)


def test_a_review_does_not_depend_on_single_rows_either():
    recording = session_day(150, step_s=10)
    close(piecewise(recording, range(1, 150)).as_json(), review(recording, SITE).as_json())


def test_a_long_recording_that_grows_by_pieces_equals_the_whole(day):
    close(piecewise(day.recording, [1000, 1001, 2500]).as_json(), day.as_json())


def test_the_session_and_its_energies_are_found(day):
    (session,) = day.sessions
    assert session.stop == "normal"
    hours = 1999 / 3600
    assert session.generator_wh == pytest.approx(5200 * hours, rel=0.01)
    assert session.to_load_wh == pytest.approx(900 * hours, rel=0.03)
    parts = session.to_load_wh + session.to_battery_wh + session.losses_wh
    assert parts == pytest.approx(session.generator_wh, rel=1e-6)
    assert session.soc_end > session.soc_start


def test_rows_and_columns_of_the_table_sum_to_the_streams(day):
    energy = day.energy
    table = energy.table
    assert table[SOURCES.index("generator")].sum() == pytest.approx(energy.forward["generator"].wh, rel=1e-6)
    assert table[SOURCES.index("battery")].sum() == pytest.approx(energy.backward["battery"].wh, rel=1e-6)
    assert table[:, SINKS.index("battery")].sum() == pytest.approx(energy.forward["battery"].wh, rel=1e-6)
    assert table[:, SINKS.index("load")].sum() == pytest.approx(energy.forward["load"].wh, rel=1e-6)


def test_trends_hold_a_value_per_row(day):
    rows = len(day.recording)
    for name in STREAMS:
        assert day.stream(name).shape == (rows,)
        assert day.stream(name).dtype == np.float32
    for place in GAPS:
        assert day.unaccounted(place).shape == (rows,)
    assert day.stream("grid").max() == 0
    assert day.stream("generator")[2000] == pytest.approx(5200, abs=60)
    with pytest.raises(KeyError):
        day.stream("wind")


RECORDING_KEYS = {"rows", "start", "end", "interval_s", "channels", "gaps", "repaired", "columns"}
ENERGY_KEYS = {
    "generator",
    "grid_in",
    "grid_out",
    "solar",
    "load",
    "battery_in",
    "battery_out",
    "losses",
    "unaccounted",
    "unknown_time_s",
    "source_to_sink",
}
SESSION_KEYS = {
    "start",
    "end",
    "generator_kwh",
    "to_load_kwh",
    "to_battery_kwh",
    "losses_kwh",
    "solar_to_battery_kwh",
    "soc_start",
    "soc_end",
    "mean_load_share",
    "peak_input_a",
    "fuel",
    "stop",
}
FINDING_KEYS = {
    "kind",
    "severity",
    "start",
    "end",
    "channel",
    "peak",
    "threshold",
    "unit",
    "text",
    "cause",
    "advice",
}


def test_the_public_keys_are_there():
    recording = session_day(6000)
    overloaded = {name: recording.column(name).copy() for name in recording.channels}
    overloaded["generator_power"][2000:2100] = 9000
    found = review(Recording.from_columns(recording.time, overloaded), SITE).as_json()
    assert {"recording", "site", "balance", "energy_kwh", "sessions", "findings", "battery"} <= found.keys()
    assert found["recording"].keys() >= RECORDING_KEYS
    assert found["recording"]["repaired"].keys() >= {"duplicates", "out_of_order", "bad_cells"}
    assert found["balance"].keys() >= {
        "degrees_of_freedom",
        "in_balance_share",
        "unaccounted_w",
        "conversion",
        "suspects",
    }
    assert found["balance"]["unaccounted_w"].keys() >= {"mean", "p95"}
    assert found["balance"]["conversion"].keys() >= {"idle_w", "slope", "source"}
    assert found["energy_kwh"].keys() >= ENERGY_KEYS
    assert tuple(found["energy_kwh"]["source_to_sink"]) == SOURCES
    assert all(tuple(row) == SINKS for row in found["energy_kwh"]["source_to_sink"].values())
    assert found["sessions"]
    assert all(one.keys() >= SESSION_KEYS for one in found["sessions"])
    assert all(one["fuel"].keys() >= {"amount", "unit", "sd"} for one in found["sessions"])
    assert "generator_over_rating" in {one["kind"] for one in found["findings"]}
    assert all(one.keys() >= FINDING_KEYS for one in found["findings"])
    assert found["battery"].keys() >= {"capacity_kwh", "charge_efficiency", "resistance_ohm"}


def test_json_is_strict_and_its_times_are_utc(day):
    found = day.as_json()
    assert json.loads(json.dumps(found, allow_nan=False)) == found
    assert found["recording"]["start"] == "2026-01-01T00:00:00Z"
    assert found["recording"]["end"] == "2026-01-01T01:06:39Z"
    assert found["site"]["generator"]["rated_w"] == {"value": 7000.0, "source": "given"}
    assert found["site"]["generator"]["power_factor"]["source"] == "assumed"


def test_the_text_tells_the_day_in_the_sites_zone(day):
    text = day.as_text()
    assert "Farmhouse" in text
    assert "2026-01-01 01:00:00" in text
    assert "Charge sessions" in text
    assert "kWh from the generator" in text
    assert "Assumed, where the site sheet doesn't say" in text
    clean(text)


def clean(text: str) -> None:
    for word in ("nan", "None", "{", "}", "inf ", "np."):
        assert word not in text


def test_a_gap_of_an_hour_is_told_and_not_counted():
    seconds = np.concatenate((np.arange(0, 3601), np.arange(7200, 10_801)))
    columns = dict.fromkeys(("generator_power", "load_power"), np.full(len(seconds), 1000.0))
    found = review(Recording.from_columns(START + seconds * SECOND, columns), Site())
    assert found.gaps == ((START + 3600 * SECOND, START + 7200 * SECOND),)
    assert found.as_json()["energy_kwh"]["load"] == pytest.approx(2.0)
    assert found.as_json()["energy_kwh"]["unknown_time_s"] == 3600
    assert "There is one gap of 1 h 00 min." in found.as_text()


ODD = {
    "no rows": ([], {"load_power": []}),
    "one row": ([0], {"load_power": [100.0]}),
    "two rows": ([0, 1], {"load_power": [100.0, 110.0]}),
    "nothing but holes": (range(50), {"load_power": [math.nan] * 50, "battery_voltage": [math.nan] * 50}),
    "a single channel that is no power": (range(50), {"battery_soc": list(range(50))}),
    "years between rows": ([0, 1, 10**8, 10**8 + 1, 2 * 10**8], {"generator_power": [5e3, 5e3, 0, 5e3, 5e3]}),
    "a nanosecond between rows": ([0, 1e-9, 2e-9, 1], {"load_power": [1, 2, 3, 4]}),
    "everything at once and constant": (range(40), dict.fromkeys(CHANNELS, [1.0] * 40)),
    "everything huge": (range(40), dict.fromkeys(CHANNELS, [1e6] * 40)),
    "everything negative": (range(40), dict.fromkeys(CHANNELS, [-5.0] * 40)),
}


@pytest.mark.parametrize("name", ODD)
@pytest.mark.parametrize("site", [Site(), SITE], ids=["no sheet", "a sheet"])
def test_odd_recordings_are_reviewed_without_complaint(name, site):
    seconds, columns = ODD[name]
    time = START + np.round(np.asarray(list(seconds), float) * SECOND).astype(np.int64)
    found = review(Recording.from_columns(time, columns), site)
    assert json.dumps(found.as_json(), allow_nan=False)
    clean(found.as_text())
    for instant in (0, START, START + SECOND, 2**62):
        moment = found.moment(instant)
        assert str(moment.headline)
        clean(f"{moment.headline} {moment.detail}")


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=25, deadline=None)
def test_noise_on_any_channels_is_reviewed_without_complaint(seed):
    chance = np.random.default_rng(seed)
    rows = int(chance.integers(2, 80))
    names = chance.choice(sorted(CHANNELS), size=int(chance.integers(1, 9)), replace=False)
    columns = {}
    for name in names:
        scale = 10 ** chance.uniform(0, 4)
        values = scale * chance.standard_normal(rows)
        columns[str(name)] = np.where(chance.random(rows) < chance.random() * 0.6, np.nan, values)
    time = START + np.cumsum(chance.choice([1, 5, 3600], rows)) * SECOND
    found = review(Recording.from_columns(time, columns), Site.parse(SHEET))
    json.dumps(found.as_json(), allow_nan=False)
    clean(found.as_text())
    moment = found.moment(int(time[rows // 2]))
    clean(f"{moment.headline} {moment.detail}")


def test_progress_is_told_and_ends_whole():
    told: list[float] = []
    review(session_day(20_000), SITE, told.append)
    assert told == sorted(told)
    assert told[-1] == 1


def test_a_meter_that_is_silent_until_late_is_not_overlooked():
    # A generator's own meter says nothing while the set stands.
    rows, started = 1000, 960
    generator = np.full(rows, np.nan)
    generator[started:] = 2000.0
    load = np.full(rows, 500.0)
    battery = np.where(np.arange(rows) < started, -560.0, 1330.0)
    time = np.arange(rows, dtype=np.int64) * 1_000_000_000
    columns = {"generator_power": generator, "load_power": load, "battery_power": battery}
    found = review(Recording.from_columns(time, columns), Site())
    assert found.stream("generator")[-1] == pytest.approx(2000, rel=0.05)
    assert found.moment(int(time[-1])).streams["generator"].knowledge == "checked"
    assert len(found.sessions) == 1
