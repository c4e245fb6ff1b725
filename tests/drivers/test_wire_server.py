"""The simulated plant's Modbus server, asked by real clients."""

import math
import socket
import threading
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymodbus.exceptions import ModbusException
from sunspec2.modbus.client import SunSpecModbusClientDeviceTCP
from wire_help import hut, wire

from drivers.maps.sheet import RegisterMap
from drivers.wire.faults import KINDS, Faults, Order, parse_order
from drivers.wire.plain import CLOCK_AT, UNIT
from drivers.wire.server import WireServer
from recordings.errors import SourceError, UsageError

CONVERTER = {"W": ("converter_ac_power", -1), "DCW": ("converter_dc_power", -1)}
GENERATOR = {
    "W": ("generator_power", 1),
    "Hz": ("generator_frequency", 1),
    "A": ("generator_current", 1),
    "AphA": ("generator_current", 1),
    "PhV": ("generator_voltage", 1),
    "PhVphA": ("generator_voltage", 1),
}
GENERATOR_LEGS = {
    "W": ("generator_power", 1),
    "AphA": ("generator_current_l1", 1),
    "AphB": ("generator_current_l2", 1),
    "PhVphA": ("generator_voltage_l1", 1),
    "PhVphB": ("generator_voltage_l2", 1),
}
BATTERY = {
    "SoC": ("battery_soc", 1),
    "V": ("battery_voltage", 1),
    "A": ("battery_current", -1),
    "W": ("battery_power", -1),
}


def sunspec(port, unit):
    """What pysunspec2's own client reads of a unit: model → its points; a repeated group's points among them."""
    device = SunSpecModbusClientDeviceTCP(slave_id=unit, ipaddr="127.0.0.1", ipport=port, timeout=3)
    device.scan()
    device.close()
    assert [model.error_info for model in device.model_list] == [""] * len(device.model_list)
    found = {}
    for model in device.model_list:
        points = {name: point.cvalue for name, point in model.points.items()}
        for groups in model.groups.values():
            for group in groups if isinstance(groups, list) else [groups]:
                points |= {name: point.cvalue for name, point in group.points.items()}
        found[model.model_id] = points
    return found


def agree(points, expected, reading):
    for point, (channel, sign) in expected.items():
        value = reading.values[channel]
        if math.isnan(value):
            assert points[point] is None, point
        else:
            assert points[point] == pytest.approx(sign * value, abs=1e-9), point


def test_another_sunspec_client_reads_the_plant_as_its_meters_say():
    with wire(hut()) as plant:
        reading = plant.move(150)
        assert reading.values["generator_power"] > 1000
        agree(sunspec(plant.port, 1)[101], CONVERTER, reading)
        agree(sunspec(plant.port, 2)[201], GENERATOR, reading)
        agree(sunspec(plant.port, 3)[201], {"W": ("load_power", 1)}, reading)
        battery = sunspec(plant.port, 5)
        agree(battery[802], BATTERY, reading)
        assert battery[802]["ChaSt"] == 4
        assert battery[802]["WHRtg"] == 10_000
        assert battery[802]["Hb"] == reading.number
        assert battery[1]["Md"] == "battery"
        agree(sunspec(plant.port, 6)[160], {"DCW": ("solar_power", 1)}, reading)
        assert [device.unit for device in plant.served.devices] == [1, 2, 3, 5, 6]


def test_legs_a_grid_solar_on_the_ac_side_and_missing_readings():
    scenario = hut(
        house={"legs": 2, "base_w": [300, 500]},
        grid={"live": True},
        solar={"rated_w": 2000.0, "coupling": "ac"},
        fault=[{"channel": "battery_power", "kind": "missing"}],
    )
    with wire(scenario) as plant:
        reading = plant.move(60)
        agree(sunspec(plant.port, 1)[102], CONVERTER, reading)
        agree(sunspec(plant.port, 2)[202], GENERATOR_LEGS, reading)
        agree(sunspec(plant.port, 4)[202], {"W": ("grid_power", 1)}, reading)
        agree(sunspec(plant.port, 5)[802], BATTERY, reading)
        agree(sunspec(plant.port, 6)[102], {"W": ("solar_ac_power", 1)}, reading)


def test_a_plant_too_large_for_watts_tells_tens_of_watts():
    with wire(hut(generator={"rated_w": 40_000.0}, house={"base_w": [36_000]})) as plant:
        reading = plant.move(200)
        load = sunspec(plant.port, 3)[201]["W"]
        assert reading.values["load_power"] > 33_000
        assert load == pytest.approx(reading.values["load_power"], abs=5)


def plain_values(client, sheet):
    """All readings by the written map, read with one request each for both tables."""
    found = {}
    for entry in sheet.read:
        words = client.read_holding_registers(entry.address, count=2, device_id=UNIT).registers
        assert client.read_input_registers(entry.address, count=2, device_id=UNIT).registers == words
        raw = words[0] << 16 | words[1]
        signed = raw - (1 << 32) if raw >> 31 else raw
        found[entry.channel] = math.nan if raw == entry.missing else signed * entry.scale
    return found


def test_plain_registers_say_by_their_map_what_the_meters_say():
    with wire(hut(fault=[{"channel": "solar_power", "kind": "missing"}])) as plant:
        reading = plant.move(100)
        sheet = RegisterMap.parse(plant.served.plain.map_text())
        client = plant.client()
        assert sheet.device.unit == UNIT
        found = plain_values(client, sheet)
        assert list(found) == list(plant.plant.channels)
        assert found == pytest.approx(reading.values, rel=1e-9, nan_ok=True)
        high, low = client.read_holding_registers(CLOCK_AT, count=2, device_id=UNIT).registers
        assert 0 <= (high << 16 | low) - reading.time // 10**9 <= 60
        client.close()


def test_nothing_can_be_written_and_other_functions_and_units_are_refused():
    with wire(hut()) as plant:
        client = plant.client()
        before = client.read_holding_registers(0, count=40, device_id=UNIT).registers
        answers = [
            client.write_register(10, 1, device_id=UNIT),
            client.write_registers(10, [1, 2], device_id=UNIT),
            client.write_coil(10, True, device_id=UNIT),
            client.mask_write_register(address=10, and_mask=0, or_mask=1, device_id=UNIT),
            client.readwrite_registers(address=10, values=[3], read_address=10, read_count=1, device_id=UNIT),
            client.read_coils(0, count=1, device_id=UNIT),
            client.read_discrete_inputs(0, count=1, device_id=UNIT),
        ]
        assert [answer.exception_code for answer in answers] == [1] * len(answers)
        assert client.read_holding_registers(0, count=2, device_id=77).exception_code == 0x0B
        assert client.read_holding_registers(5000, count=2, device_id=UNIT).exception_code == 2
        after = client.read_holding_registers(0, count=40, device_id=UNIT).registers
        assert after[4:] == before[4:]
        client.close()


def asked(transaction, address, count):
    """A request to read holding registers of the converter."""
    return (
        transaction.to_bytes(2, "big")
        + b"\0\0\0\6\1\3"
        + address.to_bytes(2, "big")
        + count.to_bytes(2, "big")
    )


def test_requests_sent_at_once_are_answered_each_with_its_own():
    with wire(hut()) as plant, socket.create_connection(("127.0.0.1", plant.port), 3) as line:
        for transaction, address in enumerate((40000, 40002, 40004), 7):
            line.sendall(asked(transaction, address, 2))
        answers = b""
        while len(answers) < 3 * 13:
            answers += line.recv(100)
        bodies = {answers[at + 1]: answers[at + 9 : at + 13] for at in range(0, 39, 13)}
        assert bodies == {7: b"SunS", 8: b"\0\1\0\x42", 9: b"Simu"}


class Clock:
    def __init__(self):
        self.seconds = 0.0

    def __call__(self):
        return self.seconds


@pytest.mark.parametrize("kind", ["drop", "exception", "garbage"])
def test_ordered_faults_come_and_go_and_never_make_a_wrong_answer(kind):
    clock = Clock()
    with wire(hut(), f"{kind}=10/60", now=clock) as plant:
        client = plant.client(timeout=0.3)
        good = client.read_holding_registers(40000, count=4, device_id=1).registers
        clock.seconds = 55.0
        try:
            answer = client.read_holding_registers(40000, count=4, device_id=1)
            assert kind == "exception"
            assert answer.exception_code == 4
        except ModbusException:
            assert kind != "exception"
        client.close()
        clock.seconds = 65.0
        client = plant.client()
        assert client.read_holding_registers(40000, count=4, device_id=1).registers == good
        client.close()


def test_slow_answers_are_late_and_right():
    with wire(hut(), "slow") as plant:
        client = plant.client(timeout=0.2)
        with pytest.raises(ModbusException):
            client.read_holding_registers(40000, count=2, device_id=1)
        client.close()
        client = plant.client(timeout=3.0)
        assert client.read_holding_registers(40000, count=2, device_id=1).registers == [0x5375, 0x6E53]
        client.close()


def test_frozen_devices_repeat_themselves_with_their_clock():
    clock = Clock()
    with wire(hut(), "freeze=10/20", now=clock) as plant:
        client = plant.client()

        def words():
            return client.read_holding_registers(0, count=30, device_id=UNIT).registers

        plant.move(10)
        before = words()
        clock.seconds = 15.0
        plant.move(50)
        assert words() == before
        clock.seconds = 25.0
        plant.move(1)
        assert words()[1] == 61
        client.close()


def test_when_it_stops_nothing_is_left():
    before = set(threading.enumerate())
    with wire(hut()) as plant:
        client, port = plant.client(), plant.port
        assert client.read_holding_registers(40000, count=2, device_id=1).registers
    with pytest.raises(ModbusException):
        client.read_holding_registers(40000, count=2, device_id=1)
    client.close()
    with pytest.raises(OSError, match="refused"):
        socket.create_connection(("127.0.0.1", port), 1)
    assert set(threading.enumerate()) <= before


def test_a_port_in_use_is_refused_with_the_reason():
    with wire(hut()) as plant, pytest.raises(SourceError, match="can't listen: Address already in use"):
        WireServer("127.0.0.1", plant.port, plant.served.units, Faults([], time.monotonic)).start()


@given(st.sampled_from(KINDS), st.integers(1, 100), st.integers(0, 1000), st.integers(0, 10_000))
def test_an_order_holds_for_its_share_of_the_time(kind, lasts, more, at):
    order = parse_order(f"{kind}={lasts}/{lasts + more}")
    assert order == Order(kind, lasts, lasts + more)
    held = sum(order.holds(at + second) for second in range(lasts + more))
    assert held == lasts


@pytest.mark.parametrize("text", ["fast", "drop=", "drop=0", "drop=5/2", "slow=x", ""])
def test_orders_that_cannot_be_are_refused(text):
    with pytest.raises(UsageError):
        parse_order(text)
