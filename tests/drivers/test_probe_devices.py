"""Finding out what is there: on real servers, self-describing, mapped and unknown."""

import json
import struct

import pytest
from joined_ports import joined_ports
from leaks import nothing_left_behind
from modbus_servers import Plant, served, served_on_port
from raw_peers import peer
from sunspec_images import battery, chain, common, five_models, inverter, meter

from drivers.maps.sheet import RegisterMap
from drivers.probe.probing import USUAL_UNITS, probe_modbus
from recordings.errors import SourceError

MAP = """
[device]
word_order = "big"

[[read]]
channel = "load_power"
address = 10

[[read]]
channel = "battery_voltage"
address = 11

[[read]]
channel = "battery_current"
address = 12
type = "f32"

[[read]]
channel = "generator_power"
address = 14
missing = 0x8000

[[read]]
channel = "fuel_level"
address = 400

[[text]]
name = "serial number"
address = 20
words = 4
"""


def probe(plant, options="", **more):
    with nothing_left_behind(), served(plant):
        return probe_modbus(f"modbus-tcp://127.0.0.1:{plant.port}{options}", **more)


def test_a_device_that_describes_itself():
    report = probe(Plant({1: {40000: five_models()}}), "?unit=1")
    (device,) = report.devices
    assert device.unit == 1
    assert device.identity == "Invented Maker, Model One, 1.0, A-1"
    assert [model.number for model in device.models] == [1, 103, 160, 203, 802]
    assert device.role_guess == "converter"
    assert "battery" in device.why
    assert device.readings == pytest.approx(
        {
            "converter_ac_power": -4523,
            "solar_power": 2000,
            "battery_voltage": 53.12,
            "battery_current": 45.3,
            "battery_power": 2406,
            "battery_soc": 87.3,
        }
    )
    watts = next(value for value in device.models[1].values if value.name == "W")
    assert (watts.raw, watts.value, watts.unit, watts.verdict) == ("11AB", 4523, "W", "plausible")
    assert "not read in this role: model 203" in device.notes
    assert 'role = "converter"    # guessed' in device.suggestion


def test_usual_units_are_tried_and_the_rest_of_the_network_is_left_alone():
    units = {
        1: {40000: chain(common("a"), inverter())},
        3: {40000: chain(common("c"), meter())},
        126: {40000: chain(common("d"), battery())},
    }
    plant = Plant(units)
    report = probe(plant)
    assert [(device.unit, device.role_guess) for device in report.devices] == [
        (1, "converter"),
        (3, None),
        (126, "battery"),
    ]
    assert {unit for unit, *_ in plant.asked} == set(units)
    assert '# role = "generator", "grid" or "load"' in report.devices[1].suggestion


def test_a_device_that_answers_to_every_unit_is_told_once():
    plant = Plant({0: {40000: chain(common("only"), inverter())}})
    report = probe(plant)
    assert [device.unit for device in report.devices] == [1]
    assert len(report.notes) == len(USUAL_UNITS) - 1
    assert all("same device as unit 1" in note for note in report.notes)


def test_a_map_is_checked_side_by_side(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)
    serial_number = struct.unpack(">4H", b"INV-0042")
    plant = Plant({1: {10: [1000, 5312, 0, 0x4148, 0x8000], 20: list(serial_number)}})
    (device,) = probe(plant, "?unit=1&map=m.toml", folder=tmp_path).devices
    seen = {value.name: value for value in device.values}
    assert (seen["load_power"].raw, seen["load_power"].value, seen["load_power"].verdict) == (
        "03E8",
        1000,
        "plausible",
    )
    assert seen["battery_voltage"].value == 5312
    assert seen["battery_voltage"].verdict == "implausible"
    assert "another scale" in seen["battery_voltage"].hint
    assert seen["generator_power"].verdict == "no reading"
    assert seen["fuel_level"].verdict == "not read"
    assert seen["fuel_level"].hint == "the device has no such register"
    assert seen["serial number"].value == "INV-0042"
    assert device.readings["load_power"] == 1000
    assert 'map=m.toml"' in device.suggestion


def test_a_wrong_word_order_is_suspected(tmp_path):
    (tmp_path / "m.toml").write_text(
        '[[read]]\nchannel = "load_power"\naddress = 0\ntype = "i32"\nunit = "W"\n'
    )
    (device,) = probe(Plant({1: {0: [1200, 0]}}), "?unit=1&map=m.toml", folder=tmp_path).devices
    assert device.values[0].verdict == "implausible"
    assert "word_order" in device.values[0].hint


def test_a_smaller_read_limit_is_found_and_told(tmp_path):
    (tmp_path / "m.toml").write_text(MAP.replace("[device]", "[device]\nmax_registers = 100"))
    plant = Plant({1: {0: [0] * 500}})
    plant.refuse = lambda unit, function, address, count: 3 if count > 4 else None
    (device,) = probe(plant, "?unit=1&map=m.toml", folder=tmp_path).devices
    assert device.most_registers == 4
    assert any("at most 4 registers" in note for note in device.notes)


def test_an_unknown_device_gives_a_map_to_start_from():
    plant = Plant({1: {0: [0, 2301, 4998, 0, 0x4348, 0, 65500], 40000: [1, 2, 3]}})
    plant.refuse = lambda unit, function, address, count: 1 if function == 4 else None
    with served(plant):
        plant.registers[1].update(dict.fromkeys(range(7, 20), 0))
        report = probe_modbus(f"modbus-tcp://127.0.0.1:{plant.port}?unit=1")
    (device,) = report.devices
    seen = {value.address: value for value in device.values}
    assert set(seen) == {1, 2, 4, 6}
    assert "0.1 = 230.1 V of a 230 V leg" in seen[1].hint
    assert "0.01 = 49.98 Hz" in seen[2].hint
    assert "f32 200" in seen[4].hint
    assert "i16 -36" in seen[6].hint
    assert device.role_guess is None
    uncommented = device.suggestion.replace("# [[read]]", "[[read]]").replace("# address", "address")
    named = uncommented.replace('# channel = ""', 'channel = "load_power"')
    assert len(RegisterMap.parse(named).read) == 4


def test_words_that_change_while_they_are_looked_at_are_marked():
    plant = Plant({1: {0: [7] * 20}})

    def counting(unit, function, address, count):
        plant.registers[1][3] += 1
        return 1 if function == 4 else None

    plant.refuse = counting
    (device,) = probe(plant, "?unit=1").devices
    assert [value.address for value in device.values if "changes" in value.hint] == [3]


def test_rtu_on_a_serial_port():
    with joined_ports() as (near, far), served_on_port(Plant({2: {40000: chain(common(), battery())}}), far):
        report = probe_modbus(f"modbus-rtu://{near}?baud=115200&unit=2")
    assert [device.role_guess for device in report.devices] == ["battery"]
    assert report.devices[0].source == f"modbus-rtu://{near}?unit=2&baud=115200"


def test_all_of_it_can_be_told_as_json(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)
    report = probe(Plant({1: {40000: five_models()}}), "?unit=1")
    told = json.loads(json.dumps(report.as_json(), allow_nan=False))
    assert set(told["devices"][0]) >= {"source", "unit", "models", "readings", "role_guess"}
    assert told["devices"][0]["models"] == [1, 103, 160, 203, 802]


@pytest.mark.parametrize("options", ["?unit=1&timeout=0.05", "?timeout=0.02"])
def test_nothing_that_answers_is_told_in_one_line(options):
    with nothing_left_behind(), peer(lambda *_: True) as silent, pytest.raises(SourceError) as told:
        probe_modbus(f"modbus-tcp://127.0.0.1:{silent.port}{options}")
    assert "\n" not in str(told.value)
    assert str(silent.port) in str(told.value)


def test_a_device_that_hangs_up_on_wrong_units():
    """Some close the connection at a unit id that isn't theirs; the others are looked for all the same."""
    image = struct.pack(">200H", *(chain(common(), battery()) + [0] * 200)[:200])

    def answer(connection, request):
        number, _, _, unit, function, address, count = struct.unpack(">HHHBBHH", request)
        if unit != 3:
            return False
        data = image[2 * (address - 40000) :][: 2 * count]
        if address < 40000 or len(data) < 2 * count:
            connection.sendall(struct.pack(">HHHBBB", number, 0, 3, unit, function | 0x80, 2))
        else:
            connection.sendall(
                struct.pack(">HHHBBB", number, 0, 3 + len(data), unit, function, len(data)) + data
            )
        return True

    with nothing_left_behind(), peer(answer) as other:
        report = probe_modbus(f"modbus-tcp://127.0.0.1:{other.port}")
    assert [device.unit for device in report.devices] == [3]


def test_what_is_tried_is_told_meanwhile():
    tried = []
    probe(Plant({1: {40000: five_models()}}), "?unit=1", progress=tried.append)
    assert tried == ["unit 1", "unit 1: reading"]
