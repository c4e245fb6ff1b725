"""Opening recordings without a window: sheet, rules, several files, demos."""

from pathlib import Path

import numpy as np
import pytest

from desktop.opening import default_demo, demos, open_recording, sheet_beside
from recordings.errors import HeadraceError, UsageError
from recordings.recording import Recording
from recordings.tables import write_csv

SECOND = 1_000_000_000
START = 1_767_225_600 * SECOND


def written(path: Path, first: int, rows: int, **columns: float) -> Path:
    time = START + (first + np.arange(rows, dtype=np.int64)) * SECOND
    values = {name: np.full(rows, value) for name, value in columns.items()}
    write_csv(Recording.from_columns(time, values), path)
    return path


def test_the_sheet_of_the_same_name_is_read(tmp_path):
    log = written(tmp_path / "a.csv", 0, 5, generator_power=100.0)
    assert open_recording(log)[1].site.name == ""
    (tmp_path / "a.toml").write_text('[site]\nname = "Mill"\n')
    assert sheet_beside(log) == tmp_path / "a.toml"
    assert open_recording(str(log))[1].site.name == "Mill"


def test_a_named_sheet_takes_the_place_of_the_one_beside(tmp_path):
    log = written(tmp_path / "a.csv", 0, 5, generator_power=100.0)
    (tmp_path / "a.toml").write_text('[site]\nname = "Mill"\n')
    (tmp_path / "b.toml").write_text('[site]\nname = "Barn"\n')
    assert open_recording(log, tmp_path / "b.toml")[1].site.name == "Barn"


def test_a_sheet_is_no_recordings_sheet_of_its_own(tmp_path):
    (tmp_path / "a.toml").write_text("")
    assert sheet_beside(tmp_path / "a.toml") is None


def test_column_rules_zone_and_stamp_of_the_sheet_hold(tmp_path):
    log = tmp_path / "a.csv"
    rows = "".join(f"2026-01-10 12:00:{second:02d};{second};700\n" for second in range(10))
    log.write_text("time;Kanal 7;load [W]\n" + rows)
    (tmp_path / "a.toml").write_text(
        '[site]\ntimezone = "Europe/Berlin"\n'
        '[columns]\ngenerator_power = { column = "Kanal 7", unit = "kW", sign = -1 }\n'
    )
    recording, _ = open_recording(log)
    assert recording.column("generator_power").tolist() == [-1000.0 * second for second in range(10)]
    assert recording.time[0] == np.datetime64("2026-01-10T11:00:00", "ns").astype(np.int64)


def test_several_recordings_are_joined_in_time(tmp_path):
    later = written(tmp_path / "b.csv", 100, 50, generator_power=200.0, load_power=5.0)
    earlier = written(tmp_path / "a.csv", 0, 120, generator_power=100.0)
    recording, _ = open_recording([later, earlier])
    assert len(recording) == 150
    assert np.all(np.diff(recording.time) == SECOND)
    power, load = recording.column("generator_power"), recording.column("load_power")
    assert power[:100].tolist() == [100.0] * 100
    assert power[100:].tolist() == [200.0] * 50
    assert np.isnan(load[:100]).all()
    assert load[100:].tolist() == [5.0] * 50
    assert recording.provenance.repairs.duplicates == 20
    assert recording.provenance.name == "b.csv + a.csv"


def test_where_two_recordings_meet_each_channel_takes_what_there_is(tmp_path):
    one = written(tmp_path / "a.csv", 0, 10, generator_power=100.0)
    other = written(tmp_path / "b.csv", 0, 10, load_power=70.0)
    recording, _ = open_recording([one, other])
    assert len(recording) == 10
    assert recording.column("generator_power").tolist() == [100.0] * 10
    assert recording.column("load_power").tolist() == [70.0] * 10


def test_recordings_of_different_sites_are_not_mixed(tmp_path):
    logs = [
        written(tmp_path / f"{name}.csv", 10 * n, 10, generator_power=1.0)
        for n, name in enumerate(("a", "b"))
    ]
    (tmp_path / "a.toml").write_text('[site]\nname = "Mill"\n')
    (tmp_path / "b.toml").write_text('[site]\nname = "Barn"\n')
    with pytest.raises(UsageError, match=r"a\.toml and b\.toml are different"):
        open_recording(logs)
    assert open_recording(logs, tmp_path / "b.toml")[1].site.name == "Barn"
    (tmp_path / "b.toml").write_text('[site]\nname = "Mill"\n')
    assert len(open_recording(logs)[0]) == 20


def test_progress_rises_over_all_files_to_one(tmp_path):
    logs = [written(tmp_path / f"{n}.csv", 10 * n, 10, generator_power=1.0) for n in range(3)]
    shares: list[float] = []
    open_recording(logs, progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)


@pytest.mark.parametrize("paths", [[], ["none.csv"], ["."]])
def test_what_cannot_be_opened_is_told_in_one_line(paths, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(HeadraceError) as told:
        open_recording(paths)
    assert "\n" not in str(told.value)


def test_every_demo_can_be_opened_with_its_sheet():
    found = demos()
    assert found[0].path == default_demo()
    for demo in found:
        recording, site = open_recording(demo.path)
        assert len(recording) > 1000
        assert site.site.name
        assert demo.title
        assert demo.look_for
