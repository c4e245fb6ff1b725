"""`headrace pack` as a person starts it, and packs wherever a recording is taken."""

import json
import os
import zipfile
from pathlib import Path

import pytest
from pack_help import DAY, FILES, made

from desktop.app import main

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

DEMO = Path(__file__).resolve().parents[2] / "recordings" / "demo"
LOAD_STEP = DEMO / "load-step.csv"


def test_a_demo_is_packed_and_reviewed(tmp_path, capsys):
    target = tmp_path / "take-along.zip"
    assert main(["pack", str(LOAD_STEP), "--to", str(target)]) == 0
    assert capsys.readouterr().out.startswith("take-along.zip: load-step.csv, ")
    told = []
    for path in (LOAD_STEP, target):
        assert main(["review", str(path), "--json", "-"]) == 0
        told.append(json.loads(capsys.readouterr().out))
    assert told[0] == told[1]


def test_the_report_goes_along_when_it_is_asked_for(tmp_path):
    target = tmp_path / "f.zip"
    assert main(["pack", str(LOAD_STEP), "--to", str(target), "--report", "--language", "de"]) == 0
    with zipfile.ZipFile(target) as archive:
        page = archive.read("report.html").decode()
    assert "Heron Mill" in page
    assert str(DEMO) not in page
    assert main(["review", str(target), "--json", str(tmp_path / "r.json")]) == 0


def test_what_was_said_about_dates_goes_along(tmp_path, capsys):
    csv = tmp_path / "day.csv"
    csv.write_text(DAY.replace("2025-03-01T10:", "03/04/2025 10:").replace("Z,", ","))
    target = tmp_path / "f.zip"
    assert main(["pack", str(csv), "--to", str(target)]) == 2
    assert not target.exists()
    assert main(["pack", str(csv), "--day-first", "--to", str(target)]) == 0
    capsys.readouterr()
    assert main(["review", str(target), "--json", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["recording"]["start"] == "2025-04-03T10:00:00Z"


def test_a_pack_can_be_packed_anew_with_its_sheet_and_a_report(tmp_path):
    first, again = made(tmp_path), tmp_path / "again.zip"
    assert main(["pack", str(first), "--to", str(again), "--report"]) == 0
    with zipfile.ZipFile(again) as archive:
        assert archive.read("site.toml").decode() == FILES["site.toml"]
        assert "report.html" in archive.namelist()


def test_packs_are_planned_and_compared_like_recordings(tmp_path, capsys):
    target = tmp_path / "f.zip"
    main(["pack", str(LOAD_STEP), "--to", str(target)])
    capsys.readouterr()
    assert main(["compare", str(LOAD_STEP), str(target), "--json", "-"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {row["change"]["value"] for row in told["quantities"].values()} == {0.0}
    assert told["same_meters"]


def test_a_pack_opens_in_the_window_like_a_recording(tmp_path):
    from desktop.window.opening import Wanted, dropped_paths, load

    target = tmp_path / "f.zip"
    main(["pack", str(LOAD_STEP), "--to", str(target)])
    paths, sheet = dropped_paths([str(target)])
    assert (paths, sheet) == ([target], None)
    told = []
    ready = load(Wanted(tuple(paths)), lambda stage, share: told.append(share))
    assert len(ready.review) == 3601
    assert ready.review.site.site.name == "Heron Mill"
    assert told == sorted(told)


@pytest.mark.parametrize(
    ("to", "why"),
    [("f.tar", "ends in .zip"), ("none/f.zip", "can't be written"), ("day.zip", "packed into itself")],
)
def test_where_nothing_can_be_written_is_told_in_one_line(tmp_path, capsys, to, why):
    source = made(tmp_path, name="day.zip")
    before = source.read_bytes()
    assert main(["pack", str(source), "--to", str(tmp_path / to)]) == 2
    assert why in capsys.readouterr().err
    assert source.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["day.zip"]


def test_notes_that_would_not_open_are_not_packed(tmp_path, capsys):
    csv = tmp_path / "day.csv"
    csv.write_text(DAY)
    csv.with_name("day.notes.toml").write_text("[[note]]\nat = 5\n")
    assert main(["pack", str(csv), "--to", str(tmp_path / "f.zip")]) == 2
    assert "notes on day.csv: " in capsys.readouterr().err
