"""What a source gives is known from its first row on, so that a recording of it is one file."""

import contextlib
import math
import struct
import threading
import time

import pytest
from leaks import nothing_left_behind
from modbus_servers import Plant, served
from raw_peers import peer, reply
from source_help import all_missing, frames_until, hasty, rows, running, value
from sunspec_images import battery, chain, common, model

from drivers.opening import open_source
from recordings.recorder import Recorder
from recordings.tables import read_table

DISCHARGING, CHARGING = 3, 4
BATTERY = ("battery_power", "battery_voltage", "battery_current", "battery_soc")
MAP = '[device]\ninterval_s = 0.05\n[[read]]\nchannel = "load_power"\naddress = 10\n'


class Device:
    def __init__(self, source, role=None, map=None):
        self.source, self.role, self.map = source, role, map


def address(plant, more=""):
    return f"modbus-tcp://127.0.0.1:{plant.port}?unit=1&interval=0.02{more}"


@contextlib.contextmanager
def live(image):
    """A reader of a device with these registers."""
    with (
        served(Plant({1: {40000: image}})) as plant,
        running(open_source(address(plant), timing=hasty())) as reader,
    ):
        yield reader


def first_row(plant, more=""):
    with running(open_source(address(plant, more), timing=hasty())) as reader:
        return rows(reader, 1)[0], reader.source.channels


def test_a_battery_whose_direction_is_not_known_yet_has_all_its_channels_at_once():
    with nothing_left_behind(), live(chain(common(), battery(-453, CHARGING))) as reader:
        frames = frames_until(reader, lambda frames: frames and value(frames[-1], "battery_power") > 0)
        assert reader.source.channels == BATTERY
    assert math.isnan(value(frames[0], "battery_power"))
    assert all(set(frame.columns) == set(BATTERY) for frame in frames)
    powers = {value(frame, "battery_power") for frame in frames}
    assert {power for power in powers if not math.isnan(power)} == {2406}


def test_what_a_device_does_not_implement_is_no_channel():
    image = chain(common(), model(802, {"W": -450, "W_SF": 0, "SoC": 50, "SoC_SF": 0, "ChaSt": CHARGING}))
    with served(Plant({1: {40000: image}})) as plant:
        frame, channels = first_row(plant)
    assert channels == ("battery_power", "battery_soc")
    assert set(frame.columns) == set(channels)


def test_a_battery_that_tells_its_power_and_no_current_is_recorded_by_its_power():
    image = chain(common(), model(802, {"W": -450, "W_SF": 0, "V": 5312, "V_SF": -2, "ChaSt": CHARGING}))
    with live(image) as reader:
        frames = frames_until(reader, lambda frames: frames and value(frames[-1], "battery_power") == 450)
    assert "battery_current" not in frames[-1].columns


@pytest.mark.parametrize("again", ["the same connection", "a new source"])
def test_a_direction_that_was_settled_is_known_at_once_when_the_device_comes_back(again):
    plant = Plant({1: {40000: chain(common(), battery(453, CHARGING))}})
    with nothing_left_behind():
        with served(plant), running(open_source(address(plant), timing=hasty())) as reader:
            frames_until(reader, lambda frames: frames and value(frames[-1], "battery_power") == 2406)
            if again == "the same connection":
                plant.refuse = lambda *_: 11
                frames_until(reader, lambda frames: frames and all_missing(frames[-1]))
                plant.refuse = lambda *_: None
                back = frames_until(reader, lambda frames: any(not all_missing(frame) for frame in frames))
        if again == "a new source":
            with served(plant, port=plant.port):
                back = [first_row(plant)[0]]
    present = [frame for frame in back if not math.isnan(value(frame, "battery_voltage"))]
    assert {value(frame, "battery_power") for frame in present} == {2406}


def test_another_device_in_its_place_is_asked_anew():
    """One of the same models, and with the other sign."""
    plant = Plant({1: {40000: chain(common("first"), battery(453, CHARGING))}})
    with served(plant), running(open_source(address(plant), timing=hasty())) as reader:
        frames_until(reader, lambda frames: frames and value(frames[-1], "battery_power") == 2406)
        plant.refuse = lambda *_: 11
        frames_until(reader, lambda frames: frames and all_missing(frames[-1]))
        plant.set(1, 40000, *chain(common("second"), battery(453, DISCHARGING)))
        plant.refuse = lambda *_: None
        frames = frames_until(reader, lambda frames: frames and value(frames[-1], "battery_power") == -2406)
    assert not [frame for frame in frames if value(frame, "battery_power") > 0]


@pytest.mark.parametrize(
    ("number", "points", "volts"),
    [
        (202, {"PhVphA": 1201, "PhVphB": 1199}, [120.1, 119.9]),
        (203, {"PhVphA": 2301, "PhVphB": 2290, "PhVphC": 2310}, [230.1, 229.0, 231.0]),
        (204, {"PhVphA": 2301, "PhVphB": 2290}, [230.1, 229.0]),
        (701, {"VL1": 1201, "VL2": 1199}, [120.1, 119.9]),
    ],
)
def test_each_leg_has_its_voltage_where_no_mean_is_told(number, points, volts):
    image = model(number, {"W": 5200, "W_SF": 0, "V_SF": -1, **points})
    with served(Plant({1: {40000: chain(common(), image)}})) as plant:
        frame, channels = first_row(plant, "&role=generator")
    told = {f"generator_voltage_l{leg}": pytest.approx(each) for leg, each in enumerate(volts, 1)}
    assert {name: value(frame, name) for name in channels if "voltage" in name} == told


def test_the_first_row_of_a_site_waits_for_devices_that_are_slow_to_connect(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)

    def answer(connection, request):
        # Slow at first, as devices are that have just been powered.
        time.sleep(0.3)
        connection.sendall(reply(request, *[1] * struct.unpack(">H", request[10:12])[0]))
        return True

    with (
        nothing_left_behind(),
        peer(answer) as slow,
        served(Plant({1: {40000: chain(common(), battery())}})) as plant,
    ):
        devices = [
            Device(address(plant)),
            Device(f"modbus-tcp://127.0.0.1:{slow.port}?timeout=2&interval=0.5", map="m.toml"),
        ]
        with running(open_source(devices, folder=tmp_path)) as reader:
            frame = rows(reader, 1)[0]
            assert reader.source.channels == ("load_power", *BATTERY)
    assert value(frame, "load_power") == 1
    assert value(frame, "battery_voltage") == pytest.approx(53.12)


def test_a_device_that_cannot_be_reached_holds_up_the_first_row_no_longer_than_it_takes_to_know(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)
    with served(Plant({1: {40000: chain(common(), battery())}})) as plant:
        devices = [Device(address(plant)), Device("modbus-tcp://127.0.0.1:1", map="m.toml")]
        with running(open_source(devices, folder=tmp_path, timing=hasty(0.05))) as reader:
            frame = rows(reader, 1)[0]
    # Its map says what it would tell: that is missing, and no row is without a word of it.
    assert math.isnan(value(frame, "load_power"))
    assert value(frame, "battery_voltage") == pytest.approx(53.12)


def test_a_recording_of_such_a_battery_is_one_file(tmp_path):
    with (
        live(chain(common(), battery(-453, CHARGING))) as reader,
        Recorder(tmp_path / "day.csv", flush_s=0.0) as recorder,
    ):
        for frame in rows(reader, 8):
            recorder.declare(reader.source.channels)
            recorder.append(frame.time, frame.columns)
    assert [path.name for path in tmp_path.iterdir()] == ["day.csv"]
    power = read_table(tmp_path / "day.csv").column("battery_power")
    assert math.isnan(power[0])
    assert power[-1] == 2406


def test_a_row_that_waits_for_a_device_that_connects_can_be_given_up(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)
    held = threading.Event()

    def silent(connection, request):
        held.wait(5)
        return False

    with nothing_left_behind(), peer(silent) as one, peer(silent) as other:
        devices = [
            Device(f"modbus-tcp://127.0.0.1:{each.port}?timeout=9", map="m.toml") for each in (one, other)
        ]
        with running(open_source(devices, folder=tmp_path)) as reader:
            assert reader.take(0.2) == []
            assert reader.stop(1.0)
        held.set()
