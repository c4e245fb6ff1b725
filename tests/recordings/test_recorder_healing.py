"""A recording that was cut off is carried on with, and never holds a row that wasn't measured."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from recorder_help import NOON, SECOND, loads, record

from recordings.errors import WriteError
from recordings.recorder import Recorder
from recordings.recorder_file import RowFile
from recordings.recorder_tail import channels_of


def rows(path):
    return path.read_bytes().split(b"\r\n")[1:-1]


def test_a_file_cut_anywhere_keeps_its_whole_rows_and_goes_on(tmp_path):
    path = tmp_path / "day.csv"
    record(path, 0, [1000.5, -20.25, 3e-5])
    whole = path.read_bytes()
    for cut in range(len(whole)):
        path.write_bytes(whole[:cut])
        kept = [row for row in whole[:cut].split(b"\r\n")[1:-1] if row]
        assert record(path, 10, [7]) == [path]
        found = rows(path)
        assert found[:-1] == kept, cut
        assert found[-1] == b"2026-02-14T14:00:10Z,7,50"
        assert path.read_bytes().startswith(b"time,load_power [W],battery_soc [%]\r\n")


@pytest.mark.parametrize(
    "tail", [b"\0" * 50, b"\0" * 5000, b"2026-02-14T14:00:0\0\0\0\0\r\n", b"\0\n\0\n", b"\r\n\r\n"]
)
def test_what_a_power_cut_leaves_behind_the_last_row_is_dropped(tail, tmp_path):
    path = tmp_path / "day.csv"
    record(path, 0, [1, 2])
    with path.open("ab") as file:
        file.write(tail)
    record(path, 10, [3])
    assert loads(path) == [1, 2, 3]
    assert b"\0" not in path.read_bytes()


def test_a_file_damaged_beyond_its_end_is_left_as_it_is(tmp_path):
    path = tmp_path / "day.csv"
    record(path, 0, [1, 2])
    with path.open("ab") as file:
        file.write(b"\0" * 200_000)
    damaged = path.read_bytes()
    with pytest.raises(WriteError, match="no recording that can be carried on"):
        Recorder(path)
    assert path.read_bytes() == damaged


def test_in_a_folder_a_damaged_file_is_left_and_the_day_goes_on_in_another(tmp_path):
    (first,) = record(tmp_path / "days", 0, [1, 2])
    first.write_bytes(first.read_bytes() + b"\0" * 200_000)
    (second,) = record(tmp_path / "days", 10, [3, 4])
    assert (first.name, second.name) == ("2026-02-14.csv", "2026-02-14_2.csv")
    assert loads(second) == [3, 4]


def test_a_torn_header_is_written_anew(tmp_path):
    path = tmp_path / "day.csv"
    path.write_bytes(b"time,load_po")
    record(path, 0, [1, 2])
    assert loads(path) == [1, 2]


@settings(max_examples=80, deadline=None, derandomize=True)
@given(noise=st.binary(max_size=200), cut=st.integers(0, 160))
def test_no_tail_whatever_makes_a_row(noise, cut, tmp_path_factory):
    path = tmp_path_factory.mktemp("torn") / "day.csv"
    record(path, 0, [1000, 2000, 3000])
    whole = path.read_bytes()
    path.write_bytes(whole[:cut] + noise)
    try:
        file = RowFile(path, ["load_power", "battery_soc"])
    except WriteError:
        assert path.read_bytes() == whole[:cut] + noise
        return
    file.commit(b"2026-02-14T15:00:00Z,1,2\r\n", NOON + 3600 * SECOND)
    file.close()
    assert set(rows(path)[:-1]) <= set(whole.split(b"\r\n"))
    assert rows(path)[-1] == b"2026-02-14T15:00:00Z,1,2"


def test_what_is_a_header_of_ours():
    assert channels_of(b"time,load_power [W],charger_enabled\r\n") == ("load_power", "charger_enabled")
    for other in (
        b"time\r\n",
        b"time,load_power\r\n",
        b"time,load_power [kW]\r\n",
        b"time,load_power [W]\n",
        b"\xff\r\n",
    ):
        assert channels_of(other) == ()
