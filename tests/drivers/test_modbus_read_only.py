"""The promise that nothing is ever written: every byte that any command sends is looked at on the wire."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest
from modbus_servers import Plant, served
from raw_peers import function_codes, proxy
from source_help import rows, running
from sunspec_images import five_models

from drivers.opening import open_source
from drivers.probe.looking import look_at

TOP = Path(__file__).resolve().parents[2]
READS = {3, 4}
MAP = """
[[read]]
channel = "load_power"
address = 10
[[read]]
channel = "charger_enabled"
address = 3
table = "input"
type = "bit"
bit = 2
"""


def headrace(*arguments, cwd):
    return subprocess.run(
        [sys.executable, "-m", "desktop.app", *map(str, arguments)],
        check=False,
        capture_output=True,
        text=True,
        cwd=cwd,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen", "PYTHONPATH": str(TOP)},
        timeout=60,
    )


@pytest.fixture
def watched(tmp_path):
    (tmp_path / "m.toml").write_text(MAP)
    plant = Plant({1: {0: list(range(50)), 40000: five_models()}}, {1: {0: list(range(50))}})
    with served(plant), proxy(plant.port) as (port, sent):
        yield port, sent, tmp_path


@pytest.mark.parametrize("options", ["unit=1", "unit=1&map=m.toml", "unit=1,2,9", "unit=1&role=load"])
def test_live_sources_only_read(watched, options):
    port, sent, folder = watched
    address = f"modbus-tcp://127.0.0.1:{port}?{options}&interval=0.05&timeout=0.1"
    with running(open_source(address, folder=folder)) as reader:
        rows(reader, 3)
    codes = function_codes(sent)
    assert len(codes) >= 3
    assert set(codes) <= READS


@pytest.mark.parametrize(
    "arguments",
    [
        ("probe", "modbus-tcp://127.0.0.1:{port}"),
        ("probe", "modbus-tcp://127.0.0.1:{port}?unit=1", "--json"),
        ("probe", "modbus-tcp://127.0.0.1:{port}?unit=1&map=m.toml"),
        (
            "record",
            "modbus-tcp://127.0.0.1:{port}?unit=1",
            "--to",
            "r.csv",
            "--for",
            "1",
            "--interval",
            "0.2",
        ),
        ("record", "modbus-tcp://127.0.0.1:{port}?unit=1&map=m.toml", "--to", "r.csv", "--for", "1"),
    ],
    ids=["probe", "probe one unit", "probe with a map", "record", "record with a map"],
)
def test_commands_only_read(watched, arguments):
    port, sent, folder = watched
    done = headrace(*(each.format(port=port) for each in arguments), cwd=folder)
    assert done.returncode == 0, done.stderr
    codes = function_codes(sent)
    assert len(codes) >= 3
    assert set(codes) <= READS


@pytest.mark.parametrize("options", ["", "?unit=1", "?unit=1&role=load", "?unit=1&map=m.toml"])
def test_looking_only_reads(watched, options):
    port, sent, folder = watched
    assert look_at(f"modbus-tcp://127.0.0.1:{port}{options}", folder=folder).devices
    assert set(function_codes(sent)) <= READS


def test_the_proxy_would_see_a_write(watched):
    """The test of the test: a writing client is caught."""
    from pymodbus.client import ModbusTcpClient

    port, sent, _ = watched
    client = ModbusTcpClient("127.0.0.1", port=port)
    client.connect()
    client.write_register(0, 1, device_id=1)
    client.close()
    assert set(function_codes(sent)) == {6}


def test_only_one_place_speaks_through_the_library_and_names_no_write():
    """The client side of pymodbus is imported by the link's two modules alone."""
    importing = set()
    for path in [*(TOP / "drivers").rglob("*.py"), *(TOP / "desktop").rglob("*.py")]:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("pymodbus.client"):
                importing.add(path.relative_to(TOP).as_posix())
            if isinstance(node, ast.Import) and any(name.name.startswith("pymodbus") for name in node.names):
                importing.add(path.relative_to(TOP).as_posix())
            if path.parent.name == "modbus" and isinstance(node, ast.Attribute):
                assert not node.attr.startswith(("write_", "mask_", "readwrite_"))
    assert importing == {"drivers/modbus/clients.py"}
