"""`headrace probe` as a person starts it."""

import json
import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from modbus_servers import Plant, served
from serial_help import Line
from sunspec_images import chain, common, five_models, meter

TOP = Path(__file__).resolve().parents[2]


def headrace(*arguments, cwd=None):
    return subprocess.run(
        [sys.executable, "-m", "desktop.app", *map(str, arguments)],
        check=False,
        capture_output=True,
        text=True,
        cwd=cwd,
        env={**os.environ, "PYTHONUTF8": "1", "PYTHONPATH": str(TOP)},
        timeout=60,
    )


def test_text_for_people():
    with served(Plant({1: {40000: five_models()}})) as plant:
        done = headrace("probe", f"modbus-tcp://127.0.0.1:{plant.port}?unit=1")
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    for said in ("Invented Maker", "Model 802 battery", "53.12 V", "Role: converter, a guess", "[[device]]"):
        assert said in done.stdout


def test_json():
    with served(Plant({1: {40000: five_models()}})) as plant:
        done = headrace("probe", f"modbus-tcp://127.0.0.1:{plant.port}?unit=1", "--json")
    (device,) = json.loads(done.stdout)["devices"]
    assert device["unit"] == 1
    assert device["readings"]["battery_soc"] == 87.3
    assert device["role_guess"] == "converter"


def test_the_devices_of_a_site_sheet(tmp_path):
    (tmp_path / "m.toml").write_text('[[read]]\nchannel = "load_power"\naddress = 10\n')
    plant = Plant({1: {40000: chain(common(), meter())}, 2: {10: [900]}})
    with served(plant):
        line = f"modbus-tcp://127.0.0.1:{plant.port}"
        (tmp_path / "site.toml").write_text(
            f'[[device]]\nsource = "{line}?unit=1"\nrole = "generator"\n'
            f'[[device]]\nsource = "{line}?unit=2"\nmap = "m.toml"\n'
        )
        done = headrace("probe", "site.toml", "--json", cwd=tmp_path)
    devices = json.loads(done.stdout)["devices"]
    assert devices[0]["readings"]["generator_power"] == 5200
    assert devices[1]["readings"] == {"load_power": 900}


def test_a_serial_line_shows_its_lines_and_a_map_to_start_from(tmp_path):
    line, stopped = Line(), threading.Event()

    def print_on():
        while not stopped.wait(0.02):
            line.send(b"load=1.5 soc=63\r\n")

    printing = threading.Thread(target=print_on, daemon=True)
    printing.start()
    try:
        from drivers.probe.lines import probe_line

        (device,) = probe_line(f"serial://{line.name}", listen_s=0.5).devices
        assert device.values[-1].value == "load=1.5 soc=63"
        assert 'format = "pairs"' in device.suggestion
        assert 'name = "soc"' in device.suggestion
        (tmp_path / "l.toml").write_text(
            '[line]\nformat = "pairs"\n[[field]]\nchannel = "load_power"\nname = "load"\nunit = "kW"\n'
        )
        (device,) = probe_line(f"serial://{line.name}?map=l.toml", folder=tmp_path, listen_s=0.5).devices
        assert device.readings == {"load_power": 1500}
    finally:
        stopped.set()
        printing.join()
        line.close()


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("probe",), "SOURCE"),
        (("probe", "none.csv"), "modbus-tcp://HOST"),
        (("probe", "none.toml"), "none.toml"),
        (("probe", "empty.toml"), "[[device]]"),
        (("probe", "modbus-tcp://127.0.0.1:1"), "nothing listens"),
        (("probe", "modbus-tcp://h?unti=1"), "unit"),
        (("probe", "serial:///dev/no-such-port"), "/dev/no-such-port"),
        (("probe", "modbus-rtu:///dev/no-such-port"), "/dev/no-such-port"),
    ],
)
def test_what_cannot_be_probed_is_refused_in_one_line_with_status_2(arguments, says, tmp_path):
    (tmp_path / "empty.toml").write_text("")
    done = headrace(*arguments, cwd=tmp_path)
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    (line,) = done.stderr.splitlines()
    assert says in line
