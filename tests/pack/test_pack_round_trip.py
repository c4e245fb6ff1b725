"""What goes into a pack comes out of it, and opens like a recording."""

import json
import zipfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pack_help import DAY, FILES, SHEET, made

from desktop.opening import open_recording, sheet_within
from desktop.pack.bounds import MOST_RATIO, SMALL_BYTES
from desktop.pack.contents import Contents, Item, gathered, without_devices
from desktop.pack.names import fault_in, harmless, key_of
from desktop.pack.reading import Pack
from desktop.pack.recordings import read_pack
from desktop.pack.writing import write_pack
from desktop.review import review
from desktop.sheet.editing import draft_for
from recordings.errors import ReadError, SheetError, UsageError

DEMO = Path(__file__).resolve().parents[2] / "recordings" / "demo"
NOTES = 'title = "What to see"\n\n[[note]]\nat = 2025-03-01T10:05:00Z\ntext = "Here it starts."\n'
DEVICES = SHEET + '\n[[device]]\nsource = "modbus-tcp://10.0.0.7?unit=1"\nmap = "/home/somebody/map.toml"\n'


@pytest.fixture
def day(tmp_path):
    folder = tmp_path / "somebody"
    folder.mkdir()
    (folder / "day.csv").write_text(DAY)
    (folder / "day.toml").write_text(DEVICES)
    (folder / "day.notes.toml").write_text(NOTES)
    return folder / "day.csv"


def packed(tmp_path, files, sheet=None, report=""):
    target = tmp_path / "f.zip"
    write_pack(target, gathered(files, sheet, report))
    return target


def test_a_packed_demo_gives_the_same_review(tmp_path):
    csv = DEMO / "limit-too-high.csv"
    path = packed(tmp_path, [csv], csv.with_suffix(".toml"))
    told = [review(*open_recording(each)).as_json() for each in (csv, path)]
    assert json.dumps(told[0]) == json.dumps(told[1])


def test_a_pack_carries_recording_sheet_notes_and_report(tmp_path, day):
    path = packed(tmp_path, [day], day.with_suffix(".toml"), "<!doctype html><p>Report</p>")
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == [
            "headrace-pack.toml",
            "recordings/day.csv",
            "recordings/day.notes.toml",
            "site.toml",
            "report.html",
        ]
        assert archive.read("recordings/day.csv") == day.read_bytes()
        assert b"Report" in archive.read("report.html")
    with Pack(path) as pack:
        assert pack.notes() == {"day.csv": NOTES}
        assert pack.sheet().strip() == SHEET.strip()


def test_nothing_in_a_pack_tells_of_the_machine_it_was_made_on(tmp_path, day):
    path = packed(tmp_path, [day], day.with_suffix(".toml"))
    with zipfile.ZipFile(path) as archive:
        every = b"".join(archive.read(name) for name in archive.namelist())
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert {entry.external_attr >> 16 for entry in archive.infolist()} == {0o100644}
    for told in (b"somebody", b"10.0.0.7", str(tmp_path).encode()):
        assert told not in every + path.read_bytes()


def test_the_same_contents_give_the_same_bytes_and_so_does_packing_a_pack(tmp_path, day):
    first = packed(tmp_path, [day], day.with_suffix(".toml")).read_bytes()
    day.touch()
    path = packed(tmp_path, [day], day.with_suffix(".toml"))
    assert path.read_bytes() == first
    again = tmp_path / "again.zip"
    write_pack(again, gathered([path], None))
    assert again.read_bytes() == first


def test_several_recordings_of_one_name_are_kept_apart_and_joined_when_opened(tmp_path):
    names = []
    for hour in range(3):
        folder = tmp_path / str(hour)
        folder.mkdir()
        (folder / "day.csv").write_text(DAY.replace("T10:", f"T1{hour}:"))
        names.append(folder / "day.csv")
    path = packed(tmp_path, names)
    recording, _ = open_recording(path)
    assert len(recording) == 90
    assert recording.provenance.name == "day.csv + day-2.csv + day-3.csv"
    assert recording.provenance.path == str(path)
    told = []
    assert [
        len(each) for each in read_pack(path, lambda file, tell: tell(1.0) or _read(file), told.append)
    ] == [
        30,
        30,
        30,
    ]
    assert told == pytest.approx([1 / 3, 2 / 3, 1.0])


def _read(file):
    return open_recording(file)[0]


def test_a_pack_is_joined_with_a_recording_beside_it(tmp_path):
    path = made(tmp_path)
    later = tmp_path / "later.csv"
    later.write_text(DAY.replace("T10:", "T11:"))
    recording, site = open_recording([path, later])
    assert len(recording) == 60
    assert site.generator.rated_w == 7000


def test_archives_stay_archives(tmp_path):
    from recordings.archive import archive
    from recordings.tables import write_csv

    own = tmp_path / "own.csv"
    write_csv(open_recording(made(tmp_path))[0], own)
    path = packed(tmp_path, [archive(own)])
    with Pack(path) as pack:
        assert [one.file for one in pack.recordings] == ["recordings/own.parquet"]
    found = open_recording(path)[0]
    np.testing.assert_array_equal(found.column("generator_power"), np.arange(1000, 1030, dtype=np.float32))


def test_a_sheet_beside_a_pack_comes_before_the_one_in_it(tmp_path):
    path = made(tmp_path)
    assert open_recording(path)[1].generator.rated_w == 7000
    assert "7000" in sheet_within([path])
    (tmp_path / "f.toml").write_text("[generator]\nrated_w = 6000\n")
    assert open_recording(path)[1].generator.rated_w == 6000
    (tmp_path / "own.toml").write_text("[generator]\nrated_w = 5000\n")
    assert open_recording(path, tmp_path / "own.toml")[1].generator.rated_w == 5000


def test_packs_of_different_sites_are_not_joined(tmp_path):
    one, other = made(tmp_path), made(tmp_path, FILES | {"site.toml": ""}, "other.zip")
    with pytest.raises(UsageError, match="different site sheets"):
        open_recording(
            [one, made(tmp_path, FILES | {"site.toml": "[generator]\nrated_w = 1\n"}, "third.zip")]
        )
    assert open_recording([one, other])[1].generator.rated_w == 7000


def test_a_changed_sheet_of_a_pack_begins_with_the_one_in_it_and_lies_beside_it(tmp_path):
    path = made(tmp_path)
    before = path.read_bytes()
    draft = draft_for([path])
    draft.set("input", "limit_a", 24.0)
    draft.save()
    site = open_recording(path)[1]
    assert (site.generator.rated_w, site.input.limit_a, site.site.name) == (7000, 24, "Heron Mill")
    assert path.read_bytes() == before


def test_what_shrinks_beyond_belief_is_stored_so_that_the_pack_opens(tmp_path):
    rows = "".join(f"2025-03-01T{h:02d}:{m:02d}:00Z,{'0' * 9000}\r\n" for h in range(24) for m in range(60))
    csv = tmp_path / "zeros.csv"
    csv.write_text("time,generator_power [W]\r\n" + rows)
    assert csv.stat().st_size > SMALL_BYTES
    path = packed(tmp_path, [csv])
    assert csv.stat().st_size < MOST_RATIO * path.stat().st_size
    assert len(open_recording(path)[0]) == 1440


def test_too_many_recordings_are_refused_and_nothing_is_left(tmp_path):
    csv = tmp_path / "day.csv"
    csv.write_text(DAY)
    item = gathered([csv], None).items[0]
    many = tuple(Item(f"{number}.csv", item.opened) for number in range(300))
    with pytest.raises(UsageError, match="too many files"):
        write_pack(tmp_path / "f.zip", Contents(many))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day.csv"]


def test_a_recording_that_is_gone_leaves_no_half_pack(tmp_path):
    with pytest.raises(ReadError, match="can't be packed"):
        packed(tmp_path, [tmp_path / "gone.csv"])
    assert list(tmp_path.iterdir()) == []


def test_devices_are_left_out_and_everything_else_of_a_sheet_stays_as_written():
    text = (
        "# mine\n"
        + SHEET
        + '\n[[device]]\nsource = "serial:///dev/ttyUSB0"\n\n[input]  # the gate\nlimit_a = 24\n'
    )
    assert without_devices(text) == "# mine\n" + SHEET + "\n[input]  # the gate\nlimit_a = 24\n"
    assert without_devices(SHEET) == SHEET
    assert without_devices("") == ""
    with pytest.raises(SheetError, match="can't be left out"):
        without_devices("[generator")


@pytest.mark.parametrize("text", ["[[note]\n", "note = " + 4000 * "["])
def test_notes_that_are_no_notes_are_refused(tmp_path, day, text):
    day.with_name("day.notes.toml").write_text(text)
    with pytest.raises(SheetError, match="the notes are no valid TOML"):
        packed(tmp_path, [day])


@given(names=st.lists(st.text(min_size=1, max_size=300), max_size=8))
def test_any_name_becomes_one_that_every_system_takes(names):
    taken = []
    for name in names:
        found = harmless(name, [Path(each).stem for each in taken])
        assert fault_in(f"recordings/{found}") == ""
        assert fault_in(f"recordings/{Path(found).stem}.notes.toml") == ""
        taken.append(found)
    assert len({key_of(Path(each).stem) for each in taken}) == len(names)


@pytest.mark.parametrize(
    ("name", "becomes"),
    [
        ("Tag 1 – März.csv", "Tag 1 – März.csv"),
        ("a:b*c.csv", "a_b_c.csv"),
        ("CON.csv", "_CON.csv"),
        ("...", "recording"),
        (".csv", "csv"),
    ],
)
def test_names_that_are_harmless_stay_and_others_are_mended(name, becomes):
    assert harmless(name, []) == becomes
