"""The commands as a person starts them: real processes, real files, one line for every error."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

DEMO = Path(__file__).resolve().parents[2] / "recordings" / "demo"


def headrace(*arguments, cwd=None, **environment):
    command = [sys.executable, "-m", "desktop.app", *map(str, arguments)]
    variables = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "PYTHONUTF8": "1", **environment}
    return subprocess.run(
        command, check=False, capture_output=True, text=True, cwd=cwd, env=variables, timeout=120
    )


def demos():
    return sorted(path for path in DEMO.glob("*.csv"))


def refused(done):
    """The one line of an error."""
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    lines = done.stderr.splitlines()
    assert len(lines) == 1, done.stderr
    assert lines[0].startswith("headrace: ")
    return lines[0]


def test_help_names_every_command_and_the_caution():
    done = headrace("--help")
    assert done.returncode == 0
    assert {"open", "review", "simulate"} <= set(re.findall(r"^    (\w+)", done.stdout, re.MULTILINE))
    assert "never writes to a device" in " ".join(done.stdout.split())


def test_version():
    assert re.fullmatch(r"headrace \d+\.\d+\.\d+\n", headrace("--version").stdout)


def test_review_prints_text_for_people():
    done = headrace("review", demos()[0])
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert "kWh" in done.stdout


def test_review_prints_nothing_but_json_to_standard_output_when_asked_to():
    done = headrace("review", demos()[0], "--json", "-")
    found = json.loads(done.stdout)
    assert set(found) >= {"recording", "site", "balance", "energy_kwh", "sessions", "findings"}


def test_review_writes_json_and_picture_to_files(tmp_path):
    done = headrace(
        "review", demos()[0], "--json", "r.json", "--png", "r.png", "--size", "1280x720", cwd=tmp_path
    )
    assert done.returncode == 0, done.stderr
    assert json.loads((tmp_path / "r.json").read_text())["recording"]["rows"] > 100
    assert (tmp_path / "r.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["r.json", "r.png"]


def test_with_no_screen_the_demo_is_told_as_text_and_painted_to_a_file(tmp_path):
    done = headrace(cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "No window can be shown here" in done.stdout
    assert "kWh" in done.stdout
    (picture,) = tmp_path.iterdir()
    assert picture.suffix == ".png"
    assert picture.name in done.stdout


def test_without_any_display_it_says_which_variable_is_missing(tmp_path):
    done = headrace(cwd=tmp_path, QT_QPA_PLATFORM="", DISPLAY="", WAYLAND_DISPLAY="")
    assert done.returncode == 0, done.stderr
    assert "neither DISPLAY nor WAYLAND_DISPLAY is set" in done.stdout


def test_simulate_lists_and_writes(tmp_path):
    listed = headrace("simulate", "--list").stdout.split()
    name = demos()[0].stem
    assert name in listed
    done = headrace("simulate", name, "--csv", "x.csv", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["x.csv", "x.toml"]
    assert headrace("review", tmp_path / "x.csv").returncode == 0


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("review", "none.csv"), "none.csv"),
        (("review", "."), "."),
        (("review",), "RECORDING"),
        (("revue",), "revue"),
        (("review", "words.csv"), "words.csv"),
        (("review", "empty.csv"), "empty.csv"),
        (("review", "words.csv", "--site", "none.toml"), "none.toml"),
        (("review", "words.csv", "--size", "12"), "--size"),
        (("simulate", "no-such-plant", "--csv", "x.csv"), "no-such-plant"),
        (("simulate",), "scenario"),
        (("open", "none.csv"), "none.csv"),
    ],
)
def test_bad_input_is_refused_in_one_line_with_status_2(arguments, says, tmp_path):
    (tmp_path / "words.csv").write_text("a,b\nc,d\n")
    (tmp_path / "empty.csv").write_text("")
    before = sorted(tmp_path.iterdir())
    assert says in refused(headrace(*arguments, cwd=tmp_path))
    assert sorted(tmp_path.iterdir()) == before


def test_a_picture_that_cannot_be_written_leaves_nothing_behind(tmp_path):
    line = refused_after_text(headrace("review", demos()[0], "--png", tmp_path / "none" / "r.png"))
    assert "can't be written" in line
    assert list(tmp_path.iterdir()) == []


def refused_after_text(done):
    assert done.returncode == 2
    (line,) = done.stderr.splitlines()
    return line


@pytest.mark.parametrize("at", ["25:00:00", "soon", "1999-01-01T00:00:00"])
def test_an_instant_outside_the_recording_is_refused(at, tmp_path):
    line = refused_after_text(headrace("review", demos()[0], "--png", tmp_path / "r.png", "--at", at))
    assert "--at" in line
