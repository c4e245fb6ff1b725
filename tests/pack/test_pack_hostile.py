"""Packs from somebody who means harm: refused in one line, before anything is unpacked."""

import contextlib
import random
import stat
import struct
import tempfile
import tracemalloc
import zipfile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pack_help import DAY, FILES, LISTED, made, patched, with_extra, zipped

from desktop.opening import open_recording
from desktop.pack.bounds import MOST_BYTES
from desktop.pack.reading import Pack
from recordings.errors import HeadraceError, ReadError, SheetError

ZEROS = bytes(30_000_000)


@pytest.fixture(autouse=True)
def own_temporary_folder(tmp_path, monkeypatch):
    """Whatever is unpacked, nothing is left of it."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    yield
    assert list(folder.iterdir()) == []


def refusal(path, kind=ReadError):
    with pytest.raises(kind) as caught:
        open_recording(path)
    line = str(caught.value)
    assert "\n" not in line
    assert str(path) in line
    return line


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("/etc/cron.d/day.csv", "is absolute"),
        ("../../outside.csv", "leads out of the pack"),
        ("recordings/../../outside.csv", "leads out of the pack"),
        ("C:/windows/day.csv", "names a drive"),
        ("c:day.csv", "names a drive"),
        ("recordings\\..\\day.csv", "has a backslash"),
        ("\\\\host\\share\\day.csv", "has a backslash"),
        ("recordings//day.csv", "has an empty part"),
        ("./day.csv", "has an empty part"),
        ("recordings/day.csv.", "has an empty part"),
        ("recordings/NUL", "names a device"),
        ("recordings/com1.csv", "names a device"),
        ("recordings/day\n.csv", "has a character that not every system takes"),
        ("recordings/day.csv:stream", "has a character that not every system takes"),
        ("recordings/" + 300 * "a", "is empty or too long"),
    ],
)
def test_a_path_that_could_lead_anywhere_else_is_refused(tmp_path, name, why):
    assert why in refusal(made(tmp_path, with_extra(name)))


def test_a_path_with_a_zero_byte_is_refused(tmp_path):
    path = made(tmp_path, with_extra("recordings/a.csv.exe"))
    path.write_bytes(path.read_bytes().replace(b"a.csv.exe", b"a.csv\0exe"))
    assert "has a character that not every system takes" in refusal(path)


@pytest.mark.parametrize("name", ["recordings/day.csv", "recordings/DAY.csv", "Recordings/day.CSV"])
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_two_files_of_one_name_are_refused_however_it_is_written(tmp_path, name):
    assert "two files of the same name" in refusal(made(tmp_path, with_extra(name)))


def test_the_same_letter_written_in_two_ways_is_the_same_name(tmp_path):
    files = [*with_extra("recordings/\u00e4.csv"), ("recordings/a\u0308.csv", DAY)]
    assert "two files of the same name" in refusal(made(tmp_path, files))


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFCHR, stat.S_IFDIR])
def test_links_and_devices_are_refused(tmp_path, kind):
    entry = zipfile.ZipInfo("recordings/day.csv")
    entry.external_attr = (kind | 0o777) << 16
    files = [(name, text) for name, text in FILES.items() if name != entry.filename]
    assert "holds a link" in refusal(made(tmp_path, [*files, (entry, "/etc/passwd")]))


def test_a_bomb_is_refused_before_memory_is_used(tmp_path):
    path = made(tmp_path, FILES | {"recordings/day.csv": ZEROS})
    assert path.stat().st_size < 50_000
    tracemalloc.start()
    line = refusal(path)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "a file unpacks to far more than any recording would" in line
    assert peak < 2_000_000


def test_many_small_bombs_are_refused_as_one(tmp_path):
    small = {f"recordings/{n}.csv": bytes(1_000_000) for n in range(40)}
    assert "unpacks to far more than any recording would" in refusal(made(tmp_path, FILES | small))


def test_a_bomb_that_says_it_is_small_gives_no_more_than_it_says(tmp_path):
    path = made(tmp_path, FILES | {"recordings/day.csv": ZEROS})
    path.write_bytes(patched(path.read_bytes(), 1, 24, "<L", 50_000))
    tracemalloc.start()
    line = refusal(path)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "is no zip file, or a damaged one" in line
    assert peak < 5_000_000


def test_a_list_of_contents_is_not_read_without_end(tmp_path):
    long = LISTED + "# " + random.Random(1).randbytes(2_500_000).hex()
    assert "is too long" in refusal(made(tmp_path, FILES | {"headrace-pack.toml": long}))


def test_files_that_share_their_bytes_are_refused(tmp_path):
    data = zipped(FILES | {"recordings/other.csv": DAY})
    first, last = (
        struct.unpack("<L", data[at + 42 : at + 46])[0]
        for at in (data.index(b"PK\x01\x02"), data.rindex(b"PK\x01\x02"))
    )
    assert last > first
    path = tmp_path / "f.zip"
    path.write_bytes(patched(data, 3, 42, "<L", first))
    assert "has files that overlap" in refusal(path)


def test_more_than_fits_is_refused_by_what_the_list_says(tmp_path):
    data = zipped(FILES, compress=zipfile.ZIP_STORED)
    path = tmp_path / "f.zip"
    path.write_bytes(patched(data, 1, 20, "<LL", MOST_BYTES + 1, MOST_BYTES + 1))
    assert "is too large" in refusal(path)


def test_sizes_that_do_not_agree_are_refused(tmp_path):
    data = zipped(FILES, compress=zipfile.ZIP_STORED)
    path = tmp_path / "f.zip"
    path.write_bytes(patched(data, 1, 24, "<L", 5))
    assert "two sizes of a file don't agree" in refusal(path)


def test_too_many_files_are_refused_whatever_the_end_of_the_zip_says(tmp_path):
    data = zipped(FILES | {f"recordings/{n}.csv": "x" for n in range(300)})
    path = tmp_path / "f.zip"
    path.write_bytes(data)
    assert "holds too many files" in refusal(path)
    path.write_bytes(data[:-14] + struct.pack("<HH", 3, 3) + data[-10:])
    assert "holds too many files" in refusal(path)


def test_a_list_of_files_without_end_is_refused_unread(tmp_path):
    data = zipped(FILES)
    path = tmp_path / "f.zip"
    path.write_bytes(data[:-10] + struct.pack("<L", 50_000_000) + data[-6:])
    assert "lists too many files" in refusal(path)


def test_the_64_bit_form_is_refused(tmp_path):
    data = zipped(FILES)
    locator = struct.pack("<4sLQL", b"PK\x06\x07", 0, 0, 1)
    path = tmp_path / "f.zip"
    path.write_bytes(data[:-22] + locator + data[-22:])
    assert "holds too many files" in refusal(path)


def test_encrypted_files_and_odd_compression_are_refused(tmp_path):
    path = tmp_path / "f.zip"
    path.write_bytes(patched(zipped(FILES), 1, 8, "<H", 1))
    assert "is encrypted" in refusal(path)
    assert "is compressed in a way that isn't taken" in refusal(
        made(tmp_path, compress=zipfile.ZIP_BZIP2, name="bzip2.zip")
    )


@pytest.mark.parametrize(
    "data", [b"", b"PK", DAY.encode(), zipped(FILES)[:-1], zipped(FILES)[:200], zipped(FILES) + b"more"]
)
def test_what_is_no_whole_zip_is_refused(tmp_path, data):
    path = tmp_path / "f.zip"
    path.write_bytes(data)
    assert "is no zip file, or a damaged one" in refusal(path)


def test_no_file_and_no_ordinary_file_are_refused(tmp_path):
    assert "can't be read" in refusal(tmp_path / "none.zip")
    (tmp_path / "folder.zip").mkdir()
    assert "is no ordinary file" in refusal(tmp_path / "folder.zip")


def test_a_zip_that_is_no_pack_is_refused_with_what_to_do(tmp_path):
    line = refusal(made(tmp_path, {"day.csv": DAY}))
    assert "is no pack" in line
    assert "Unpack it, and open the recording in it" in line


@pytest.mark.parametrize(
    ("listed", "why"),
    [
        ("", "format is missing"),
        ("format = 1", "recording is missing"),
        ("format = 1\nrecording = []", "recording"),
        ("format = 2\n" + LISTED[11:], "was packed by a later version"),
        (LISTED.replace("sheet =", "sheets ="), "unknown key sheets"),
        (LISTED.replace('"recordings/day.csv"', "7"), "file of recording 1"),
        (LISTED.replace("recordings/day.csv", "../../etc/passwd"), "a file is missing"),
        (LISTED.replace("recordings/day.csv", "/etc/passwd"), "a file is missing"),
        (LISTED.replace("recordings/day.csv", "site.toml"), "aren't those of its list"),
        (LISTED.replace("recordings/day.csv", "headrace-pack.toml"), "aren't those of its list"),
        ('format = 1\n\n[[recording]]\nfile = "recordings/day.csv"\n', "aren't those of its list"),
        ("format = [", "is no valid TOML"),
        ("a = " + 5000 * "[", "valid TOML"),
        ("format = " + 5000 * "9", "valid TOML"),
    ],
)
def test_a_hostile_list_of_contents_is_refused(tmp_path, listed, why):
    line = refusal(made(tmp_path, FILES | {"headrace-pack.toml": listed}), HeadraceError)
    assert why in line
    assert "headrace-pack.toml" in line or "list" in line or "missing" in line


def test_a_wrong_sheet_in_a_pack_is_told_as_such(tmp_path):
    line = refusal(made(tmp_path, FILES | {"site.toml": "[generator]\nrated_w = -1\n"}), SheetError)
    assert "site sheet: generator.rated_w" in line


def test_a_recording_that_cannot_be_read_is_told_by_its_name_in_the_pack(tmp_path):
    path = made(tmp_path, FILES | {"recordings/day.csv": "a,b\n1,2\n3,4\n"})
    line = refusal(path)
    assert line.startswith(f"{path}: recordings/day.csv")
    assert "temporary" not in line


def test_what_a_person_would_have_to_settle_is_refused_with_what_to_do(tmp_path):
    unclear = DAY.replace("2025-03-01T10:", "03/04/2025 10:").replace("Z,", ",")
    line = refusal(made(tmp_path, FILES | {"recordings/day.csv": unclear}))
    assert "Unpack it, settle that there, and pack it anew" in line


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_a_pack_damaged_anywhere_opens_or_is_refused(tmp_path_factory, data):
    whole = bytearray(zipped(FILES))
    for _ in range(data.draw(st.integers(1, 4))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    path = tmp_path_factory.mktemp("damaged") / "f.zip"
    path.write_bytes(bytes(whole[: data.draw(st.integers(0, len(whole)))]))
    with contextlib.suppress(HeadraceError), Pack(path) as pack:
        pack.sheet()
        for one in pack.recordings:
            with pack.unpacked(one.file) as file:
                assert file.stat().st_size <= len(DAY)
