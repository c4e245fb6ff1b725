"""One look at one address, as a dialog takes it, at real peers; and what it writes into a site sheet."""

import math
import threading
import time
import tomllib

import pytest
from joined_ports import joined_ports
from leaks import nothing_left_behind
from modbus_servers import Plant, served, served_on_port
from raw_peers import peer
from serial_help import Line
from sunspec_images import battery, chain, common, five_models, inverter, meter
from test_source_opening import Device

from desktop.site import Site
from drivers.opening import open_source
from drivers.probe.devices_sheet import device_entries, devices_sheet
from drivers.probe.looking import look_at
from drivers.serial_lines.ports import serial_ports
from recordings.errors import SheetError

LINES = '[line]\nformat = "pairs"\n[[field]]\nchannel = "load_power"\nname = "load"\n'
MAP = '[[read]]\nchannel = "load_power"\naddress = 10\n[[read]]\nchannel = "battery_voltage"\naddress = 11\n'


def at(plant, options=""):
    return f"modbus-tcp://127.0.0.1:{plant.port}{options}"


def looked(plant, options="", **more):
    with nothing_left_behind(), served(plant):
        return look_at(at(plant, options), **more)


def test_a_device_that_describes_itself():
    found = looked(Plant({1: {40000: five_models()}}), "?unit=1")
    (device,) = found.devices
    assert (found.problem, found.stopped) == ("", False)
    assert (device.unit, device.models, device.map) == (1, (1, 103, 160, 203, 802), "")
    assert device.identity.startswith("Invented Maker")
    assert (device.role, device.problem) == ("converter", "")
    assert "battery" in device.why
    power = next(each for each in device.readings if each.channel == "battery_power")
    assert (power.value, power.unit, power.verdict) == (2406, "W", "plausible")
    assert not any(math.isnan(each.value) for each in device.readings)


def test_a_meter_asks_what_it_is_and_shows_what_it_reads():
    found = looked(Plant({1: {40000: chain(common(), meter())}}), "?unit=1")
    (device,) = found.devices
    assert device.role is None
    assert set(device.roles) == {"generator", "grid", "load", "solar", "converter"}
    assert device.problem == "what it is must be said: a meter can't tell what it measures"
    assert {(each.name, each.channel, each.value, each.unit) for each in device.readings} >= {
        ("W", "", 5200, "W"),
        ("Hz", "", 49.87, "Hz"),
    }
    again = looked(Plant({1: {40000: chain(common(), meter())}}), "?unit=1&role=generator")
    assert again.devices[0].problem == ""
    assert {each.channel for each in again.devices[0].readings} == {"generator_power", "generator_frequency"}


def test_all_units_of_an_address_are_guessed_at_together():
    units = {
        1: {40000: chain(common("a"), inverter())},
        3: {40000: chain(common("c"), meter())},
        126: {40000: chain(common("d"), battery())},
    }
    tried = []
    found = looked(Plant(units), progress=tried.append)
    assert [(device.unit, device.role, device.roles) for device in found.devices] == [
        (1, "converter", ("converter", "solar", "generator", "grid", "load")),
        (3, None, ("generator", "grid", "load", "solar", "converter")),
        (126, "battery", ("battery",)),
    ]
    assert "unit 126" in tried


def test_a_map_gives_channels_and_plausibility(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)
    found = looked(Plant({1: {10: [900, 5312]}}), "?unit=1&map=m.toml", folder=tmp_path)
    (device,) = found.devices
    assert device.map == str(tmp_path / "m.toml")
    assert {each.channel: each.verdict for each in device.readings} == {
        "load_power": "plausible",
        "battery_voltage": "no reading",
    }


def test_a_device_that_does_not_describe_itself_needs_a_map():
    plant = Plant({1: {0: [7] * 20}})
    (device,) = looked(plant, "?unit=1").devices
    assert device.problem == "it doesn't describe itself, and needs a register map"
    assert "[[read]]" in device.suggestion


def test_rtu_on_a_serial_port():
    image = chain(common(), battery())
    with joined_ports() as (near, far), served_on_port(Plant({2: {40000: image}}), far):
        found = look_at(f"modbus-rtu://{near}?baud=115200&unit=2")
    assert [device.role for device in found.devices] == ["battery"]


def listened(options="", **more):
    """What is found on a line that prints `load=1250` over and over."""
    line, over = Line(), threading.Event()

    def talk():
        while not over.wait(0.001):
            line.send(b"load=1250\n")

    talking = threading.Thread(target=talk)
    talking.start()
    try:
        return look_at(f"serial://{line.name}{options}", **more)
    finally:
        over.set()
        talking.join()
        line.close()


def test_a_line_that_prints_values(tmp_path):
    (tmp_path / "l.toml").write_text(LINES)
    bare = listened().devices[0]
    assert bare.problem == "it doesn't describe itself, and needs a map of its lines"
    assert 'name = "load"' in bare.suggestion
    mapped = listened("?map=l.toml", folder=tmp_path).devices[0]
    assert [(each.channel, each.value) for each in mapped.readings] == [("load_power", 1250)]
    assert mapped.problem == ""


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("modbus-tcp://127.0.0.1:1", "nothing listens at this address"),
        ("modbus-tcp://127.0.0.1:1?unti=1", "nearest known is unit"),
        ("modbus-tcp://127.0.0.1:1?map=none.toml", "the working directory"),
        ("modbus-rtu:///dev/none", "can't be opened"),
        ("serial:///dev/none", "can't be opened"),
        ("serial:///dev/none?baud=fast", "a number above 0"),
        ("serial://[", "can't be read as an address"),
        ("modbus-tcp://" + "a" * 80, "host name isn't known"),
        ("gopher://x", "kind of address"),
        ("", "kind of address"),
    ],
)
def test_what_cannot_be_looked_at_is_a_problem_in_one_line(address, says):
    with nothing_left_behind():
        found = look_at(address)
    assert says in found.problem
    assert "\n" not in found.problem
    assert found.devices == ()


def full_line(connection, request):
    return True


@pytest.mark.parametrize("kind", ["silent", "listening"])
def test_a_look_can_be_called_off_at_any_moment(kind):
    line = Line()
    with nothing_left_behind(), peer(full_line) as silent:
        address = {
            "silent": f"modbus-tcp://127.0.0.1:{silent.port}?unit=1&timeout=60",
            "listening": f"serial://{line.name}",
        }[kind]
        stop, box, busy = threading.Event(), [], threading.Event()
        looking = threading.Thread(
            target=lambda: box.append(look_at(address, lambda _: busy.set(), stop)), daemon=True
        )
        looking.start()
        assert busy.wait(5)
        time.sleep(0.05)
        stop.set()
        looking.join(1.0)
        assert not looking.is_alive()
        assert box[0].stopped
        assert (box[0].devices, box[0].problem) == ((), "")
    line.close()


def three_units(port):
    """What a look at a meter, a battery and an inverter brings."""
    units = {
        1: {40000: chain(common("a"), inverter())},
        2: {40000: chain(common("b"), meter())},
        3: {40000: chain(common("c"), battery())},
    }
    with served(Plant(units), port=port) as plant:
        return plant, look_at(at(plant, "?unit=1,2,3"))


SHEET = """# Our hut.
[site]
name = "Hut"   # as on the map

[[device]]
source = "modbus-tcp://10.0.0.9?unit=7"
role = "load"

# Off the plate.
[battery]
capacity_kwh = 10.0
"""


def test_devices_go_into_a_sheet_that_stays_as_it_is_written():
    plant, found = three_units(0)
    one, two, three = (device.source for device in found.devices)
    chosen = {one: "converter", two: "generator"}
    written = devices_sheet(found, chosen, SHEET)
    assert written == SHEET.replace(
        'role = "load"\n',
        f'role = "load"\n\n[[device]]\nsource = "{one}"\nrole = "converter"\n'
        f'\n[[device]]\nsource = "{two}"\nrole = "generator"\n',
    )
    site = Site.parse(written)
    assert [(each.source, each.role) for each in site.device] == [
        ("modbus-tcp://10.0.0.9?unit=7", "load"),
        (one, "converter"),
        (two, "generator"),
    ]
    # What was found can be opened by what was written.
    with served(plant, port=plant.port):
        live = open_source(site.device[1:], interval_s=0.05)
        frame = next(live.frames())
        live.stop()
    assert set(frame.columns) >= {"generator_power", "converter_ac_power"}
    assert devices_sheet(found, chosen, written) == written
    changed = devices_sheet(found, {two: "load", three: None}, written)
    assert changed.startswith(SHEET.split("# Off")[0])
    assert changed.endswith("\n\n# Off the plate.\n[battery]\ncapacity_kwh = 10.0\n")
    assert [(each.source, each.role) for each in Site.parse(changed).device][1:] == [
        (one, "converter"),
        (two, "load"),
        (three, None),
    ]
    assert three in changed


@pytest.mark.parametrize(
    "text",
    [
        "",
        '[site]\nname = "Hut"',
        SHEET.replace("\n", "\r\n"),
        'device = [{ source = "modbus-tcp://10.0.0.9" }]\n[battery]\nreserve_soc = 30.0\n',
        '[site]\nname = """a\n[[device]]\nb\n[c]"""',
        '[[device]]\nsource = "modbus-tcp://10.0.0.9"\n[site]\nname = "a"\n[[device]]\nsource = "serial://COM3"\n',
    ],
)
def test_however_a_sheet_is_written_its_other_keys_keep_their_values(text):
    _, found = three_units(0)
    source = found.devices[2].source
    written = devices_sheet(found, {source: "battery"}, text)
    before, after = tomllib.loads(text), tomllib.loads(written)
    assert after.pop("device") == [*before.pop("device", []), {"source": source, "role": "battery"}]
    assert after == before
    assert written.count("\r\n") in (0, written.count("\n"))


def test_a_sheet_that_cannot_take_them_is_refused():
    plant, found = three_units(0)
    chosen = {found.devices[0].source: "converter"}
    with pytest.raises(SheetError, match="no valid TOML"):
        devices_sheet(found, chosen, "[site\n")
    with pytest.raises(SheetError, match="one entry for several units"):
        devices_sheet(found, chosen, f'[[device]]\nsource = "{at(plant)}?unit=1,2"\n')


def test_a_maps_path_counts_from_the_sheet_that_names_it(tmp_path, monkeypatch):
    (tmp_path / "maps").mkdir()
    (tmp_path / "maps" / "m.toml").write_text(MAP)
    monkeypatch.chdir(tmp_path / "maps")
    plant = Plant({1: {10: [900, 53]}})
    found = looked(plant, "?unit=1&map=m.toml")
    source = found.devices[0].source
    (entry,) = device_entries(found, {source: "load"}, tmp_path)
    assert entry == {"source": at(plant, "?unit=1"), "role": "load", "map": "maps/m.toml"}
    (elsewhere,) = device_entries(found, {source: None}, tmp_path / "sheets")
    assert elsewhere["map"] == str(tmp_path / "maps" / "m.toml")
    live = open_source([Device(**entry)], folder=tmp_path)
    assert live.channels == ("load_power", "battery_voltage")


@pytest.mark.parametrize(
    ("folder", "says"), [(True, "the site sheet's folder, "), (False, "the working directory, ")]
)
def test_where_a_map_was_looked_for_is_told(folder, says, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for address in ("modbus-tcp://h", "serial://COM3"):
        with pytest.raises(SheetError) as refused:
            open_source([Device(address, map="none.toml")], folder=tmp_path if folder else None)
        assert f"none.toml: there is no such map. Its path counts from {says}{tmp_path}" in str(refused.value)


def test_serial_ports_are_listed_as_addresses_take_them():
    ports = serial_ports()
    assert [port.device for port in ports] == sorted({port.device for port in ports})
    for port in ports:
        assert open_source(port.modbus_address).name == port.modbus_address
