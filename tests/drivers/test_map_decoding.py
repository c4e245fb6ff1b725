"""Words become numbers, numbers become channels: published vectors, every type, and a real server."""

import math
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st
from modbus_servers import Plant, served
from test_map_sheets import EXAMPLE

from drivers.maps.decoding import ten_to
from drivers.maps.device import MapDevice
from drivers.maps.sheet import RegisterMap
from drivers.maps.types import WORDS, number, ordered
from drivers.modbus.address import parse_address
from drivers.modbus.link import Link
from drivers.modbus.reading import UnitReader


@pytest.mark.parametrize(
    ("words", "kind", "order", "expected"),
    [
        # Computed with pymodbus.
        ("4348 0000", "f32", "big", 200.0),
        ("0001 86A0", "u32", "big", 100000),
        ("FFFF FF9C", "i32", "big", -100),
        ("86A0 0001", "u32", "little", 100000),
        # Two's complement and IEEE 754, by hand.
        ("8000", "i16", "big", -32768),
        ("8000", "u16", "big", 32768),
        ("0000 0000 0000 0005", "u64", "big", 5),
        ("0005 0000 0000 0000", "u64", "little", 5),
        ("FFFF FFFF FFFF FFFE", "i64", "big", -2),
        ("3FF8 0000 0000 0000", "f64", "big", 1.5),
        ("0000 0000 0000 3FF8", "f64", "little", 1.5),
    ],
)
def test_published_words(words, kind, order, expected):
    assert number(ordered(bytes.fromhex(words), order), kind) == expected


@given(st.sampled_from(sorted(WORDS)), st.sampled_from(["big", "little"]), st.data())
def test_every_number_comes_back(kind, order, data):
    if kind == "bit":
        return
    formats = {"u": "HIQ", "i": "hiq", "f": "_fd"}
    code = formats[kind[0]][{"16": 0, "32": 1, "64": 2}[kind[1:]]]
    bits = int(kind[1:])
    if kind[0] == "f":
        value = data.draw(st.floats(allow_nan=False, allow_infinity=False, width=bits))
    else:
        low, high = (0, 2**bits - 1) if kind[0] == "u" else (-(2 ** (bits - 1)), 2 ** (bits - 1) - 1)
        value = data.draw(st.integers(low, high))
    assert number(ordered(ordered(struct.pack(f">{code}", value), order), order), kind) == float(value)


def test_bits():
    assert [number(b"\x00\x08", "bit", bit) for bit in (2, 3, 4)] == [0.0, 1.0, 0.0]


def test_a_float_that_is_none_is_no_number():
    assert math.isnan(number(bytes.fromhex("7FC00000"), "f32"))
    assert math.isnan(number(bytes.fromhex("7F800000"), "f32"))


def test_powers_of_ten():
    assert (ten_to(-1), ten_to(3), ten_to(0)) == (0.1, 1000.0, 1.0)
    assert math.isnan(ten_to(11))
    assert math.isnan(ten_to(-32768))


def read(text, holding=(), inputs=None, rounds=1, **options):
    """The readings that a map makes of registers from address 0 on."""
    plant = Plant({1: {0: [*holding, 0]}}, None if inputs is None else {1: {0: [*inputs, 0]}})
    with served(plant):
        link = Link(parse_address(f"modbus-tcp://127.0.0.1:{plant.port}"))
        link.open()
        device, reader = MapDevice(RegisterMap.parse(text), **options), UnitReader(link, 1)
        device.prepare(reader)
        for _ in range(rounds):
            reading = device.poll(reader)
        link.close()
    return dict(reading.values)


def entry(channel="load_power", **keys):
    lines = [f"{key} = {value!r}".replace("'", '"') for key, value in {"address": 0, **keys}.items()]
    return f'[[read]]\nchannel = "{channel}"\n' + "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    ("keys", "words", "expected"),
    [
        ({}, [1234], 1234),
        ({"scale": 0.1}, [12345], 1234.5),
        ({"type": "i16", "scale": 0.1, "unit": "kW"}, [62], 6200),
        ({"sign": -1}, [500], -500),
        ({"scale": 2, "offset": -100}, [500], 900),
        ({"scale_address": 1}, [2345, 0xFFFF], 234.5),
        ({"scale_address": 1, "scale": 10}, [2345, 1], 234500),
        ({"missing": 0x8000}, [0x8000], math.nan),
        ({"type": "i16", "missing": 0x8000}, [0x8000], math.nan),
        ({"missing": [0x7FFF, 0xFFFF]}, [0xFFFF], math.nan),
        ({"type": "i32", "missing": 0x80000000}, [0x8000, 0], math.nan),
        ({"type": "u32", "missing": 0xFFFF0000, "word_order": "little"}, [0, 0xFFFF], math.nan),
        ({"type": "f32"}, [0x7FC0, 0], math.nan),
        ({"scale": 1000}, [2000], math.nan),
        ({"scale_address": 1}, [2345, 0x8000], math.nan),
    ],
    ids=str,
)
def test_entries(keys, words, expected):
    assert read(entry(**keys), words)["load_power"] == pytest.approx(expected, nan_ok=True)


def test_units_of_temperature():
    text = entry("battery_temperature", scale=0.1, unit="K")
    assert read(text, [2982])["battery_temperature"] == pytest.approx(25.05)
    assert read(entry("battery_temperature", unit="°F"), [77])["battery_temperature"] == pytest.approx(25.0)


def test_the_other_table():
    assert read(entry(table="input"), [1], [2]) == {"load_power": 2}


def test_powers_of_one_channel_are_added_up():
    text = entry("solar_power", address=0, missing=0xFFFF) + entry("solar_power", address=1, missing=0xFFFF)
    assert read(text, [1200, 800])["solar_power"] == 2000
    assert math.isnan(read(text, [1200, 0xFFFF])["solar_power"])


def test_a_sum_of_which_a_part_cannot_be_read_is_missing():
    text = entry("solar_power", address=0) + entry("solar_power", address=50)
    assert math.isnan(read(text, [1200], rounds=2)["solar_power"])


def test_the_sign_of_the_address_turns_powers_and_currents_round():
    text = entry("battery_power") + entry("battery_voltage", address=1) + entry("battery_current", address=2)
    values = read(text, [500, 53, 10], sign=-1)
    assert values == {"battery_power": -500, "battery_voltage": 53, "battery_current": -10}


def test_the_example_on_an_invented_device():
    holding = {
        100: [(-5) & 0xFFFF, 5003, 2301, 0xFFFF],
        110: [0, 23456, 0xFFFF],
        120: [0b1000],
        130: [0, 1000],
        300: list(struct.unpack(">8H", b"INV-0042".ljust(16, b"\0"))),
    }
    inputs = {200: [0x4148, 0, 0x4254, 0, 2982, 87], 210: [1200, 800]}
    plant = Plant({1: holding}, {1: inputs})
    with served(plant):
        link = Link(parse_address(f"modbus-tcp://127.0.0.1:{plant.port}"))
        link.open()
        device, reader = MapDevice(RegisterMap.load(EXAMPLE)), UnitReader(link, 1)
        device.prepare(reader)
        for _ in range(2):
            reading = device.poll(reader)
        link.close()
    assert dict(reading.values) == pytest.approx(
        {
            "generator_power": -500.0,
            "generator_frequency": 50.03,
            "generator_voltage_l1": 230.1,
            "generator_voltage_l2": math.nan,
            "load_power": 2345.6,
            "battery_current": -12.5,
            "battery_voltage": 53.0,
            "battery_temperature": 25.05,
            "battery_soc": 87.0,
            "solar_power": 2000.0,
            "charger_enabled": 1.0,
        },
        nan_ok=True,
    )
    assert reading.device_time == (946_684_800 + 1000) * 10**9
    assert all(count <= 60 for _, _, _, count in plant.asked)
