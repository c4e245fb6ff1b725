"""Sources at peers that do everything wrong: no crash, no hang, no invented value, nothing left behind."""

import random
import socket
import struct
import threading
import time

import numpy as np
import pytest
from leaks import nothing_left_behind
from modbus_servers import Plant, served
from raw_peers import peer, refusal, reply
from source_help import all_missing, frames_until, hasty, rows, running, until_state, value
from sunspec_images import battery, chain, common
from wire_help import hut, wire

from drivers.maps.device import MapDevice
from drivers.maps.sheet import RegisterMap
from drivers.modbus.address import parse_address
from drivers.modbus.link import Link
from drivers.modbus.source import ModbusSource
from drivers.opening import open_source
from drivers.reader import Reader
from drivers.timing import Timing
from drivers.wire.plain import UNIT

PAIR = (
    '[[read]]\nchannel = "load_power"\naddress = 10\n'
    '[[read]]\nchannel = "solar_power"\naddress = 11\ntype = "u16"\n'
)
WHOLE = 60_000
"""The two registers of the pair always add up to this: a value that was made up shows."""

TIMEOUT_S = 0.03


def pair_source(port, scheme="modbus-tcp", interval_s=0.005, timing=None):
    return ModbusSource(
        Link(parse_address(f"{scheme}://127.0.0.1:{port}")),
        [(1, MapDevice(RegisterMap.parse(PAIR), interval_s))],
        interval_s=interval_s,
        timeout_s=TIMEOUT_S,
        timing=timing or hasty(),
    )


def sound(request, number):
    return reply(request, number, WHOLE - number)


def late(connection, request):
    time.sleep(2 * TIMEOUT_S)
    connection.sendall(sound(request, 6666))
    return True


def half_closed(connection, request):
    connection.shutdown(socket.SHUT_WR)
    return True


def sends(make):
    """A peer that answers each request with these bytes."""

    def answer(connection, request):
        connection.sendall(make(request))
        return True

    return answer


NOISE = random.Random(5)

BAD = {
    "slow": late,
    "silent": lambda *_: True,
    "half-closed": half_closed,
    "hangs up": lambda *_: False,
    "wrong transaction": sends(lambda request: reply(request, 6666, WHOLE - 6666, transaction=40_000)),
    "wrong unit": sends(lambda request: reply(request, 6666, WHOLE - 6666, unit=9)),
    "truncated": sends(lambda request: sound(request, 6666)[:-3]),
    "too short": sends(lambda request: reply(request, 6666)),
    "too long": sends(lambda request: reply(request, 6666, WHOLE - 6666, 0)),
    "another function": sends(lambda request: request[:7] + b"\x10" + request[8:]),
    "random bytes": sends(lambda _: NOISE.randbytes(NOISE.randint(1, 300))),
    "busy": sends(lambda request: refusal(request, 6)),
    "device failure": sends(lambda request: refusal(request, 4)),
    "an exception of its own": sends(lambda request: refusal(request, 222)),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_peer_that_turns_bad_gives_missing_rows_and_when_it_is_well_again_values(kind):
    ill = threading.Event()

    def answer(connection, request):
        if ill.is_set():
            return BAD[kind](connection, request)
        connection.sendall(sound(request, 1234))
        return True

    with nothing_left_behind(), peer(answer) as other, running(pair_source(other.port)) as reader:
        frames = rows(reader, 3)
        ill.set()
        frames += frames_until(reader, lambda frames: sum(map(all_missing, frames)) >= 2)
        until_state(reader, "waiting")
        ill.clear()
        frames += frames_until(reader, lambda frames: frames and not all_missing(frames[-1]))
        assert reader.stop(1.0)
    seen = {
        (value(frame, "load_power"), value(frame, "solar_power"))
        for frame in frames
        if not all_missing(frame)
    }
    assert seen == {(1234, WHOLE - 1234)}
    stamps = [int(frame.time[0]) for frame in frames]
    assert stamps == sorted(set(stamps))


@pytest.mark.parametrize("kind", BAD)
def test_a_peer_that_was_never_well_can_be_left_within_a_second(kind):
    with nothing_left_behind(), peer(BAD[kind]) as other:
        with running(pair_source(other.port)) as reader:
            until_state(reader, "waiting")
            assert reader.take() == []
            assert reader.stop(1.0)
        assert reader.error is None


def test_a_chain_of_models_that_is_noise_makes_no_reading():
    """A device whose every register is random, but for the marker: models that nobody knows, or nonsense."""
    chance = random.Random(11)
    with nothing_left_behind():
        for _ in range(8):
            words = [0x5375, 0x6E53, *(chance.randrange(0x10000) for _ in range(400))]
            with served(Plant({1: {40000: words}})) as plant:
                live = open_source(f"modbus-tcp://127.0.0.1:{plant.port}?unit=1", timing=hasty())
                with running(live) as reader:
                    reader.take(1.0)
                    reader.stop()
            assert live.channels == ()


def test_ordered_faults_on_the_wire_never_become_readings():
    """Rows of a simulated plant whose wire fails in every way hold what its meters said, or nothing."""
    orders = ("drop=0.1/0.7", "garbage=0.1/0.5", "exception=0.1/0.9", "freeze=0.1/1.1")
    with nothing_left_behind(), wire(hut(), *orders) as plant:
        reading = plant.move(30)
        said = {name: {np.float32(each)} for name, each in reading.values.items()}
        device = MapDevice(RegisterMap.parse(plant.served.plain.map_text()), 0.01)
        live = ModbusSource(
            Link(parse_address(f"modbus-tcp://127.0.0.1:{plant.port}")),
            [(UNIT, device)],
            interval_s=0.01,
            timeout_s=0.1,
            timing=hasty(),
        )
        frames, missing = [], 0
        with running(live) as reader:
            while len(frames) < 60 or missing < 3:
                for name, each in plant.move().values.items():
                    said[name].add(np.float32(each))
                came = rows(reader, 1)
                frames += came
                missing += sum(map(all_missing, came))
    for frame in frames:
        for name, column in frame.columns.items():
            assert np.isnan(column[0]) or column[0] in said[name], name


def flipped(data, chance):
    """A frame with up to three bits the other way round, which the check sum of RTU always finds."""
    whole = bytearray(data)
    for place in chance.sample(range(8 * len(whole)), chance.randint(1, 3)):
        whole[place // 8] ^= 1 << place % 8
    return bytes(whole)


def check_sum(data):
    """CRC-16 as RTU frames end with it (Modbus over Serial Line V1.02, section 6.2.2)."""
    crc = 0xFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xA001 if crc & 1 else 0)
    return struct.pack("<H", crc)


class BadWiring:
    """Answers RTU requests like a device on a line that now and then fails; `share` says how often.

    numbers  what the first register has told in sound answers
    """

    def __init__(self, seed, share):
        self.chance = random.Random(seed)
        self.share = share
        self.numbers = set()

    def __call__(self, connection, request):
        number = self.chance.randrange(10_000)
        body = struct.pack(">BBBHH", request[0], request[1], 4, number, WHOLE - number)
        answer = body + check_sum(body)
        if self.chance.random() >= self.share():
            self.numbers.add(number)
            connection.sendall(answer)
            return True
        kind = self.chance.randrange(4)
        if kind == 0:
            connection.sendall(flipped(answer, self.chance))
        elif kind == 1:
            connection.sendall(answer[: self.chance.randrange(1, len(answer))])
        elif kind == 2:
            connection.sendall(flipped(request, self.chance))
        return True


def believed(frames):
    """The numbers of all rows that have them, each held against its other half."""
    numbers = set()
    for frame in frames:
        if not all_missing(frame):
            assert value(frame, "load_power") + value(frame, "solar_power") == WHOLE
            numbers.add(int(value(frame, "load_power")))
    return numbers


def test_bad_wiring_makes_no_value():
    device = BadWiring(1, lambda: 0.15)
    with nothing_left_behind(), peer(device, request_bytes=8) as other:
        with running(pair_source(other.port, "modbus-rtu")) as reader:
            frames = frames_until(
                reader,
                lambda frames: len(frames) >= 40 and sum(not all_missing(frame) for frame in frames) >= 20,
            )
        assert believed(frames) <= device.numbers


class FastClock:
    """A clock that every wait moves on, without waiting."""

    def __init__(self):
        self.now = 0.0

    def timing(self):
        return Timing(
            utc=lambda: 10**18 + round(self.now * 1e9),
            monotonic=lambda: self.now,
            chance=random.Random(7).random,
            wait=self.wait,
        )

    def wait(self, event, seconds):
        self.now += seconds
        return event.is_set()


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_a_day_of_bad_wiring():
    """A day at one row in ten seconds by a clock that runs ahead: the line is poor, and awful for an hour."""
    clock = FastClock()
    device = BadWiring(2, lambda: 0.3 if 43_200 < clock.now < 46_800 else 0.02)
    frames = []
    with nothing_left_behind(), peer(device, request_bytes=8) as other:
        live = pair_source(other.port, "modbus-rtu", 10.0, clock.timing())
        for frame in live.frames():
            frames.append(frame)
            if clock.now > 86_400:
                live.stop()
    stamps = np.array([frame.time[0] for frame in frames])
    assert np.all(np.diff(stamps) > 0)
    assert believed(frames) <= device.numbers
    # It goes on all day: no stretch without a good row is longer than the longest wait between two tries.
    good = np.array([frame.time[0] for frame in frames if not all_missing(frame)]) / 1e9
    assert good[-1] - good[0] > 86_000
    assert np.max(np.diff(good)) < 600
    assert len(good) > 7000


@pytest.mark.slow
def test_a_device_that_vanishes_for_twenty_seconds_is_back_without_help():
    """By the real clock and the real delays: the server goes, and comes back at the same port."""
    plant = Plant({1: {40000: chain(common(), battery(453, 4))}})
    with nothing_left_behind():
        with served(plant):
            live = open_source(f"modbus-tcp://127.0.0.1:{plant.port}?unit=1&interval=0.2")
            reader = Reader(live).start()
            frames_until(reader, lambda frames: frames and value(frames[-1], "battery_power") == 2406)
        away, ends = [], time.monotonic() + 20.0
        while time.monotonic() < ends:
            away += reader.take(0.5)
        gone = next(index for index, frame in enumerate(away) if all_missing(frame))
        assert all(all_missing(frame) for frame in away[gone:])
        assert reader.state.phase in ("waiting", "connecting")
        plant.set(1, 40000, *chain(common(), battery(400, 4)))
        with served(plant, port=plant.port):
            back, ends = [], time.monotonic() + 40.0
            while not [frame for frame in back if not all_missing(frame)]:
                assert time.monotonic() < ends, reader.state
                back += reader.take(0.5)
            fresh = next(frame for frame in back if not all_missing(frame))
            assert value(fresh, "battery_power") == round(400 * 5.312)
            assert reader.stop(1.0)
