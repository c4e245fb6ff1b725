"""The site sheet beside a recording: it is reviewed as it was watched, and no sheet of the user's is lost."""

import json
import signal

import numpy as np
import pytest
from record_help import Feeder, start, wait_for

from desktop.app import main
from desktop.opening import open_recording
from desktop.review import review
from desktop.sheet.recorded import SheetBeside, recorded_text
from desktop.site import Site
from drivers.plant.export import scenario
from drivers.plant.simulation import simulate
from recordings.recorder import Recorder
from recordings.tables import read_table

SHEET = """# Our hut.
[site]
name = "Hut"
timezone = "Europe/Berlin"
stamp = "end"   # of the old logger's rows
dates = "day first"

[generator]
rated_w = 6000   # off the plate

[columns]
load_power = { column = "House", unit = "kW", sign = -1 }

[[device]]
source = "modbus-tcp://10.0.0.9?unit=1"
map = "maps/hut.toml"
"""


def rows(path, count=3):
    """A recording of our own."""
    with Recorder(path) as recorder:
        stamps = 10**18 + np.arange(count) * 10**7
        recorder.append(stamps, {"load_power": np.arange(count), "battery_power": np.arange(count)})


def in_process(*arguments, capsys):
    """(status, output, errors) of a command within this process."""
    try:
        status = main(arguments)
    except SystemExit as stop:
        status = stop.code
    return status, *capsys.readouterr()


@pytest.mark.parametrize(
    "text",
    [
        SHEET,
        SHEET.replace("\n", "\r\n"),
        'site = { name = "Hut", timezone = "Europe/Berlin", stamp = "end" }\ngenerator.rated_w = 6000\n'
        'columns.load_power = { column = "House" }\ndevice = [{ source = "modbus-tcp://h" }]\n',
    ],
)
def test_what_holds_of_a_sheet_for_a_recording_of_our_own(text):
    site = Site.parse(recorded_text(text))
    assert (site.site.name, site.site.timezone, site.generator.rated_w) == ("Hut", "Europe/Berlin", 6000)
    assert (site.columns, site.device) == ({}, [])
    assert not site.given("site", "stamp")
    assert not site.given("site", "dates")


def test_comments_on_what_stays_stay():
    assert "rated_w = 6000   # off the plate" in recorded_text(SHEET)


def test_a_recording_is_reviewed_as_it_was_watched(tmp_path):
    """A simulated day's readings by a sheet that says how another logger's columns are read."""
    simulated = simulate(scenario("load-step"))
    meters, sheet = simulated.recording, simulated.site_toml
    extra = '\n[columns]\nload_power = { column = "House", unit = "kW", sign = -1 }\n'
    (tmp_path / "live.toml").write_text(sheet.replace("[site]", '[site]\nstamp = "end"', 1) + extra)
    watched = review(meters, Site.load(tmp_path / "live.toml"))
    beside = SheetBeside(tmp_path / "live.toml")
    with Recorder(tmp_path / "day.csv") as recorder:
        recorder.append(meters.time, {name: meters.column(name) for name in meters.channels})
        recorder.flush()
        for path in recorder.paths:
            assert not beside.put(path)
    recording, site = open_recording(tmp_path / "day.csv")
    told = json.loads(json.dumps(review(recording, site).as_json()))
    live = json.loads(json.dumps(watched.as_json()))
    for key in ("balance", "energy_kwh", "sessions", "findings"):
        assert told[key] == live[key], key
    assert told["recording"]["start"] == live["recording"]["start"]


def again(source, target, capsys):
    """A recording recorded anew, as if it were live."""
    return in_process("record", str(source), "--to", str(target), capsys=capsys)


def test_each_file_of_a_folder_of_days_is_found_with_its_sheet(tmp_path, capsys):
    (tmp_path / "old.toml").write_text('[site]\nname = "Hut"\ntimezone = "Europe/Berlin"\n')
    rows(tmp_path / "old.csv")
    status, _, errors = again(tmp_path / "old.csv", tmp_path / "days", capsys)
    assert (status, errors) == (0, "")
    found = sorted(path.name for path in (tmp_path / "days").iterdir())
    days = sorted((tmp_path / "days").glob("*.csv"))
    assert found == sorted(name for day in days for name in (day.name, f"{day.stem}.toml"))
    _, site = open_recording(days[-1])
    assert (site.site.name, site.site.timezone) == ("Hut", "Europe/Berlin")


def test_without_a_sheet_none_is_written(tmp_path, capsys):
    rows(tmp_path / "old.csv")
    assert again(tmp_path / "old.csv", tmp_path / "new.csv", capsys)[0] == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["new.csv", "old.csv"]


@pytest.mark.parametrize("other", ['[site]\nname = "Other hut"\n', "[site\n"])
def test_another_sheet_of_the_users_stays_and_that_is_said(other, tmp_path, capsys):
    rows(tmp_path / "old.csv")
    (tmp_path / "old.toml").write_text('[site]\nname = "Hut"\n')
    (tmp_path / "new.toml").write_text(other)
    status, out, errors = again(tmp_path / "old.csv", tmp_path / "new.csv", capsys)
    assert status == 0
    assert "3 rows" in out
    (line,) = errors.splitlines()
    assert "new.toml is another site sheet than" in line
    assert "new.csv will be reviewed by it" in line
    assert (tmp_path / "new.toml").read_text() == other


def test_a_sheet_that_says_the_same_is_no_other_one(tmp_path, capsys):
    rows(tmp_path / "old.csv")
    (tmp_path / "old.toml").write_text('[site]\nname = "Hut"\n')
    mine = "# mine\nsite.name = 'Hut'\n"
    (tmp_path / "new.toml").write_text(mine)
    assert again(tmp_path / "old.csv", tmp_path / "new.csv", capsys)[::2] == (0, "")
    assert (tmp_path / "new.toml").read_text() == mine


def test_a_sheet_for_another_table_cannot_become_the_recordings_own(tmp_path, capsys):
    sheet = tmp_path / "hut.toml"
    sheet.write_text(SHEET)
    (tmp_path / "maps").mkdir()
    (tmp_path / "maps" / "hut.toml").write_text('[[read]]\nchannel = "load_power"\naddress = 1\n')
    status, _, errors = in_process("record", str(sheet), "--to", str(tmp_path / "hut.csv"), capsys=capsys)
    assert status == 2
    assert "would become the recording's own sheet" in errors
    assert sheet.read_text() == SHEET
    assert sorted(path.name for path in tmp_path.iterdir()) == ["hut.toml", "maps"]
    SheetBeside(sheet).check(tmp_path / "hut")
    sheet.write_text('[site]\nname = "Hut"\n[[device]]\nsource = "modbus-tcp://h"\n')
    SheetBeside(sheet).check(tmp_path / "hut.csv")


def test_two_recorders_that_start_at_once_do_not_write_to_one_file(tmp_path):
    """One of them records, the other one is refused; no row of the two is mixed."""
    path = tmp_path / "day.csv"
    with Feeder(tmp_path, lines=2) as feeder:
        both = [start("record", source, "--to", path) for source in feeder.sources]
        wait_for(lambda: any(each.poll() is not None for each in both))
        refused = next(each for each in both if each.poll() is not None)
        (other,) = set(both) - {refused}
        errors = refused.communicate()[1]
        other.send_signal(signal.SIGINT)
        out, told = other.communicate()
    assert refused.returncode == 2
    assert f"{path}: is being recorded to already" in errors
    assert len(errors.splitlines()) == 1
    assert (other.returncode, told) == (0, "")
    recording = read_table(path)
    assert out == f"{path}: {len(recording)} rows.\n"
    numbers = recording.column("load_power")
    assert np.all(np.diff(numbers[~np.isnan(numbers)]) > 0)
    assert sorted(each.name for each in tmp_path.iterdir()) == ["day.csv", "line.toml"]


def test_rows_wait_while_somebody_else_records_there(tmp_path):
    with Recorder(tmp_path / "days") as mine:
        mine.append([10**18], {"load_power": [1]})
        mine.flush()
        with Recorder(tmp_path / "days") as theirs:
            theirs.append([10**18 + 1], {"load_power": [2]})
            theirs.flush()
            assert theirs.taken
            assert "1 rows wait; recording goes on when it is free" in theirs.trouble
            mine.close()
            theirs.flush()
            assert (theirs.taken, theirs.trouble, theirs.rows) == (None, "", 1)
    (path,) = (tmp_path / "days").iterdir()
    assert read_table(path).column("load_power").tolist() == [1, 2]
