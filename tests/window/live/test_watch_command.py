"""`headrace watch`: in a window, and where no window can be shown."""

import os
import signal
import subprocess
import sys
import threading

import pytest
from PySide6.QtCore import QSettings
from wire_plant import WirePlant

from desktop.app import main
from desktop.window.live.wish import Wish
from desktop.window.run import run_watch
from recordings.tables import read_table


@pytest.fixture
def plant():
    with WirePlant() as plant:
        yield plant


@pytest.fixture
def own_settings(tmp_path, qapp):
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path))


def test_without_a_screen_it_says_what_goes_on_and_records(plant, tmp_path, capsys):
    path = tmp_path / "kept.csv"
    arguments = ["watch", str(plant.sheet(tmp_path)), "--for", "3s", "--interval", "0.2", "--to", str(path)]
    assert main(arguments) == 0
    told = capsys.readouterr().out.splitlines()
    assert "No window can be shown here" in told[0]
    assert "headrace record" in told[1]
    assert any("carries" in line for line in told[2:])
    assert told[-1].startswith(f"{path}: ")
    assert len(read_table(path)) > 5


def test_ctrl_c_ends_it_cleanly(plant, tmp_path):
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "LC_ALL": "C.UTF-8"}
    command = [sys.executable, "-m", "desktop.app", "watch", str(plant.sheet(tmp_path)), "--interval", "0.2"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
    ) as run:
        line = ""
        while "carries" not in line:
            line = run.stdout.readline()
            assert line or run.poll() is None
        run.send_signal(signal.SIGINT)
        _, errors = run.communicate(timeout=20)
    assert run.returncode == 0
    assert errors == ""


def test_what_is_no_source_is_told_in_one_line(capsys, tmp_path):
    assert main(["watch", "modbus-tcp://barn?nuit=1"]) == 2
    assert main(["watch", str(tmp_path / "none.csv")]) == 2
    assert main(["watch", "modbus-tcp://barn", "--for", "soon"]) == 2
    assert main(["watch", "modbus-tcp://barn", "--interval", "0"]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 4
    assert all(line.startswith("headrace: ") for line in lines)
    assert "nuit" in lines[0]


def test_the_window_ends_by_itself_when_its_time_is_over(own_settings, plant, tmp_path):
    path = tmp_path / "kept.csv"
    wish = Wish(str(plant.sheet(tmp_path)), to=path, interval_s=0.2)
    assert run_watch(wish, theme="dark", ends_after_s=3.0) == 0
    assert len(read_table(path)) > 5
    assert not [each for each in threading.enumerate() if each.name.startswith(("watching", "reader of"))]
