"""Files that nobody should hand in: one line, status 2, nothing else; real processes and real files."""

import os

import pytest
from test_command_line import headrace, refused

HEAD = "time,Generator power [W],Load power [W]\n"
ROWS = "".join(f"2026-02-14T10:{row // 60:02d}:{row % 60:02d}Z,1500,300\n" for row in range(120))


def test_a_pipe_for_a_recording_and_for_a_sheet(tmp_path):
    pipe, file = tmp_path / "pipe.csv", tmp_path / "day.csv"
    os.mkfifo(pipe)
    file.write_text(HEAD + ROWS)
    assert "no ordinary file" in refused(headrace("review", pipe))
    assert "no ordinary file" in refused(headrace("review", file, "--site", pipe))


def test_a_name_longer_than_names_may_be(tmp_path):
    assert "can't be read" in refused(headrace("review", tmp_path / ("x" * 300)))


def test_an_endless_header(tmp_path):
    file = tmp_path / "day.csv"
    file.write_text("time," + "1," * 200_000)
    assert "too many columns" in refused(headrace("review", file))


@pytest.mark.parametrize(
    ("sheet", "told"),
    [
        ("[generator]\nrated_w = " + "9" * 5000, "too many digits"),
        ("[generator]\nrated_w = " + "9" * 50, "a number up to 1e+12"),
        ("[meters.load_power]\nfloor_w = 1e300\n", "a number up to 1e+12"),
        ("a = " + "[" * 3000, "nested too deeply"),
        ("generator = 5\n", "as in a section [generator]"),
        ('[site]\ntimezone = "../../etc/passwd"\n', "a time zone such as"),
    ],
)
def test_hostile_sheets(tmp_path, sheet, told):
    file = tmp_path / "day.csv"
    file.write_text(HEAD + ROWS)
    file.with_suffix(".toml").write_text(sheet)
    assert told in refused(headrace("review", file))


def test_readings_beyond_all_bounds_make_no_noise(tmp_path):
    file = tmp_path / "own.csv"
    rows = "".join(f"2026-02-14T10:00:{row:02d}Z,1e38,-1e38\n" for row in range(60))
    file.write_text("time,generator_power [W],load_power [W]\n" + rows)
    done = headrace("review", file)
    assert done.returncode == 0
    assert done.stderr == ""


def test_control_characters_of_a_sheet_are_not_printed(tmp_path):
    file = tmp_path / "day.csv"
    file.write_text(HEAD + ROWS)
    file.with_suffix(".toml").write_text('[site]\nname = "\\u001b[31m{0} %s"\n')
    done = headrace("review", file)
    assert done.returncode == 0
    assert "\x1b" not in done.stdout
    assert "{0} %s" in done.stdout
