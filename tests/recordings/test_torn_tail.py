"""The last line of a recording that was cut off while it was written."""

import numpy as np
import pytest

from recordings.recording import Recording
from recordings.tables import read_table, write_csv


@pytest.fixture
def whole(tmp_path):
    path = tmp_path / "day.csv"
    time = 1_767_225_600_000_000_000 + np.arange(5) * 1_000_000_000
    columns = {"load_power": np.arange(5) + 1000.0, "battery_voltage": np.full(5, 52.125)}
    write_csv(Recording.from_columns(time, columns), path)
    return path


def test_in_a_file_of_our_own_half_a_number_is_never_read(whole):
    content = whole.read_bytes()
    complete = read_table(whole)
    assert len(complete) == 5
    last = content.rstrip().rfind(b"\n") + 1
    for end in range(last + 1, len(content)):
        whole.write_bytes(content[:end])
        cut = read_table(whole)
        assert cut.column("load_power").tolist() == [1000, 1001, 1002, 1003]
        assert cut.provenance.repairs.bad_rows == 1
        assert "the last line is torn; left out" in cut.provenance.repairs.notes


def test_in_a_strangers_file_the_last_line_needs_no_line_end(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(
        "Time,Load (W)\n2026-01-01 00:00:00,100\n2026-01-01 00:00:01,200\n2026-01-01 00:00:02,300"
    )
    assert read_table(path).column("load_power").tolist() == [100, 200, 300]
