"""From what a person writes to a live source."""

from dataclasses import dataclass

import numpy as np
import pytest
from leaks import nothing_left_behind
from modbus_servers import Plant, served
from source_help import frames_until, hasty, rows, running, value
from sunspec_images import battery, chain, common, inverter, meter

from drivers.merged import MergedSource
from drivers.modbus.source import ModbusSource
from drivers.opening import open_source
from drivers.played import PlayedSource
from drivers.serial_lines.source import SerialSource
from recordings.errors import HeadraceError, SourceError
from recordings.recording import Recording
from recordings.tables import write_csv

MAP = '[device]\nunit = 7\ninterval_s = 0.05\n[[read]]\nchannel = "load_power"\naddress = 10\n'
LINES = '[line]\nformat = "pairs"\n[[field]]\nchannel = "load_power"\nname = "load"\n'


@dataclass
class Device:
    source: str
    role: str | None = None
    map: str | None = None


def test_an_address_with_a_map(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)
    with nothing_left_behind(), served(Plant({7: {10: [1000]}})) as plant:
        live = open_source(f"modbus-tcp://127.0.0.1:{plant.port}?map=m.toml", folder=tmp_path, timing=hasty())
        assert isinstance(live, ModbusSource)
        with running(live) as reader:
            assert value(rows(reader, 2)[-1], "load_power") == 1000


def test_an_address_that_describes_itself():
    with served(Plant({1: {40000: chain(common(), meter())}})) as plant:
        address = f"modbus-tcp://127.0.0.1:{plant.port}?unit=1&role=generator&interval=0.05"
        with running(open_source(address)) as reader:
            assert value(rows(reader, 1)[0], "generator_power") == 5200


def test_a_meter_whose_role_nobody_gives_ends_with_a_question():
    with nothing_left_behind(), served(Plant({1: {40000: chain(common(), meter())}})) as plant:
        live = open_source(f"modbus-tcp://127.0.0.1:{plant.port}")
        with running(live) as reader:
            with pytest.raises(SourceError, match="&role=generator, grid or load"):
                frames_until(reader, bool)
            assert reader.state.phase == "ended"


def test_units_of_one_address_are_guessed_together():
    plant = Plant(
        {1: {40000: chain(common("a"), inverter(103, -3000))}, 2: {40000: chain(common("b"), battery())}}
    )
    with served(plant):
        address = f"modbus-tcp://127.0.0.1:{plant.port}?unit=1,2&interval=0.05"
        with running(open_source(address)) as reader:
            frames = frames_until(reader, lambda frames: frames and value(frames[-1], "battery_power") > 0)
    # The direction isn't known at once; that there is a battery power is.
    assert all("battery_power" in frame.columns for frame in frames)
    # Were the inverter looked at alone, it would have been taken for a solar one.
    assert all("solar_ac_power" not in frame.columns for frame in frames)
    assert value(frames[-1], "converter_ac_power") == 3000
    assert value(frames[-1], "battery_power") == 2406


def test_devices_of_a_site_on_one_line_share_one_connection(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)
    plant = Plant({1: {40000: chain(common(), meter())}, 7: {10: [900]}})
    with served(plant):
        line = f"modbus-tcp://127.0.0.1:{plant.port}"
        devices = [Device(f"{line}?unit=1", "generator"), Device(line, map="m.toml")]
        live = open_source(devices, folder=tmp_path, timing=hasty())
        assert isinstance(live, ModbusSource)
        with running(live) as reader:
            frame = rows(reader, 2)[-1]
    assert (value(frame, "generator_power"), value(frame, "load_power")) == (5200, 900)


def test_devices_on_several_lines_are_merged(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)
    one, other = Plant({1: {40000: chain(common(), meter())}}), Plant({7: {10: [900]}})
    with nothing_left_behind(), served(one), served(other):
        devices = [
            Device(f"modbus-tcp://127.0.0.1:{one.port}?unit=1", "generator"),
            Device(f"modbus-tcp://127.0.0.1:{other.port}", map="m.toml"),
        ]
        live = open_source(devices, folder=tmp_path, interval_s=0.05, timing=hasty())
        assert isinstance(live, MergedSource)
        with running(live) as reader:
            frames = frames_until(
                reader,
                lambda frames: (
                    frames
                    and not np.isnan([*frames[-1].columns.values()]).any()
                    and len(frames[-1].columns) > 2
                ),
            )
    assert value(frames[-1], "load_power") == 900


def test_a_recordings_path_is_played(tmp_path):
    path = tmp_path / "r.csv"
    write_csv(
        Recording.from_columns(np.arange(3) * 10**9, {"load_power": np.arange(3, dtype=np.float32)}), path
    )
    live = open_source(path, speed=float("inf"))
    assert isinstance(live, PlayedSource)
    assert live.name == "r.csv"
    (frame,) = live.frames()
    assert frame.columns["load_power"].tolist() == [0, 1, 2]


def test_a_serial_line(tmp_path):
    (tmp_path / "l.toml").write_text(LINES)
    live = open_source("serial:///dev/ttyS99?baud=9600&map=l.toml", folder=tmp_path)
    assert isinstance(live, SerialSource)
    assert live.name == "serial:///dev/ttyS99"


@pytest.mark.parametrize(
    ("what", "says"),
    [
        ("modbus-udp://h", "modbus-tcp://HOST:PORT"),
        ("modbus-tcp://h?map=none.toml", "none.toml"),
        ("serial:///dev/ttyS99", "&map=FILE.toml"),
        ("serial://?map=l.toml", "names no serial port"),
        ("serial:///dev/x?bud=1&map=l.toml", "nearest known is baud"),
        ("serial:///dev/x?baud=0&map=l.toml", "above 0"),
        ("none.csv", "none.csv"),
        ([], "[[device]]"),
        ([Device("modbus-tcp://h?role=load", "grid")], "differ"),
        (
            [Device("modbus-rtu:///dev/x?baud=9600"), Device("modbus-rtu:///dev/x?baud=19200&unit=2")],
            "line settings",
        ),
    ],
)
def test_what_cannot_be_opened_is_told_in_one_line(what, says, tmp_path):
    (tmp_path / "l.toml").write_text(LINES)
    with pytest.raises(HeadraceError) as refused:
        open_source(what, folder=tmp_path)
    assert says.lower() in str(refused.value).lower()
    assert "\n" not in str(refused.value)


def test_how_often_devices_are_read_is_given_or_told_by_address_or_map(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)
    for what, given, expected in (
        ("modbus-tcp://h", None, 1.0),
        ("modbus-tcp://h?interval=5", None, 5.0),
        ("modbus-tcp://h?map=m.toml", None, 0.05),
        ("modbus-tcp://h?map=m.toml&interval=2", None, 2.0),
        ("modbus-tcp://h?interval=5", 0.2, 0.2),
    ):
        assert open_source(what, folder=tmp_path, interval_s=given).interval_s == expected
