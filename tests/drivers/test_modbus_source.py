"""Live rows from real servers: what is read, what is said when it fails, and that nothing is ever made up."""

import itertools
import math
import random
import socket
import struct
import threading
import time

import pytest
from joined_ports import joined_ports
from leaks import nothing_left_behind
from modbus_servers import Plant, served, served_on_port
from pymodbus.framer import FramerType
from raw_peers import peer, reply
from source_help import all_missing, frames_until, hasty, rows, running, until_state, value

from drivers.backoff import Backoff
from drivers.maps.device import MapDevice
from drivers.maps.sheet import RegisterMap
from drivers.modbus.address import parse_address
from drivers.modbus.link import Link
from drivers.modbus.source import ModbusSource
from drivers.reader import Reader

LOAD = '[[read]]\nchannel = "load_power"\naddress = 10\n'
BATTERY = '[[read]]\nchannel = "battery_voltage"\naddress = 20\nscale = 0.1\n'
CLOCKED = LOAD + "[clock]\naddress = 30\n"


def source(address, maps, interval_s=0.02, timeout_s=None, timing=None):
    """A source of units 1, 2, … that each have a map."""
    return ModbusSource(
        Link(parse_address(address)),
        [(unit, MapDevice(RegisterMap.parse(text), interval_s)) for unit, text in enumerate(maps, 1)],
        interval_s=interval_s,
        timeout_s=timeout_s,
        timing=timing or hasty(),
    )


def at(plant, scheme="modbus-tcp"):
    return f"{scheme}://127.0.0.1:{plant.port}"


def test_rows_follow_the_registers():
    with (
        nothing_left_behind(),
        served(Plant({1: {10: [1000]}})) as plant,
        running(source(at(plant), [LOAD])) as reader,
    ):
        assert value(rows(reader, 1)[0], "load_power") == 1000
        plant.set(1, 10, 2000)
        frames_until(reader, lambda frames: frames and value(frames[-1], "load_power") == 2000)
        assert reader.state.phase == "reading"
        assert reader.state.reason == ""


def test_times_rise_strictly_and_are_the_local_clock():
    with served(Plant({1: {10: [1000]}})) as plant:
        before = time.time_ns()
        with running(source(at(plant), [LOAD], interval_s=0.005)) as reader:
            stamps = [int(frame.time[0]) for frame in rows(reader, 20)]
        assert before <= stamps[0]
        assert stamps[-1] <= time.time_ns()
        assert all(later > earlier for earlier, later in itertools.pairwise(stamps))


def test_several_units_on_one_line_make_one_row():
    plant = Plant({1: {10: [1000]}, 2: {20: [531]}})
    with nothing_left_behind(), served(plant), running(source(at(plant), [LOAD, BATTERY])) as reader:
        frame = rows(reader, 2)[-1]
    assert value(frame, "load_power") == 1000
    assert value(frame, "battery_voltage") == pytest.approx(53.1)
    assert min(frame.skew_s.values()) == 0.0
    assert max(frame.skew_s.values()) > 0.0


def test_a_device_that_vanishes_and_returns():
    """Rows of NaN while it is away, never an old value, and rows again when it is back."""
    with nothing_left_behind():
        plant = Plant({1: {10: [1000]}})
        with served(plant):
            live = source(at(plant), [LOAD], timeout_s=0.1)
            reader = Reader(live).start()
            rows(reader, 3)
        until_state(reader, "waiting")
        assert reader.state.reason
        assert reader.state.retry_at > reader.state.since
        frames = frames_until(reader, lambda frames: len([f for f in frames if all_missing(f)]) >= 2)
        gone = next(index for index, frame in enumerate(frames) if all_missing(frame))
        assert all(all_missing(frame) for frame in frames[gone:])
        plant.set(1, 10, 3000)
        with served(plant, port=plant.port):
            back = frames_until(reader, lambda frames: any(not all_missing(frame) for frame in frames))
            assert {value(frame, "load_power") for frame in back if not all_missing(frame)} == {3000}
            assert reader.stop()


def test_missing_readings_are_told_within_three_intervals():
    """By the local clock: from the last fresh row to the first row of NaN when a device falls silent."""
    interval_s, silent = 0.5, threading.Event()

    def answer(connection, request):
        if not silent.is_set():
            connection.sendall(reply(request, 1000))
        return True

    with peer(answer) as other:
        live = source(f"modbus-tcp://127.0.0.1:{other.port}", [LOAD], interval_s, timeout_s=30.0)
        with running(live) as reader:
            frames = rows(reader, 2)
            silent.set()
            frames += frames_until(reader, lambda frames: frames and all_missing(frames[-1]))
    fresh, missing = (int(frame.time[0]) for frame in frames[-2:])
    assert not all_missing(frames[-2])
    assert (missing - fresh) / 1e9 <= 3 * interval_s


def test_a_silent_unit_leaves_nan_and_the_others_go_on():
    plant = Plant({1: {10: [1000]}, 2: {20: [531]}})
    with served(plant), running(source(at(plant), [LOAD, BATTERY], timeout_s=0.2)) as reader:
        rows(reader, 2)
        plant.refuse = lambda unit, *_: 11 if unit == 2 else None
        frames_until(
            reader,
            lambda frames: (
                len([f for f in frames if math.isnan(value(f, "battery_voltage"))]) >= 3
                and value(frames[-1], "load_power") == 1000
            ),
        )
        assert reader.state.phase == "reading"
        assert "unit 2" in reader.state.reason
        plant.refuse = lambda *_: None
        frames_until(
            reader,
            lambda frames: frames and value(frames[-1], "battery_voltage") > 53 and reader.state.reason == "",
        )


def test_a_unit_that_is_away_at_the_beginning_joins_later():
    plant = Plant({1: {10: [1000]}, 2: {20: [531]}})
    plant.refuse = lambda unit, *_: 11 if unit == 2 else None
    with served(plant), running(source(at(plant), [LOAD, BATTERY], timeout_s=0.2)) as reader:
        # What it will tell is known by its map, so that a recording has a column for it from the beginning.
        assert reader.source.channels == ("load_power", "battery_voltage")
        assert math.isnan(value(rows(reader, 2)[-1], "battery_voltage"))
        plant.refuse = lambda *_: None
        frames_until(reader, lambda frames: frames and value(frames[-1], "battery_voltage") > 53)


def test_a_device_whose_clock_stands_still_is_not_believed():
    plant = Plant({1: {10: [1000], 30: [0, 100]}})
    with served(plant), running(source(at(plant), [CLOCKED])) as reader:
        for tick in range(5):
            plant.set(1, 30, 0, 101 + tick)
            frames = rows(reader, 2)
        assert frames[-1].device_time == pytest.approx(105 * 10**9, abs=10**9)
        frames_until(reader, lambda frames: frames and all_missing(frames[-1]))
        assert "clock stands still" in reader.state.reason
        plant.set(1, 30, 0, 200)
        frames_until(reader, lambda frames: frames and value(frames[-1], "load_power") == 1000)


def test_the_devices_clock_is_told_apart_and_never_used_as_the_rows_time():
    plant = Plant({1: {10: [1000], 30: [0, 100]}})
    with served(plant), running(source(at(plant), [CLOCKED])) as reader:
        frame = rows(reader, 1)[0]
    assert frame.device_time == 100 * 10**9
    assert abs(int(frame.time[0]) - time.time_ns()) < 60 * 10**9


def test_rtu_through_a_serial_port():
    with joined_ports() as (near, far), served_on_port(Plant({1: {10: [1000]}}), far):
        live = source(f"modbus-rtu://{near}?baud=115200", [LOAD], interval_s=0.2)
        with running(live) as reader:
            assert value(rows(reader, 2)[-1], "load_power") == 1000


def test_rtu_through_a_connection():
    plant = Plant({1: {10: [1000]}})
    with nothing_left_behind(), served(plant, FramerType.RTU):
        live = source(at(plant, "modbus-rtu"), [LOAD], interval_s=0.05)
        with running(live) as reader:
            assert value(rows(reader, 2)[-1], "load_power") == 1000


def silent_peer(connection, request):
    return True


def full_listener():
    """A listener whose queue is full: connecting to it gets no answer at all."""
    listener = socket.create_server(("127.0.0.1", 0), backlog=0)
    waiting = []
    for _ in range(8):
        one = socket.socket()
        one.setblocking(False)
        one.connect_ex(listener.getsockname())
        waiting.append(one)
    return listener, waiting


@pytest.mark.parametrize("state", ["connecting", "reading", "waiting", "between rounds", "before the start"])
def test_it_stops_within_a_second_from_any_state(state):
    listener, waiting = full_listener()
    with nothing_left_behind(), peer(silent_peer) as silent, served(Plant({1: {10: [1]}})) as plant:
        port = {
            "connecting": listener.getsockname()[1],
            "reading": silent.port,
            "waiting": 1,
        }.get(state, plant.port)
        live = source(f"modbus-tcp://127.0.0.1:{port}", [LOAD], 60.0, timeout_s=60.0, timing=hasty(60.0))
        reader = Reader(live)
        if state == "before the start":
            live.stop()
            assert list(live.frames()) == []
        else:
            reader.start()
            if state == "reading":
                while not silent.requests:
                    time.sleep(0.001)
            elif state == "between rounds":
                rows(reader, 1)
            else:
                until_state(reader, state)
            assert reader.stop(1.0)
        assert live.state.phase == "ended"
        assert live.state.reason == "stopped"
    for each in (listener, *waiting):
        each.close()


def test_hostile_peers_bring_no_value_no_crash_and_no_leak():
    """A peer that does something else at each request, and now and then answers soundly with 1000."""
    chance = random.Random(3)

    def answer(connection, request):
        kind = chance.randrange(8)
        good = reply(request, 1000)
        if kind == 0:
            return False
        if kind == 1:
            connection.sendall(chance.randbytes(chance.randrange(1, 400)))
        elif kind == 2:
            connection.sendall(reply(request, 6666, transaction=chance.randrange(30000, 60000)))
        elif kind == 3:
            connection.sendall(reply(request, 6666, unit=chance.randrange(2, 255)))
        elif kind == 4:
            connection.sendall(good[: chance.randrange(len(good))])
            return False
        elif kind == 5:
            connection.sendall(reply(request, 6666, 6666))
        elif kind == 6:
            connection.sendall(struct.pack(">HHHBBB", *struct.unpack(">HHHB", request[:7]), 0x83, 4))
        else:
            connection.sendall(good)
        return True

    with nothing_left_behind(), peer(answer) as other:
        live = source(f"modbus-tcp://127.0.0.1:{other.port}", [LOAD], 0.005, timeout_s=0.02)
        with running(live) as reader:
            frames = frames_until(
                reader,
                lambda frames: sum(not all_missing(frame) for frame in frames) >= 10 and len(frames) > 30,
            )
    seen = {value(frame, "load_power") for frame in frames if not all_missing(frame)}
    assert seen == {1000}


@pytest.mark.slow
def test_hours_of_bad_wiring():
    """Minutes of a peer that fails in every way: memory, threads and files stay as they were."""
    for _ in range(40):
        test_hostile_peers_bring_no_value_no_crash_and_no_leak()


def test_delays_double_within_their_bounds_and_start_again():
    for chance in (0.0, 0.5, 0.999):
        backoff = Backoff(lambda chance=chance: chance)
        delays = [backoff.next() for _ in range(12)]
        assert all(0.5 <= delay <= 30.0 for delay in delays)
        assert delays == sorted(delays)
        assert delays[-1] >= 15.0
        backoff.reset()
        assert backoff.next() == 0.5


def test_no_two_clients_wait_equally_long():
    one, other = (Backoff(random.Random(seed).random) for seed in (1, 2))
    assert [one.next() for _ in range(8)][2:] != [other.next() for _ in range(8)][2:]
