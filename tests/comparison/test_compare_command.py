"""`headrace compare` as a person starts it."""

import json
from pathlib import Path

import pytest

from desktop.app import main

DEMO = Path(__file__).resolve().parents[2] / "recordings" / "demo"
DAYS = str(DEMO / "two-overcast-days.csv")


def test_a_table_is_printed(capsys):
    assert main(["compare", str(DEMO / "load-step.csv"), str(DEMO / "limit-too-high.csv")]) == 0
    told = capsys.readouterr().out
    assert "Highest input current" in told
    assert "Settings that differ" in told


def test_json_is_written_whole_and_alone(capsys, tmp_path):
    assert main(["compare", DAYS, "--sessions", "1", "2", "--json", "-"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["a"]["session"], told["b"]["session"]) == (1, 2)
    assert main(["compare", DAYS, DAYS, "--sessions", "2", "1", "--json", str(tmp_path / "c.json")]) == 0
    back = json.loads((tmp_path / "c.json").read_text())
    for key, row in told["quantities"].items():
        value = row["change"]["value"]
        assert back["quantities"][key]["change"]["value"] == (None if value is None else -value)


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        ([DAYS], "only one recording to compare"),
        ([DAYS, "--sessions", "1", "x"], "--sessions can't be used"),
        ([DAYS, "--sessions", "0", "1"], "--sessions can't be used"),
        ([DAYS, "--sessions", "1", "7"], "there is no such charge session"),
        ([DAYS, "none.csv"], "none.csv"),
    ],
)
def test_what_cannot_be_compared_is_refused_in_one_line(capsys, arguments, why):
    assert main(["compare", *arguments]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert why in told.err
    assert told.err.count("\n") == 1
