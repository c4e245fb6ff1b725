"""Faults and speed as a person orders them of a simulated plant, seen from the other end of the wire."""

import re
import signal
from contextlib import contextmanager

import pytest
from record_help import start

from desktop.app import main
from drivers.maps.device import MapDevice
from drivers.maps.sheet import RegisterMap
from drivers.modbus.address import parse_address
from drivers.modbus.errors import ReadFaultError
from drivers.modbus.link import Link
from drivers.modbus.reading import UnitReader
from drivers.wire.faults import KINDS
from drivers.wire.plain import UNIT


@contextmanager
def plant(folder, *options):
    """A reader of the plain registers of a plant in a process of its own, and their map."""
    process = start(
        "simulate", "healthy-charge", "--modbus", "127.0.0.1:0", "--map", folder / "m.toml", *options
    )
    try:
        address = re.search(r"\S+://\S+", process.stdout.readline())[0]
        link = Link(parse_address(address))
        link.open()
        try:
            yield UnitReader(link, UNIT, timeout_s=0.5, retries=0), RegisterMap.load(folder / "m.toml")
        finally:
            link.close()
    finally:
        process.send_signal(signal.SIGINT)
        assert process.wait(10) == 0
        process.communicate()


@pytest.mark.parametrize(
    ("order", "says"),
    [
        ("exception", "the device failed"),
        ("drop", "the connection was closed"),
        ("garbage", "no answer"),
        ("slow", "no answer within 0.5 s"),
    ],
)
def test_an_ordered_fault_is_met_on_the_wire(order, says, tmp_path):
    with plant(tmp_path, "--fault", order) as (reader, _), pytest.raises(ReadFaultError, match=says):
        reader.words("holding", 0, 4)


def test_a_plant_runs_as_many_times_faster_as_is_asked(tmp_path):
    """By the plant's own clock and its readings' count, between two polls."""
    with plant(tmp_path, "--speed", "500") as (reader, sheet):
        device = MapDevice(sheet)
        device.prepare(reader)
        first = device.poll(reader)
        read_at, minute = max(first.read_at.values()), 60 * 10**9
        later = first
        while later.device_time - first.device_time < 5 * minute:
            later = device.poll(reader)
        passed_s = max(later.read_at.values()) - read_at
    # Its clock has whole seconds, and it may be held up, but it never hurries ahead.
    assert (later.device_time - first.device_time) / 1e9 <= 500 * passed_s + 500 * 0.2 + 2


def test_the_help_names_every_fault(capsys):
    with pytest.raises(SystemExit):
        main(["simulate", "--help"])
    said = capsys.readouterr().out
    assert all(kind in said for kind in KINDS)
    assert "--speed" in said
