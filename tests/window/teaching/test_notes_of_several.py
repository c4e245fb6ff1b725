"""Notes of packs and of recordings opened together, shown, gone through and written in the window."""

import tomllib

import pytest
from lesson_driving import click, demo_path, key
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMessageBox
from test_main_window import file_dialog

from desktop.pack.beside import notes_file
from desktop.pack.contents import gathered
from desktop.pack.writing import write_pack
from desktop.window.opening import Wanted, load

S = 10**9


def note(clock, text, title=""):
    head = f'title = "{title}"\n\n' if title else ""
    return f'{head}[[note]]\nat = 2025-01-22T{clock}\ntext = "{text}"\n'


@pytest.fixture
def halves(tmp_path):
    """One demo cut in two files, with notes on each, and its sheet beside the first."""
    demo = demo_path("limit-too-high")
    head, *rows = demo.read_text().splitlines(keepends=True)
    paths = []
    for name, part, text in (
        ("first", rows[: len(rows) // 2], note("17:12:00", "A", "One")),
        ("second", rows[len(rows) // 2 :], note("17:40:00", "B", "Two")),
    ):
        path = tmp_path / f"{name}.csv"
        path.write_text(head + "".join(part))
        notes_file(path).write_text(text)
        paths.append(path)
    paths[0].with_suffix(".toml").write_bytes(demo.with_suffix(".toml").read_bytes())
    return tuple(paths)


@pytest.fixture
def together(open_window, halves):
    window = open_window(load(Wanted(halves), lambda *_: None))
    window.activateWindow()
    yield window
    if window.teaching.editor is not None:
        window.teaching.editor._ask = lambda: QMessageBox.StandardButton.Discard
        window.teaching.editor.reject()


def test_recordings_opened_together_show_each_its_own_notes(together):
    assert [flag.text for flag in together.teaching.flags.flags] == ["A", "B"]
    cursor = together.board.cursor_of_time
    cursor.move(cursor.first)
    seen = []
    for name in ("F6", "F6", "Shift+F6"):
        key(name)
        seen.append(cursor.instant)
    first, second = (flag.at for flag in together.teaching.flags.flags)
    assert seen == [first, second, first]
    together.teaching.start()
    assert together.teaching.run.strip.name.text() == "One · Two"


def test_the_notes_of_each_are_edited_by_themselves(together, halves):
    dialog = together.teaching.show_editor()
    assert dialog.windowTitle() == "Notes on first.csv"
    assert [dialog.which.itemText(number) for number in range(2)] == ["first.csv", "second.csv"]
    assert dialog.which.isVisible()
    dialog.which.setCurrentIndex(1)
    assert dialog.windowTitle() == "Notes on second.csv"
    assert dialog.heads["title"].text() == "Two"
    assert [table["text"] for table in dialog.draft.tables] == ["B"]
    dialog.form.text.setFocus()
    QTest.keyClicks(dialog.form.text, "Now ")
    click(dialog.save_button)
    assert tomllib.loads(notes_file(halves[1]).read_text())["note"][0]["text"] == "Now B"
    assert tomllib.loads(notes_file(halves[0]).read_text())["note"][0]["text"] == "A"
    assert [flag.text for flag in together.teaching.flags.flags] == ["A", "Now B"]


def test_unwritten_changes_are_asked_about_before_another_is_turned_to(together, halves):
    dialog = together.teaching.show_editor()
    dialog.form.text.setFocus()
    QTest.keyClicks(dialog.form.text, "x")
    dialog._ask = lambda: QMessageBox.StandardButton.Cancel
    dialog.which.setCurrentIndex(1)
    assert dialog.which.currentIndex() == 0
    assert dialog.place.recording == "first.csv"
    notes_file(halves[1]).write_text("note = 3")
    dialog._ask = lambda: QMessageBox.StandardButton.Discard
    dialog.which.setCurrentIndex(1)
    assert dialog.which.currentIndex() == 0
    assert "note; expected list" in dialog.told.text()


def test_the_notes_in_a_pack_are_edited_beside_it(open_window, halves, tmp_path, qtbot):
    path = tmp_path / "along.zip"
    write_pack(path, gathered(halves[:1], halves[0].with_suffix(".toml")))
    before = path.read_bytes()
    window = open_window(load(Wanted((path,)), lambda *_: None))
    assert [flag.text for flag in window.teaching.flags.flags] == ["A"]
    dialog = window.teaching.show_editor()
    assert dialog.heads["title"].text() == "One"
    assert not dialog.which.isVisible()
    dialog.form.text.setFocus()
    QTest.keyClicks(dialog.form.text, "My ")
    click(dialog.save_button)
    assert [flag.text for flag in window.teaching.flags.flags] == ["My A"]
    assert tomllib.loads((tmp_path / "along.notes.toml").read_text())["title"] == "One"
    assert path.read_bytes() == before
    dialog.reject()


def test_the_notes_in_a_pack_of_several_are_shown_and_stay(open_window, halves, tmp_path):
    path = tmp_path / "along.zip"
    write_pack(path, gathered(halves, halves[0].with_suffix(".toml")))
    window = open_window(load(Wanted((path,)), lambda *_: None))
    assert [flag.text for flag in window.teaching.flags.flags] == ["A", "B"]
    assert window.teaching.show_editor() is None
    assert "unpack it" in window.notice.line.text()


def test_a_copy_of_a_demo_is_asked_for_by_its_name(open_window):
    demo = demo_path("limit-too-high")
    window = open_window(load(Wanted((demo,)), lambda *_: None))
    dialog = window.teaching.show_editor()
    click(dialog.save_button)
    assert file_dialog(window).selectedFiles()[0].endswith("limit-too-high.csv")
    file_dialog(window).reject()
    dialog.reject()
