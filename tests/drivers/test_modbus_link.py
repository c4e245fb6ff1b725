"""One read against peers of every kind: what comes back is the registers asked for, or a reason in words."""

import random
import struct
import threading
import time

import pytest
from leaks import nothing_left_behind
from modbus_servers import Plant, served
from pymodbus.framer.rtu import FramerRTU
from raw_peers import peer, refusal, reply

from drivers.modbus.address import parse_address
from drivers.modbus.errors import (
    ConnectionLostError,
    GarbledError,
    NoAnswerError,
    ReadFaultError,
    RefusedError,
    StoppedError,
    meaning_of,
)
from drivers.modbus.link import Link

QUICK_S = 0.08


def link_to(port, scheme="modbus-tcp"):
    link = Link(parse_address(f"{scheme}://127.0.0.1:{port}"))
    link.open()
    return link


def asked_once(answer, timeout_s=5.0):
    """One read of two registers against a peer that answers so; the fault or the registers."""
    with nothing_left_behind(), peer(answer) as other:
        link = link_to(other.port)
        try:
            return link.read(1, "holding", 10, 2, timeout_s)
        except ReadFaultError as fault:
            return fault
        finally:
            link.close()


def sending(data):
    def answer(connection, request):
        connection.sendall(data(request) if callable(data) else data)
        return True

    return answer


def test_registers_come_as_they_are():
    with nothing_left_behind(), served(Plant({1: {10: [1, 65535]}}, {1: {10: [7, 8]}})) as plant:
        link = link_to(plant.port)
        assert link.read(1, "holding", 10, 2, 1.0) == struct.pack(">HH", 1, 65535)
        assert link.read(1, "input", 10, 2, 1.0) == struct.pack(">HH", 7, 8)
        link.close()


@pytest.mark.parametrize("code", [1, 2, 3, 4, 5, 6, 7, 8, 10, 11])
def test_every_exception_of_the_protocol_is_worded(code):
    fault = asked_once(sending(lambda request: refusal(request, code)))
    assert isinstance(fault, RefusedError)
    assert fault.code == code
    assert meaning_of(code).words in str(fault)
    assert f"(exception {code})" in str(fault)
    assert "unit 1" in str(fault)
    assert "holding 10..11" in str(fault)


def test_an_exception_that_the_protocol_does_not_know_is_told_with_its_number():
    assert "(exception 77)" in str(asked_once(sending(lambda request: refusal(request, 77))))


def test_all_meanings_differ():
    assert len({meaning_of(code).words for code in (1, 2, 3, 4, 5, 6, 7, 8, 10, 11)}) == 10


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (b"", NoAnswerError),
        (lambda request: reply(request, 1, 2, transaction=999), GarbledError),
        (lambda request: reply(request, 1, 2, unit=9), GarbledError),
        (lambda request: reply(request, 1), GarbledError),
        (lambda request: reply(request, 1, 2, 3), GarbledError),
        (lambda request: reply(request, 1, 2)[:-1], GarbledError),
        (lambda request: reply(request, 1, 2)[:5], GarbledError),
        (lambda request: reply(request, 1, 2).replace(b"\x03\x04", b"\x04\x04", 1), GarbledError),
        (lambda request: reply(request, 1, 2).replace(b"\x03\x04", b"\x03\x08", 1), GarbledError),
        (lambda request: request[:2] + b"\0\7" + reply(request, 1, 2)[4:], GarbledError),
        (lambda request: request, GarbledError),
    ],
    ids=[
        "silence",
        "another transaction",
        "another unit",
        "too few registers",
        "too many registers",
        "cut short",
        "half a header",
        "another function",
        "a lying byte count",
        "another protocol",
        "an echo",
    ],
)
def test_what_is_no_answer_is_never_taken_for_one(data, kind):
    assert type(asked_once(sending(data), QUICK_S)) is kind


def test_an_answer_to_an_earlier_request_is_passed_over():
    def answer(connection, request):
        number = struct.unpack(">H", request[:2])[0]
        connection.sendall(reply(request, 111, 111, transaction=number + 7) + reply(request, 5, 6))
        return True

    assert asked_once(answer) == struct.pack(">HH", 5, 6)


def test_an_answer_that_trickles_in_is_taken():
    def answer(connection, request):
        for byte in reply(request, 5, 6):
            connection.sendall(bytes([byte]))
        return True

    assert asked_once(answer) == struct.pack(">HH", 5, 6)


def test_a_peer_that_hangs_up_is_a_lost_connection():
    fault = asked_once(lambda connection, request: False)
    assert isinstance(fault, ConnectionLostError)
    assert "closed" in str(fault)


def test_a_half_closed_peer_is_a_lost_connection():
    def answer(connection, request):
        connection.shutdown(1)
        return True

    assert isinstance(asked_once(answer), ConnectionLostError)


@pytest.mark.parametrize("scheme", ["modbus-tcp", "modbus-rtu"])
def test_random_bytes_never_become_registers(scheme):
    chance = random.Random(7)

    def answer(connection, request):
        connection.sendall(chance.randbytes(chance.randrange(1, 300)))
        return True

    with nothing_left_behind(), peer(answer, 12 if scheme == "modbus-tcp" else 8) as other:
        for _ in range(40):
            link = link_to(other.port, scheme)
            with pytest.raises(ReadFaultError):
                link.read(1, "holding", 10, 2, 0.01)
            link.close()


def test_after_garbage_a_connection_is_not_used_again():
    with peer(sending(b"\1\2\3\4\5\6\7\10\11")) as other:
        link = link_to(other.port)
        with pytest.raises(GarbledError):
            link.read(1, "holding", 10, 2, QUICK_S)
        assert not link.is_open
        with pytest.raises(ConnectionLostError):
            link.read(1, "holding", 10, 2, QUICK_S)


def rtu_reply(unit, *words):
    frame = struct.pack(f">BBB{len(words)}H", unit, 3, 2 * len(words), *words)
    return frame + FramerRTU.compute_CRC(frame).to_bytes(2, "big")


def test_a_late_rtu_answer_is_never_taken_for_the_next_one():
    """RTU frames carry no number: an answer that comes too late looks like one to the next request."""
    late, sound = rtu_reply(1, 111, 111), rtu_reply(1, 5, 6)
    first = []

    def answer(connection, request):
        if not first:
            first.append(request)
            threading.Timer(2 * QUICK_S, connection.sendall, (late,)).start()
        else:
            connection.sendall(sound)
        return True

    with peer(answer, 8) as other:
        link = link_to(other.port, "modbus-rtu")
        with pytest.raises(NoAnswerError):
            link.read(1, "holding", 0, 2, QUICK_S)
        assert link.read(1, "holding", 10, 2, 5.0) == struct.pack(">HH", 5, 6)
        link.close()


def test_nothing_listens():
    link = Link(parse_address("modbus-tcp://127.0.0.1:1"))
    with pytest.raises(ConnectionLostError) as lost:
        link.open()
    assert "nothing listens at this address" in str(lost.value)
    assert "127.0.0.1:1" in str(lost.value)


def test_a_name_that_is_not_known():
    link = Link(parse_address("modbus-tcp://no-such-host.invalid"))
    with pytest.raises(ConnectionLostError) as lost:
        link.open(0.5)
    assert "no-such-host.invalid" in str(lost.value)


def test_a_serial_port_that_is_not_there():
    with pytest.raises(ConnectionLostError) as lost:
        Link(parse_address("modbus-rtu:///dev/no-such-port")).open()
    assert "/dev/no-such-port" in str(lost.value)
    assert "plugged in" in str(lost.value)


def test_a_read_that_waits_can_be_stopped():
    with nothing_left_behind(), peer(sending(b"")) as other:
        link = link_to(other.port)
        threading.Timer(0.05, link.stop).start()
        begun = time.monotonic()
        with pytest.raises(StoppedError):
            link.read(1, "holding", 0, 1, 30.0)
        assert time.monotonic() - begun < 5
        link.close()
        with pytest.raises(StoppedError):
            link.open()


def test_the_link_offers_reading_and_nothing_else():
    offered = {name for name in dir(Link) if not name.startswith("_")}
    assert offered == {"open", "read", "close", "stop", "is_open"}
