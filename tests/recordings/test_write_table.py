"""Our own CSV: what it looks like, and that it reads back bit for bit."""

import csv
import os
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from recordings.channels import CHANNELS
from recordings.errors import RecordingError, WriteError
from recordings.recording import Recording
from recordings.tables import TableWriter, read_table, write_csv

SECOND = 10**9
NOON = 1771077800 * SECOND
FINITE = st.floats(width=32, allow_infinity=False, allow_nan=True)
EXTREMES = [
    -0.0,
    0.0,
    1e-45,
    -1e-45,
    1.1754944e-38,
    3.4028235e38,
    -3.4028235e38,
    16777217.0,
    0.1,
    1 / 3,
    np.nan,
]


def bits(recording: Recording) -> dict[str, bytes]:
    return {name: recording.column(name).tobytes() for name in recording.channels}


def round_trip(recording: Recording) -> Recording:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "own.csv")
        write_csv(recording, path)
        return read_table(path)


@st.composite
def recordings(draw):
    rows = draw(st.integers(2, 30))
    step = draw(st.sampled_from([1, 1000, 10**6, SECOND, 3600 * SECOND]))
    steps = draw(st.lists(st.integers(1, 10**4), min_size=rows, max_size=rows))
    first = draw(st.integers(0, 4 * 10**18))
    names = draw(st.sets(st.sampled_from(list(CHANNELS)), max_size=6)) | {"load_power"}
    columns = {
        name: draw(arrays.arrays(np.float32, rows, elements=FINITE)) for name in names - {"charger_enabled"}
    }
    for values in columns.values():
        values[np.isnan(values)] = np.nan
    if "charger_enabled" in names:
        columns["charger_enabled"] = draw(
            arrays.arrays(np.float32, rows, elements=st.sampled_from([0, 1, np.nan]))
        )
    return Recording.from_columns(first + np.cumsum(np.array(steps, np.int64)) * step, columns)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(recordings())
def test_a_written_recording_reads_back_bit_equal(recording):
    again = round_trip(recording)
    assert again.time.tobytes() == recording.time.tobytes()
    assert again.channels == recording.channels
    assert bits(again) == bits(recording)
    assert again.provenance.repairs.bad_cells == 0


def test_extremes_read_back_bit_equal():
    values = np.array(EXTREMES, np.float32)
    time = NOON + np.arange(len(values)) * SECOND
    recording = Recording.from_columns(time, {name: values for name in CHANNELS if name != "charger_enabled"})
    assert bits(round_trip(recording)) == bits(recording)


def test_what_a_written_file_looks_like(tmp_path):
    path = tmp_path / "own.csv"
    columns = {"battery_soc": [50, np.nan], "load_power": [0.1, -0.0], "charger_enabled": [1, 0]}
    write_csv(Recording.from_columns([NOON, NOON + SECOND // 2], columns), path)
    assert path.read_bytes() == (
        b"time,load_power [W],battery_soc [%],charger_enabled\r\n"
        b"2026-02-14T14:03:20.000Z,0.1,50,1\r\n"
        b"2026-02-14T14:03:20.500Z,-0,,0\r\n"
    )


# RFC 4180, section 2 (October 2005): the standard library's reader in its strict mode is an independent witness.
def test_another_reader_agrees(tmp_path):
    path = tmp_path / "own.csv"
    recording = Recording.from_columns(
        NOON + np.arange(5), {"load_power": np.arange(5) / 7, "battery_temperature": np.arange(5)}
    )
    write_csv(recording, path)
    with path.open(newline="", encoding="utf-8") as file:
        header, *rows = list(csv.reader(file, strict=True))
    assert header == ["time", "load_power [W]", "battery_temperature [°C]"]
    assert [np.float32(row[1]) for row in rows] == recording.column("load_power").tolist()
    assert [
        np.datetime64(row[0].removesuffix("Z"), "ns").astype(np.int64) for row in rows
    ] == recording.time.tolist()


def test_an_infinite_reading_is_written_as_missing():
    recording = Recording.from_columns([NOON, NOON + 1], {"load_power": [np.inf, 1]})
    assert np.isnan(round_trip(recording).column("load_power")[0])


def test_writing_leaves_the_old_file_or_the_new_one(tmp_path, monkeypatch):
    path = tmp_path / "own.csv"
    path.write_text("old", encoding="utf-8")
    recording = Recording.from_columns([NOON, NOON + 1], {"load_power": [1, 2]})

    def fails(*_: object) -> None:
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr(os, "replace", fails)
    with pytest.raises(WriteError, match=r"own.csv: can't be written: .* Choose another place"):
        write_csv(recording, path)
    assert path.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_places_that_cannot_be_written(tmp_path):
    recording = Recording.from_columns([NOON, NOON + 1], {"load_power": [1, 2]})
    for path in (tmp_path / "no" / "own.csv", tmp_path):
        with pytest.raises(WriteError):
            write_csv(recording, path)
        with pytest.raises(WriteError):
            TableWriter(path, ["load_power"])
    assert list(tmp_path.iterdir()) == []


def test_rows_written_as_they_come(tmp_path):
    path = tmp_path / "live.csv"
    with TableWriter(path, ["battery_soc", "load_power"]) as writer:
        writer.append([NOON], {"load_power": [1.5]})
        writer.append([], {})
        writer.append([NOON + SECOND, NOON + 2 * SECOND + 1], {"battery_soc": [50, 51]})
        writer.flush()
        assert len(read_table(path)) == 3
    recording = read_table(path)
    assert recording.time.tolist() == [NOON, NOON + SECOND, NOON + 2 * SECOND + 1]
    assert recording.column("load_power").tolist()[0] == 1.5
    assert recording.column("battery_soc").tolist()[1:] == [50, 51]


def test_a_live_file_is_carried_on_after_a_torn_line(tmp_path):
    path = tmp_path / "live.csv"
    with TableWriter(path, ["load_power", "battery_soc"]) as writer:
        writer.append([NOON, NOON + 1], {"load_power": [1, 2]})
    with path.open("ab") as file:
        file.write(b"2026-02-14T14:0")
    with TableWriter(path, ["load_power", "battery_soc"]) as writer:
        writer.append([NOON + 2], {"load_power": [3]})
    recording = read_table(path)
    assert recording.column("load_power").tolist() == [1, 2, 3]
    assert recording.provenance.repairs.bad_rows == 1
    with pytest.raises(WriteError, match="other columns"):
        TableWriter(path, ["load_power"])


def test_what_a_live_file_refuses(tmp_path):
    with pytest.raises(RecordingError, match="unknown channel nonsense"):
        TableWriter(tmp_path / "live.csv", ["nonsense"])
    with TableWriter(tmp_path / "live.csv", ["load_power"]) as writer:
        writer.append([NOON], {"load_power": [1]})
        with pytest.raises(RecordingError, match="don't rise"):
            writer.append([NOON], {"load_power": [1]})
        with pytest.raises(RecordingError, match="no column for grid_power"):
            writer.append([NOON + 1], {"grid_power": [1]})
    assert len((tmp_path / "live.csv").read_bytes().splitlines()) == 2
