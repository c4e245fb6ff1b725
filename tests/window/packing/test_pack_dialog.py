"""Packing in the window: what goes in and what stays behind is said, and what comes out opens like a recording."""

import json
import zipfile
from pathlib import Path

import pytest
from key_order import reached
from key_order import told as spoken_of
from painted_words import words_of
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from test_main_window import action, drop, file_dialog
from test_proof_colours import THEMES, stand_out
from test_proof_geometry import SCALES, SPOKEN, check

from desktop.opening import demos
from desktop.pack.beside import notes_beside, notes_file
from desktop.window import language
from desktop.window.handover import show_pack
from desktop.window.opening import Wanted, load
from desktop.window.packing.dialog import PackDialog
from desktop.window.packing.listing import size_text
from desktop.window.shot import settle

LEFT = Qt.MouseButton.LeftButton
DEVICES = (
    '\n[[device]]\nsource = "modbus-tcp://10.0.0.7?unit=1"\n\n[[device]]\nsource = "serial:///dev/ttyUSB0"\n'
)


@pytest.fixture
def plant(tmp_path) -> Path:
    """A recording of one's own, with a sheet that names devices, and the notes of a lesson."""
    demo = next(each.path for each in demos() if each.path.stem == "limit-too-high")
    folder = tmp_path / "somebody"
    folder.mkdir()
    path = folder / "plant.csv"
    path.write_bytes(demo.read_bytes())
    path.with_suffix(".toml").write_text(demo.with_suffix(".toml").read_text() + DEVICES)
    notes_file(path).write_bytes(notes_beside(demo).read_bytes())
    return path


@pytest.fixture
def packing(open_window, plant):
    """A window on it, and the dialog that packs it."""
    window = open_window(load(Wanted((plant,)), lambda *_: None))
    return window, show_pack(window)


def told(widget) -> str:
    return "\n".join(each.text() for each in widget.findChildren(QLabel))


def written(dialog: PackDialog, qtbot) -> None:
    qtbot.waitUntil(
        lambda: not dialog.worker.busy and dialog.told.text().startswith("Written"), timeout=60_000
    )


def test_what_is_packed_in_the_window_opens_as_what_it_was(packing, tmp_path, qtbot):
    window, dialog = packing
    before, lesson = window.ready.review.as_json(), window.teaching.notes
    qtbot.mouseClick(dialog.begin, LEFT)
    place = file_dialog(window)
    assert place.selectedFiles()[0].endswith("plant.zip")
    place.selectFile(str(tmp_path / "along.zip"))
    place.accept()
    written(dialog, qtbot)
    dialog.reject()
    drop(window, tmp_path / "along.zip")
    qtbot.waitUntil(lambda: window.ready.wanted.paths == (tmp_path / "along.zip",), timeout=60_000)
    after = window.ready.review.as_json()
    for each in (before, after):
        # The sheet's devices stayed behind; everything that is computed is the same.
        del each["site"]
    assert json.dumps(after) == json.dumps(before)
    assert window.teaching.notes == lesson
    assert len(window.teaching.flags.flags) == len(lesson.notes) > 3
    window.teaching.start()
    assert window.teaching.course is not None
    assert window.settings.recent[0].paths == (str(tmp_path / "along.zip"),)


def test_nothing_in_it_tells_of_the_machine(packing, plant, tmp_path, qtbot):
    _, dialog = packing
    dialog.write(str(tmp_path / "f.zip"))
    written(dialog, qtbot)
    with zipfile.ZipFile(tmp_path / "f.zip") as archive:
        assert set(archive.namelist()) == {
            "headrace-pack.toml",
            "recordings/plant.csv",
            "recordings/plant.notes.toml",
            "site.toml",
            "report.html",
        }
        every = b"".join(archive.read(name) for name in archive.namelist())
    for word in ("somebody", str(tmp_path), "10.0.0.7", "ttyUSB0"):
        assert word.encode() not in every


def test_it_is_said_what_is_in_it_and_what_is_left_out(packing):
    _, dialog = packing
    words = told(dialog)
    for word in ("plant.csv", "plant.notes.toml", "5 notes", "site.toml", "174 kB"):
        assert word in words
    assert "The 2 devices in the site sheet, and their addresses." in words
    assert "Names of this machine" in words
    assert "the names of those who wrote them" in words


def test_the_report_stays_out_where_it_is_not_wanted_by_keys_alone(open_window, plant, tmp_path, qtbot):
    window = open_window(load(Wanted((plant,)), lambda *_: None))
    window.activateWindow()
    keys = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    qtbot.keyClick(window, Qt.Key.Key_P, keys)
    dialog = window.findChildren(PackDialog)[-1]
    dialog.report.setFocus()
    qtbot.keyClick(dialog.report, Qt.Key.Key_Space)
    assert not dialog.report.isChecked()
    qtbot.keyClick(dialog, Qt.Key.Key_Return)
    place = file_dialog(window)
    place.selectFile(str(tmp_path / "f.zip"))
    place.accept()
    written(dialog, qtbot)
    with zipfile.ZipFile(tmp_path / "f.zip") as archive:
        assert "report.html" not in archive.namelist()


@pytest.mark.parametrize(
    ("name", "why"), [("f.tar", "ends in .zip"), ("none/f.zip", "can't be written")], ids=["kind", "place"]
)
def test_where_nothing_can_be_written_is_told_in_one_line(packing, tmp_path, qtbot, name, why):
    _, dialog = packing
    dialog.report.setChecked(False)
    dialog.write(str(tmp_path / name))
    qtbot.waitUntil(lambda: why in dialog.told.text(), timeout=30_000)
    assert "\n" not in dialog.told.text()
    assert dialog.begin.isEnabled()


def test_writing_is_given_up_without_a_trace(packing, tmp_path, qtbot):
    _, dialog = packing
    dialog.write(str(tmp_path / "f.zip"))
    assert dialog.cancel.isVisible()
    qtbot.mouseClick(dialog.cancel, LEFT)
    assert dialog.told.text() == "Cancelled."
    qtbot.waitUntil(lambda: not dialog.worker.busy, timeout=60_000)
    assert not [path.name for path in tmp_path.iterdir() if "zip" in path.name]


def test_a_pack_is_packed_again_with_notes_of_ones_own(packing, tmp_path, qtbot):
    window, dialog = packing
    dialog.report.setChecked(False)
    dialog.write(str(tmp_path / "f.zip"))
    written(dialog, qtbot)
    dialog.reject()
    notes_file(tmp_path / "f.zip").write_text('[[note]]\nat = 2025-01-22T17:12:00\ntext = "Mine."\n')
    window.open_names([str(tmp_path / "f.zip")])
    qtbot.waitUntil(lambda: window.ready.wanted.paths == (tmp_path / "f.zip",), timeout=60_000)
    assert [note.text for note in window.teaching.notes.notes] == ["Mine."]
    again = show_pack(window)
    assert "one note" in told(again)
    again.write(str(tmp_path / "f.zip"))
    assert "packed into itself" in again.told.text()
    again.reject()


def test_a_correction_that_is_not_saved_stays_behind(open_window, qtbot):
    demo = next(each.path for each in demos() if each.path.stem == "reversed-battery-meter")
    window = open_window(load(Wanted((demo,)), lambda *_: None))
    before = window.ready
    window.look.try_out(before.review.suspects[0])
    qtbot.waitUntil(lambda: window.ready is not before and not window.opener.busy, timeout=30_000)
    dialog = show_pack(window)
    assert "the recording goes along as it was read" in told(dialog)
    dialog.reject()


def test_without_files_there_is_nothing_to_pack(open_window, ready, overload_review):
    from desktop.window.opening import prepared

    window = open_window()
    assert not action(window, "File", "Pack to take along…").isEnabled()
    window.show_ready(prepared(overload_review))
    assert show_pack(window) is None
    assert "open the recording from its file" in window.notice.line.text()


def test_notes_that_are_wrong_are_told_before_anything_is_packed(open_window, plant):
    notes_file(plant).write_text("note = 3")
    window = open_window(load(Wanted((plant,)), lambda *_: None))
    assert show_pack(window) is None
    assert "notes on plant.csv" in window.notice.line.text()


def test_sizes_are_told_by_their_size():
    assert [size_text(length) for length in (12, 317_202, 1_600_000, 157_000_000)] == [
        "1 kB",
        "317 kB",
        "1.6 MB",
        "157 MB",
    ]


@pytest.mark.parametrize("spoken", SPOKEN)
@pytest.mark.parametrize("scale", SCALES)
def test_no_word_is_cut_off_or_covered(open_window, plant, spoken, scale):
    language.apply(spoken)
    try:
        window = open_window(load(Wanted((plant,)), lambda *_: None), (1280, 720))
        window.set_text_scale(scale)
        dialog = show_pack(window)
        dialog.cancel.show()
        dialog.bar.show()
        for size in ((620, 480), (1240, 680)):
            dialog.resize(*size)
            settle(dialog)
            words = words_of(dialog)
            assert len(words) > 15
            check(words)
    finally:
        language.apply("en")


@pytest.mark.parametrize("name", THEMES)
def test_every_word_stands_out(packing, name):
    window, dialog = packing
    window.set_theme(name)
    settle(dialog)
    assert stand_out(dialog) > 15


def test_keys_reach_everything(packing):
    _, dialog = packing
    settle(dialog)
    spoken_of(reached(dialog, dialog.begin), dialog)
