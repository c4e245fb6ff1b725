"""Addresses as people write them, and what is said about those that can't be used."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drivers.modbus.address import parse_address
from drivers.opening import serial_address
from recordings.errors import SourceError


def test_a_network_address_with_everything():
    address = parse_address(
        "modbus-tcp://192.168.1.9:1502?unit=1,2&role=converter,battery&map=,B.toml&interval=0.5"
    )
    assert (address.framing, address.host, address.port) == ("tcp", "192.168.1.9", 1502)
    assert address.units == (1, 2)
    assert address.roles == ("converter", "battery")
    assert address.maps == ("", "B.toml")
    assert address.interval_s == 0.5
    assert address.line == "modbus-tcp://192.168.1.9:1502"


def test_what_is_not_said_is_usual():
    address = parse_address("modbus-tcp://inverter.lan")
    assert (address.host, address.port, address.units, address.roles) == ("inverter.lan", 502, (), (None,))


@pytest.mark.parametrize(
    ("text", "device"),
    [
        ("modbus-rtu:///dev/ttyUSB0?baud=19200&parity=e&stopbits=2", "/dev/ttyUSB0"),
        ("modbus-rtu://COM3?baud=19200&parity=E&stopbits=2", "COM3"),
        (
            "modbus-rtu:///dev/serial/by-id/usb-a%20b?baud=19200&parity=E&stopbits=2",
            "/dev/serial/by-id/usb-a b",
        ),
    ],
)
def test_a_serial_port(text, device):
    address = parse_address(text)
    assert (address.framing, address.device, address.host) == ("rtu", device, "")
    assert (address.baud, address.parity, address.stopbits) == (19200, "E", 2)


def test_rtu_frames_through_a_connection():
    address = parse_address("modbus-rtu://10.0.0.7:4001?unit=3")
    assert (address.framing, address.host, address.port, address.device) == ("rtu", "10.0.0.7", 4001, "")


def test_an_ipv6_host():
    assert parse_address("modbus-tcp://[::1]:502?unit=1").host == "::1"


def test_one_value_holds_for_all_units():
    address = parse_address("modbus-tcp://h?unit=1,2,5&role=load&sign=-1")
    assert address.roles == ("load",) * 3
    assert address.signs == (-1,) * 3


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("modbus-tcp://", "HOST:PORT"),
        ("modbus-tcp://h:99999", "HOST:PORT"),
        ("modbus-tcp://h/path", "HOST:PORT"),
        ("modbus-udp://h", "modbus-tcp://"),
        ("modbus-tcp://h?unit=256", "0 to 255"),
        ("modbus-tcp://h?unit=one", "0 to 255"),
        ("modbus-tcp://h?unti=1", "nearest known is unit"),
        ("modbus-tcp://h?unit=1&unit=2", "given twice"),
        ("modbus-tcp://h?role=generater", "nearest known is generator"),
        ("modbus-tcp://h?unit=1,2,3&role=load,grid", "one for each of 3"),
        ("modbus-tcp://h?sign=2", "1 or -1"),
        ("modbus-tcp://h?baud=9600", "serial ports only"),
        ("modbus-tcp://h?interval=0", "above 0"),
        ("modbus-rtu:///dev/x?parity=M", "N, E or O"),
        ("modbus-rtu:///dev/x?stopbits=3", "1 or 2"),
        ("modbus-rtu:///", "/dev/ttyUSB0"),
        ("modbus-tcp://[::1", "address"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_line(text, says):
    with pytest.raises(SourceError) as refused:
        parse_address(text)
    assert says in str(refused.value)
    assert text in str(refused.value)
    assert "\n" not in str(refused.value)


@given(
    scheme=st.sampled_from(["modbus-tcp://", "modbus-rtu://", "serial://", ""]),
    rest=st.text(st.sampled_from("abc019.:/?&=,[]@%-+ éunitrolesgbaudmp\x00"), max_size=40),
)
@settings(max_examples=400, deadline=None, derandomize=True)
def test_any_text_is_an_address_or_refused_in_one_line(scheme, rest):
    text = scheme + rest
    read = serial_address if text.startswith("serial:") else parse_address
    said = ""
    try:
        read(text)
    except SourceError as refused:
        said = str(refused)
    assert "\n" not in said
