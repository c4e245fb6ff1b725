"""What goes over the wire, byte by byte, against published and independently computed frames."""

import math

import pytest
from pymodbus.framer.rtu import FramerRTU
from raw_peers import peer

from drivers.modbus.address import parse_address
from drivers.modbus.errors import GarbledError, RefusedError
from drivers.modbus.link import Link
from drivers.modbus.silence import silences


def bytes_of(text):
    return bytes.fromhex(text)


@pytest.mark.parametrize(
    ("frame", "crc"),
    [
        ("11 03 00 6B 00 03", "76 87"),  # bbs.21ic.com
        ("01 03 00 00 00 0A", "C5 CD"),  # this and the rest computed with pymodbus
        ("01 04 00 00 00 02", "71 CB"),
        ("02 07", "41 12"),  # printed in Modbus over Serial Line V1.02, quoted from memory
        ("01 83 02", "C0 F1"),
        ("01 03 9C 40 00 03", "2A 4F"),
        ("01 03 06 53 75 6E 53 00 01", "8D E4"),
        ("11 03 06 AE 41 56 52 43 40", "49 AD"),
        ("01 03 00 00 00 7D", "85 EB"),
    ],
)
def test_the_check_sum_of_published_frames(frame, crc):
    assert FramerRTU.compute_CRC(bytes_of(frame)).to_bytes(2, "big") == bytes_of(crc)


def test_the_check_sum_of_the_usual_check_string():
    # 0x4B37, sent low byte first; computed with pymodbus and sunspec2.
    assert FramerRTU.compute_CRC(b"123456789") == 0x374B


@pytest.mark.parametrize(
    ("unit", "table", "address", "count", "request_", "answer", "registers"),
    [
        (
            1,
            "holding",
            40000,
            3,
            "01 03 9C 40 00 03 2A 4F",
            "01 03 06 53 75 6E 53 00 01 8D E4",
            "53 75 6E 53 00 01",
        ),
        (
            17,
            "holding",
            107,
            3,
            "11 03 00 6B 00 03 76 87",
            "11 03 06 AE 41 56 52 43 40 49 AD",
            "AE 41 56 52 43 40",
        ),
    ],
)
def test_rtu_frames_out_and_in(unit, table, address, count, request_, answer, registers):
    def answering(connection, request):
        # In two pieces, as serial servers like to pass them on.
        connection.sendall(bytes_of(answer)[:4])
        connection.sendall(bytes_of(answer)[4:])
        return True

    with peer(answering, 8) as other:
        link = Link(parse_address(f"modbus-rtu://127.0.0.1:{other.port}"))
        link.open()
        assert link.read(unit, table, address, count, 1.0) == bytes_of(registers)
        link.close()
    assert other.requests == [bytes_of(request_)]


def test_an_rtu_exception_is_understood():
    def answering(connection, request):
        connection.sendall(bytes_of("01 83 02 C0 F1"))
        return True

    with peer(answering, 8) as other:
        link = Link(parse_address(f"modbus-rtu://127.0.0.1:{other.port}"))
        link.open()
        with pytest.raises(RefusedError) as refused:
            link.read(1, "holding", 0, 1, 1.0)
        assert refused.value.code == 2
        link.close()


def test_a_wrong_check_sum_is_no_answer():
    def answering(connection, request):
        connection.sendall(bytes_of("01 03 06 53 75 6E 53 00 01 8D E5"))
        return True

    with peer(answering, 8) as other:
        link = Link(parse_address(f"modbus-rtu://127.0.0.1:{other.port}"))
        link.open()
        with pytest.raises(GarbledError):
            link.read(1, "holding", 40000, 3, 0.1)
        link.close()


def test_tcp_frames_out():
    def answering(connection, request):
        connection.sendall(bytes_of("00 01 00 00 00 09 01 03 06 53 75 6E 53 00 01"))
        return True

    with peer(answering) as other:
        link = Link(parse_address(f"modbus-tcp://127.0.0.1:{other.port}"))
        link.open()
        assert link.read(1, "holding", 40000, 3, 1.0) == b"SunS\0\1"
        link.close()
    # Computed with pymodbus.
    assert other.requests == [bytes_of("00 01 00 00 00 06 01 03 9C 40 00 03")]


@pytest.mark.parametrize(
    ("baud", "bits", "between_ms", "within_ms"),
    [
        (1200, 11, 32.0833, 13.75),
        (2400, 11, 16.0417, 6.875),
        (4800, 11, 8.0208, 3.4375),
        (9600, 11, 4.0104, 1.7188),
        (19200, 11, 2.0052, 0.8594),
        (9600, 10, 3.6458, 1.5625),
        (115200, 11, 1.75, 0.75),
    ],
)
def test_the_silence_between_frames(baud, bits, between_ms, within_ms):
    # Modbus over Serial Line V1.02, section 2.5.1.1; values computed from it.
    between, within = silences(baud, bits)
    assert math.isclose(between * 1e3, between_ms, rel_tol=2e-5)
    assert math.isclose(within * 1e3, within_ms, rel_tol=5e-5)
