"""Recording rows as they come: what is on the disk when, in which file, and what a full disk does to it."""

import errno
import os
import resource
from contextlib import contextmanager
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from recorder_help import NOON, SECOND, Clock, bits, loads, record

import recordings.recorder as recorder_module
from recordings.errors import RecordingError, UsageError, WriteError
from recordings.join import joined
from recordings.recorder import Recorder
from recordings.recording import Recording
from recordings.tables import read_table


def day_files(folder):
    return sorted(path.name for path in folder.iterdir())


def test_what_is_recorded_reads_back_bit_equal(tmp_path):
    rng = np.random.default_rng(3)
    time = NOON + np.cumsum(rng.integers(1, 3 * SECOND, 500))
    columns = {
        "load_power": rng.normal(0, 1e4, 500).astype(np.float32),
        "battery_temperature": np.where(rng.random(500) < 0.3, np.nan, rng.normal(0, 20, 500)).astype(
            np.float32
        ),
    }
    with Recorder(tmp_path / "day.csv") as recorder:
        for start in range(0, 500, 7):
            part = slice(start, start + 7)
            recorder.append(time[part], {name: values[part] for name, values in columns.items()})
    assert recorder.rows == 500
    assert recorder.paths == [tmp_path / "day.csv"]
    assert bits(read_table(tmp_path / "day.csv")) == bits(Recording.from_columns(time, columns))


def test_rows_are_on_the_disk_when_a_second_has_passed(tmp_path, monkeypatch):
    synced = []
    fsync = os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: (synced.append(handle), fsync(handle)))
    clock, path = Clock(), tmp_path / "day.csv"
    recorder = Recorder(path, now=clock)
    for place in range(20):
        clock.seconds += 0.1
        recorder.append([NOON + place * SECOND // 10], {"load_power": [place]})
        on_disk = len(path.read_bytes().splitlines()) - 1 if path.exists() else 0
        assert place + 1 - on_disk <= 10
        assert recorder.waiting == place + 1 - on_disk
    before = len(synced)
    clock.seconds += 1.0
    recorder.tick()
    assert recorder.waiting == 0
    recorder.close()
    assert before >= 2
    assert len(synced) <= before + 1


def test_nothing_is_written_before_the_first_row(tmp_path):
    with Recorder(tmp_path / "day.csv") as recorder:
        recorder.append([], {})
        recorder.flush()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("zone", "begins", "hours", "expected"),
    [
        # Clocks in Europe/Berlin went forward on 2025-03-30 and back on 2025-10-26 (time zone database).
        ("Europe/Berlin", "2025-03-29T23:00", 24, {"2025-03-30.csv": 23, "2025-03-31.csv": 1}),
        ("Europe/Berlin", "2025-10-25T22:00", 26, {"2025-10-26.csv": 25, "2025-10-27.csv": 1}),
        ("America/St_Johns", "2026-01-01T03:30", 24, {"2026-01-01.csv": 24}),
        ("UTC", "2026-01-01T23:00", 2, {"2026-01-01.csv": 1, "2026-01-02.csv": 1}),
    ],
)
def test_a_day_is_the_sites_day(zone, begins, hours, expected, tmp_path):
    start = int(datetime.fromisoformat(begins).replace(tzinfo=UTC).timestamp()) * SECOND
    time = start + np.arange(hours * 4) * 900 * SECOND
    with Recorder(tmp_path, timezone=zone) as recorder:
        recorder.append(time, {"load_power": np.arange(hours * 4)})
    counts = {path.name: len(path.read_bytes().splitlines()) - 1 for path in sorted(tmp_path.iterdir())}
    assert counts == {name: 4 * count for name, count in expected.items()}


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    zone=st.sampled_from(
        ["UTC", "Europe/Berlin", "America/St_Johns", "Pacific/Kiritimati", "America/Asuncion"]
    ),
    start=st.integers(1_600_000_000, 1_900_000_000),
    steps=st.lists(st.integers(1, 40_000), min_size=2, max_size=40),
    cut=st.integers(1, 10),
)
def test_every_row_is_in_the_file_of_its_date_and_in_one_only(zone, start, steps, cut, tmp_path_factory):
    folder = tmp_path_factory.mktemp("days")
    time = (start + np.cumsum(steps)) * SECOND
    with Recorder(folder, timezone=zone) as recorder:
        for first in range(0, len(time), cut):
            part = time[first : first + cut]
            recorder.append(part, {"load_power": part % 1000})
    found = []
    for path in sorted(folder.iterdir()):
        for line in path.read_text().splitlines()[1:]:
            stamp = datetime.fromisoformat(line.split(",")[0])
            assert f"{stamp.astimezone(ZoneInfo(zone)):%Y-%m-%d}" == path.stem.split("_")[0]
            found.append(int(stamp.timestamp()) * SECOND)
    assert sorted(found) == time.tolist()


def test_a_new_channel_begins_a_new_part_and_a_missing_one_does_not(tmp_path):
    with Recorder(tmp_path / "day.csv") as recorder:
        recorder.append([NOON], {"load_power": [1], "battery_soc": [50]})
        recorder.flush()
        recorder.append([NOON + SECOND], {"load_power": [2]})
        recorder.flush()
        recorder.append([NOON + 2 * SECOND], {"load_power": [3], "solar_power": [9]})
        recorder.flush()
        recorder.append([NOON + 3 * SECOND], {"load_power": [4]})
    assert [path.name for path in recorder.paths] == ["day.csv", "day_2.csv"]
    assert (tmp_path / "day.csv").read_bytes() == (
        b"time,load_power [W],battery_soc [%]\r\n2026-02-14T14:00:00Z,1,50\r\n2026-02-14T14:00:01Z,2,\r\n"
    )
    assert (tmp_path / "day_2.csv").read_bytes() == (
        b"time,load_power [W],solar_power [W],battery_soc [%]\r\n"
        b"2026-02-14T14:00:02Z,3,9,\r\n2026-02-14T14:00:03Z,4,,\r\n"
    )
    whole = joined([read_table(path) for path in recorder.paths])
    assert whole.column("load_power").tolist() == [1, 2, 3, 4]


def test_a_clock_that_went_back_begins_a_new_part(tmp_path):
    record(tmp_path / "day.csv", 100, [1, 2])
    assert [path.name for path in record(tmp_path / "day.csv", 0, [3, 4])] == ["day_2.csv"]
    assert [path.name for path in record(tmp_path / "day.csv", 2, [5, 6])] == ["day_2.csv"]
    assert loads(tmp_path / "day.csv") == [1, 2]
    assert loads(tmp_path / "day_2.csv") == [3, 4, 5, 6]


def test_rows_of_one_run_whose_times_go_back_are_kept(tmp_path):
    with Recorder(tmp_path / "day.csv") as recorder:
        recorder.append([NOON, NOON + SECOND], {"load_power": [1, 2]})
        recorder.append([NOON, NOON + SECOND], {"load_power": [3, 4]})
    assert [loads(path) for path in recorder.paths] == [[1, 2], [3, 4]]


def test_rows_that_cannot_be_recorded_are_refused(tmp_path):
    with Recorder(tmp_path / "day.csv") as recorder:
        with pytest.raises(RecordingError, match="don't rise"):
            recorder.append([NOON, NOON], {"load_power": [1, 2]})
        with pytest.raises(RecordingError, match="nonsense"):
            recorder.append([NOON], {"nonsense": [1]})
        with pytest.raises(RecordingError, match="unequal"):
            recorder.append([NOON], {"load_power": [1, 2]})


@pytest.mark.parametrize(
    ("name", "error", "says"),
    [
        ("day.xlsx", UsageError, "ends in .csv"),
        ("none/day.csv", WriteError, "there is no folder"),
        ("foreign.csv", WriteError, "no recording that can be carried on"),
    ],
)
def test_places_that_cannot_be_recorded_to_are_refused_at_once(name, error, says, tmp_path):
    (tmp_path / "foreign.csv").write_text("time,what\n1,2\n")
    with pytest.raises(error, match=says):
        Recorder(tmp_path / name)
    assert (tmp_path / "foreign.csv").read_text() == "time,what\n1,2\n"
    assert [path.name for path in tmp_path.iterdir()] == ["foreign.csv"]


def test_two_recorders_do_not_write_to_one_file(tmp_path):
    with Recorder(tmp_path / "day.csv") as recorder:
        recorder.append([NOON], {"load_power": [1]})
        recorder.flush()
        with pytest.raises(WriteError, match="is being recorded to already"):
            Recorder(tmp_path / "day.csv")
        recorder.append([NOON + SECOND], {"load_power": [2]})
    assert loads(tmp_path / "day.csv") == [1, 2]


@contextmanager
def no_file_larger_than(size):
    """The system's own limit: a write beyond it is cut short, the next fails, as on a full disk."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize("room", [0, 10, 40, 41, 70, 100, 101, 128])
def test_a_full_disk_is_told_and_survived(room, tmp_path):
    path = tmp_path / "day.csv"
    with Recorder(path) as recorder:
        with no_file_larger_than(room):
            for place in range(4):
                recorder.append([NOON + place * SECOND], {"load_power": [1000 + place]})
                recorder.flush()
            assert "rows wait" in recorder.trouble
            assert "\n" not in recorder.trouble
            written = path.read_bytes() if path.exists() else b""
            assert written == b"" or written.endswith(b"\r\n")
            assert recorder.rows + recorder.waiting == 4
            assert max(0, len(written.splitlines()) - 1) == recorder.rows
        recorder.append([NOON + 4 * SECOND], {"load_power": [1004]})
        recorder.flush()
        assert recorder.trouble == ""
    assert loads(path) == [1000, 1001, 1002, 1003, 1004]
    assert list(tmp_path.iterdir()) == [path]
    assert read_table(path).provenance.repairs.bad_rows == 0


def test_what_waits_too_long_is_given_up_oldest_first(tmp_path, monkeypatch):
    monkeypatch.setattr(recorder_module, "_MOST_WAITING", 10)
    monkeypatch.setattr(recorder_module, "_ROWS_AT_ONCE", 3)
    path = tmp_path / "day.csv"
    with Recorder(path) as recorder:
        recorder.append([NOON, NOON + 1], {"load_power": [1, 2]})
        recorder.flush()
        with no_file_larger_than(path.stat().st_size):
            for place in range(2, 40):
                recorder.append([NOON + place], {"load_power": [place + 1]})
                recorder.flush()
            assert recorder.waiting <= 10
            assert recorder.lost == 38 - recorder.waiting
            assert f"{recorder.lost} were lost" in recorder.trouble
            kept = recorder.waiting
    assert loads(path) == [1, 2, *range(41 - kept, 41)]


def test_rows_that_never_found_room_are_told_at_the_end(tmp_path):
    recorder = Recorder(tmp_path / "day.csv")
    recorder.append([NOON], {"load_power": [1]})
    with no_file_larger_than(0), pytest.raises(WriteError, match="the last 1 rows could not be written"):
        recorder.close()
    assert list(tmp_path.iterdir()) == []


def test_a_failing_sync_counts_as_not_written(tmp_path, monkeypatch):
    path, fails = tmp_path / "day.csv", [False]
    fsync = os.fsync

    def sync(handle):
        if fails[0]:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        fsync(handle)

    monkeypatch.setattr(os, "fsync", sync)
    with Recorder(path) as recorder:
        recorder.append([NOON], {"load_power": [1]})
        recorder.flush()
        before = path.read_bytes()
        fails[0] = True
        recorder.append([NOON + 1], {"load_power": [2]})
        recorder.flush()
        assert path.read_bytes() == before
        assert os.strerror(errno.EIO) in recorder.trouble
        fails[0] = False
    assert loads(path) == [1, 2]
