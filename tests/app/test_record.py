"""`headrace record` and `headrace simulate` on the wire, as a person starts them."""

import os
import re
import signal
import time
import tomllib

import numpy as np
import pytest
from record_help import MAP, Feeder, start, wait_for

from desktop.app import main
from desktop.commands.record import duration_s
from desktop.opening import open_recording
from desktop.site import Site
from drivers.wire.faults import Faults
from drivers.wire.live import LivePlant
from drivers.wire.server import WireServer
from drivers.wire.serving import Served
from recordings.errors import UsageError
from recordings.tables import read_table


def ended(process):
    """(status, output, errors) of a process that ends on its own."""
    out, errors = process.communicate(timeout=30)
    return process.returncode, out, errors


def in_process(*arguments, capsys):
    """(status, output, errors) of a command within this process."""
    try:
        status = main(arguments)
    except SystemExit as stop:
        status = stop.code
    return status, *capsys.readouterr()


@pytest.mark.parametrize("asks", [signal.SIGINT, signal.SIGTERM])
def test_it_ends_cleanly_when_asked_to(asks, tmp_path):
    path = tmp_path / "day.csv"
    with Feeder(tmp_path) as feeder:
        process = start("record", feeder.sources[0], "--to", path)
        wait_for(path.exists)
        asked_at = time.monotonic()
        process.send_signal(asks)
        status, out, errors = ended(process)
    recording = read_table(path)
    assert (status, errors) == (0, "")
    assert out == f"{path}: {len(recording)} rows.\n"
    assert path.read_bytes().endswith(b"\r\n")
    # Everything up to the moment of asking is there, not only what had been flushed by then.
    sent = [number for number, at in enumerate(feeder.sent) if at < asked_at - 0.3]
    assert recording.column("load_power")[-1] >= sent[-1]


def test_for_a_while_at_an_interval_into_a_folder_of_days(tmp_path):
    with Feeder(tmp_path) as feeder:
        status, out, errors = ended(
            start(
                "record", feeder.sources[0], "--to", tmp_path / "days", "--for", "1.5s", "--interval", "0.2"
            )
        )
    assert (status, errors) == (0, "")
    (path,) = (tmp_path / "days").iterdir()
    assert re.fullmatch(r"\d{4}-\d\d-\d\d\.csv", path.name)
    steps = np.diff(read_table(path).time) / 1e9
    # Single steps are the machine's business; rows come no oftener than asked for.
    assert 2 <= len(steps) <= 9
    assert np.median(steps) > 0.15
    assert re.search(r": \d+ rows", out)


def test_a_terminal_shows_one_quiet_line(tmp_path):
    own, other = os.openpty()
    with Feeder(tmp_path) as feeder:
        process = start(
            "record", feeder.sources[0], "--to", tmp_path / "day.csv", "--for", "1.7", stderr=other
        )
        os.close(other)
        assert ended(process)[0] == 0
    shown = os.read(own, 10_000).decode()
    os.close(own)
    assert "\n" not in shown
    assert re.search(r"→ day\.csv · \d+ rows · reading · Ctrl-C ends", shown)
    assert shown.rstrip(" ").endswith("\r")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (
            ("serial:///dev/none?map=line.toml", "--to", "day.csv", "--for", "0.6"),
            "no row came: there is no such port",
        ),
        (("serial:///dev/none?map=none.toml", "--to", "day.csv"), "none.toml"),
        (("serial:///dev/none?map=line.toml", "--to", "day.xlsx"), "ends in .csv"),
        (("serial:///dev/none?map=line.toml", "--to", "day.csv", "--for", "soon"), "--for can't be used"),
        (
            ("serial:///dev/none?map=line.toml", "--to", "day.csv", "--interval", "0"),
            "--interval can't be used",
        ),
        (("gopher://x", "--to", "day.csv"), "gopher"),
        (("serial:///dev/none?map=line.toml",), "--to"),
        (("none.toml", "--to", "day.csv"), "none.toml"),
    ],
)
def test_what_cannot_be_recorded_is_refused_in_one_line(arguments, says, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "line.toml").write_text(MAP)
    status, out, errors = in_process("record", *arguments, capsys=capsys)
    assert (status, out) == (2, "")
    last = errors.splitlines()[-1]
    assert last.startswith("headrace: ")
    assert says in last
    assert "Traceback" not in errors
    assert [path.name for path in tmp_path.iterdir()] == ["line.toml"]


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("90", 90),
        ("90s", 90),
        ("5min", 300),
        ("1h30m", 5400),
        ("2 d", 172_800),
        ("0.5h", 1800),
        ("1h 2m 3s", 3723),
    ],
)
def test_durations(text, seconds):
    assert duration_s(text) == seconds


@pytest.mark.parametrize("text", ["", "soon", "5 weeks", "-3s", "0", "1h-2m"])
def test_durations_that_are_none(text):
    with pytest.raises(UsageError, match="--for"):
        duration_s(text)


def test_what_is_recorded_of_a_live_plant_is_what_its_meters_said(tmp_path):
    from drivers.plant.export import scenario

    plant, faults = LivePlant(scenario("healthy-charge")), Faults([], time.monotonic)
    served = Served(plant, faults)
    map_path = tmp_path / "plant.toml"
    map_path.write_text(served.plain.map_text())
    said = []
    with WireServer("127.0.0.1", 0, served.units, faults) as server:
        source = f"modbus-tcp://127.0.0.1:{server.address[1]}?unit=100&map={map_path}"
        process = start("record", source, "--to", tmp_path / "day.csv", "--interval", "0.1", "--for", "2.5")
        wait_for((tmp_path / "day.csv").exists)
        for _ in range(25):
            said.append(plant.next())
            served.publish(said[-1])
            time.sleep(0.04)
        status, _, errors = ended(process)
    assert (status, errors) == (0, "")
    recording = read_table(tmp_path / "day.csv")
    names = list(plant.channels)
    rows = np.stack([recording.column(name) for name in names], axis=1)
    told = {tuple(np.float32(reading.values[name]) for name in names) for reading in said}
    seen = list(dict.fromkeys(tuple(row) for row in rows))
    # The first is what the devices said before the test moved them on; a poll may meet no reading twice.
    assert len(set(seen[1:]) & told) >= 8
    assert set(seen[1:]) <= told


def test_a_recording_is_recorded_anew_as_if_it_were_live(tmp_path, monkeypatch, capsys):
    from recordings.recorder import Recorder

    monkeypatch.chdir(tmp_path)
    with Recorder("old.csv") as recorder:
        recorder.append([10**18, 10**18 + 10**8, 10**18 + 2 * 10**8], {"load_power": [1, 2, 3]})
    status, out, errors = in_process("record", "old.csv", "--to", "new.csv", capsys=capsys)
    assert (status, out, errors) == (0, "new.csv: 3 rows.\n", "")
    again = read_table("new.csv")
    assert again.column("load_power").tolist() == [1, 2, 3]
    assert np.diff(again.time).tolist() == [10**8, 10**8]
    assert again.time[0] > 10**18


def started(process):
    """The address in the first line that a plant says."""
    return re.search(r"\S+://\S+", process.stdout.readline())[0]


def test_a_simulated_plant_is_recorded_by_its_own_sheet(tmp_path):
    plant = start(
        "simulate",
        "healthy-charge",
        "--modbus",
        "127.0.0.1:0",
        "--sheet",
        "live.toml",
        "--speed",
        "5",
        cwd=tmp_path,
    )
    assert started(plant).startswith("modbus-tcp://127.0.0.1:")
    wait_for((tmp_path / "live-map.toml").exists)
    status, _, errors = ended(
        start("record", "live.toml", "--to", "day.csv", "--interval", "0.2", "--for", "2", cwd=tmp_path)
    )
    plant.send_signal(signal.SIGINT)
    assert plant.wait(10) == 0
    plant.communicate()
    assert (status, errors) == (0, "")
    # One file from the beginning, though which way the battery counts is known only after some rows.
    assert sorted(path.name for path in tmp_path.glob("day*")) == ["day.csv", "day.toml"]
    recording, site = open_recording(tmp_path / "day.csv")
    assert site.generator == Site.load(tmp_path / "live.toml").generator
    assert {"load_power", "battery_soc", "battery_power", "fuel_level", "converter_ac_power"} <= set(
        recording.channels
    )
    assert np.isfinite(recording.column("battery_power")).any()
    assert np.nanmin(recording.column("load_power")) > 100


def test_a_sheet_that_is_only_shown_names_no_map_and_writes_none(tmp_path):
    plant = start("simulate", "healthy-charge", "--modbus", "127.0.0.1:0", "--sheet", "-", cwd=tmp_path)
    shown = []
    while not (shown and " answers at " in shown[-1]):
        shown.append(plant.stdout.readline())
    plant.send_signal(signal.SIGINT)
    assert plant.wait(10) == 0
    plant.communicate()
    sheet = tomllib.loads("".join(shown[:-1]))
    assert sheet["device"]
    assert all("map" not in device for device in sheet["device"])
    assert any(line.startswith("# Left out") and "fuel_level" in line for line in shown)
    assert list(tmp_path.iterdir()) == []


def test_a_simulated_plant_prints_on_a_port(tmp_path):
    plant = start(
        "simulate", "load-step", "--serial", "pty", "--map", "line.toml", "--lines", "json", cwd=tmp_path
    )
    port = started(plant)
    status, _, errors = ended(
        start("record", f"{port}?map=line.toml", "--to", "day.csv", "--for", "2.5", cwd=tmp_path)
    )
    plant.send_signal(signal.SIGTERM)
    assert plant.wait(10) == 0
    plant.communicate()
    assert (status, errors) == (0, "")
    assert len(read_table(tmp_path / "day.csv")) >= 2


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--modbus", "5020"), "HOST:PORT"),
        (("--modbus", "127.0.0.1:99999"), "HOST:PORT"),
        (("--modbus", "127.0.0.1:0", "--lines", "json"), "--lines goes with"),
        (("--serial", "pty", "--sheet", "x.toml"), "--sheet goes with"),
        (("--serial", "/dev/none"), "can't be opened"),
        (("--modbus", "127.0.0.1:0", "--speed", "0"), "--speed"),
        (("--modbus", "127.0.0.1:0", "--fault", "flow"), "The nearest known is slow"),
        (("--csv", "x.csv", "--fault", "slow"), "--fault is for a plant on the wire"),
        (("--csv", "x.csv", "--modbus", "127.0.0.1:0"), "not allowed with"),
    ],
)
def test_orders_to_a_simulated_plant_that_cannot_be_are_in_process(
    arguments, says, tmp_path, monkeypatch, capsys
):
    monkeypatch.chdir(tmp_path)
    status, _, errors = in_process("simulate", "healthy-charge", *arguments, capsys=capsys)
    (line,) = errors.splitlines()
    assert status == 2
    assert says in line
    assert list(tmp_path.iterdir()) == []
