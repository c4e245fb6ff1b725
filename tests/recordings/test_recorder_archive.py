"""Finished days as Parquet: bit-equal, and the CSV goes only when that is certain."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from pyarrow import parquet
from recorder_help import NOON, SECOND, bits, record

import recordings.archive as archive_module
from desktop.opening import open_recording
from recordings.archive import archive, read_archive
from recordings.channels import CHANNELS
from recordings.errors import ReadError, WriteError
from recordings.recorder import Recorder
from recordings.recording import Recording
from recordings.tables import read_table, write_csv

DAY = 86_400 * SECOND
ANY = st.floats(width=32, allow_infinity=False, allow_nan=True)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    names=st.sets(
        st.sampled_from([name for name in CHANNELS if name != "charger_enabled"]), min_size=1, max_size=5
    ),
    rows=st.integers(2, 20),
    steps=st.integers(1, 10**10),
    data=st.data(),
)
def test_an_archive_reads_back_bit_equal(names, rows, steps, data, tmp_path_factory):
    folder = tmp_path_factory.mktemp("archive")
    columns = {
        name: data.draw(arrays.arrays(np.float32, rows, elements=ANY)) for name in {*names, "load_power"}
    }
    recording = Recording.from_columns(NOON + np.arange(rows) * steps, columns)
    write_csv(recording, folder / "day.csv")
    assert archive(folder / "day.csv") == folder / "day.parquet"
    assert [path.name for path in folder.iterdir()] == ["day.parquet"]
    assert bits(read_archive(folder / "day.parquet")) == bits(recording)


def test_finished_days_are_archived_while_the_next_is_recorded(tmp_path):
    with Recorder(tmp_path, archive=True) as recorder:
        for day in range(3):
            time = NOON + day * DAY + np.arange(50) * SECOND
            recorder.append(time, {"load_power": np.arange(50) + day, "battery_soc": np.full(50, 60)})
            recorder.flush()
    assert recorder.trouble == ""
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "2026-02-14.parquet",
        "2026-02-15.parquet",
        "2026-02-16.csv",
    ]
    whole, _ = open_recording(sorted(tmp_path.iterdir()))
    assert len(whole) == 150
    assert whole.column("load_power")[50:100].tolist() == (np.arange(50) + 1).tolist()


def test_an_archive_is_opened_with_the_site_sheet_beside_it(tmp_path):
    record(tmp_path / "day.csv", 0, [1, 2, 3])
    before = read_table(tmp_path / "day.csv")
    (tmp_path / "day.toml").write_text('[site]\nname = "Heron Cottage"\n')
    archive(tmp_path / "day.csv")
    after, site = open_recording(tmp_path / "day.parquet")
    assert site.site.name == "Heron Cottage"
    assert bits(after) == bits(before)
    assert after.provenance.name == "day.parquet"


def test_what_does_not_read_back_stays_as_csv(tmp_path, monkeypatch):
    record(tmp_path / "day.csv", 0, [1, 2, 3])
    before = (tmp_path / "day.csv").read_bytes()
    written = archive_module._parquet

    def misread(path):
        time, columns = written(path)
        return time, {name: values + 1 for name, values in columns.items()}

    monkeypatch.setattr(archive_module, "_parquet", misread)
    with pytest.raises(WriteError, match="doesn't read back"):
        archive(tmp_path / "day.csv")
    assert [path.name for path in tmp_path.iterdir()] == ["day.csv"]
    assert (tmp_path / "day.csv").read_bytes() == before


@pytest.mark.parametrize(
    "torn", [b"2026-02-14T15:00:00Z,1", b"2026-02-14T15:00:00Z,x,1\r\n", b"2026-02-14T15:00:00Z\r\n"]
)
def test_a_torn_or_wrong_csv_is_not_archived(torn, tmp_path):
    record(tmp_path / "day.csv", 0, [1, 2, 3])
    with (tmp_path / "day.csv").open("ab") as file:
        file.write(torn)
    with pytest.raises(ReadError):
        archive(tmp_path / "day.csv")
    assert [path.name for path in tmp_path.iterdir()] == ["day.csv"]


def test_trouble_with_the_archive_is_told_and_recording_goes_on(tmp_path):
    (tmp_path / "2026-02-13.csv").write_bytes(b"not ours\n")
    with Recorder(tmp_path, archive=True) as recorder:
        recorder.append([NOON], {"load_power": [1]})
        recorder.flush()
        assert "2026-02-13.csv" in recorder.trouble
    assert recorder.rows == 1


def test_what_is_no_archive_is_refused_in_one_line(tmp_path):
    (tmp_path / "text.parquet").write_text("time,load\n")
    with pytest.raises(ReadError, match="can't be read"):
        open_recording(tmp_path / "text.parquet")
    import pyarrow as pa

    parquet.write_table(pa.table({"time": [1, 2], "load_power": [1.0, 2.0]}), tmp_path / "other.parquet")
    with pytest.raises(ReadError, match="no archive of a recording"):
        open_recording(tmp_path / "other.parquet")
    (only,) = record(tmp_path / "one.csv", 0, [1])
    with pytest.raises(ReadError, match="two rows or more"):
        open_recording(archive(only))
