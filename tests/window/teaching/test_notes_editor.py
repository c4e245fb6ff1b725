"""Notes written and edited in the window, and read again as they were meant."""

import tomllib

import pytest
from lesson_driving import click, demo_path
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMessageBox

from desktop.teaching.lesson import instant_of, notes_file
from desktop.window.opening import Wanted, load

S = 10**9


@pytest.fixture
def plant(open_window, tmp_path):
    """A window on a recording of one's own."""
    path = tmp_path / "plant.csv"
    path.write_bytes(demo_path("limit-too-high").read_bytes())
    path.with_suffix(".toml").write_bytes(demo_path("limit-too-high").with_suffix(".toml").read_bytes())
    return open_window(load(Wanted((path,)), lambda *_: None)), path


@pytest.fixture
def edited(plant):
    """The editor on it, which is let go in the end without a question."""
    window, path = plant
    dialog = window.teaching.show_editor()
    yield window, path, dialog
    if window.teaching.editor is not None:
        dialog._ask = lambda: QMessageBox.StandardButton.Discard
        dialog.reject()


def write(field, text):
    field.setFocus()
    QTest.keyClicks(field, text)
    QApplication.processEvents()


def test_a_lesson_is_written_saved_and_gone_through(edited, qtbot):
    window, path, dialog = edited
    cursor = window.board.cursor_of_time
    write(dialog.heads["title"], "My lesson")
    cursor.move(cursor.first + 600 * S)
    click(dialog.add_button)
    assert not dialog.save_button.isEnabled()
    assert "note.0.text is missing" in dialog.told.text()
    write(dialog.form.text, "It gives {generator}.")
    assert dialog.save_button.isEnabled()
    cursor.move(cursor.first + 900 * S)
    click(dialog.add_button)
    write(dialog.form.text, "Now?")
    cursor.move(cursor.first + 960 * S)
    click(dialog.form.until.button)
    question = dialog.form.question
    question.kind.setCurrentIndex(1)
    write(question.ask, "What next?")
    assert "choices" in dialog.told.text() or "question" in dialog.told.text()
    write(question.answers[0], "This.")
    write(question.answers[1], "That.")
    click(question.rights.button(1))
    write(question.explain, "That it was.")
    click(dialog.save_button)
    table = tomllib.loads(notes_file(path).read_text())
    assert table["title"] == "My lesson"
    first, second = table["note"]
    zone = window.ready.review.site.zone
    assert instant_of(first["at"], zone) == cursor.first + 600 * S
    assert instant_of(second["until"], zone) == cursor.first + 960 * S
    assert second["question"] == {
        "ask": "What next?",
        "choices": ["This.", "That."],
        "right": 2,
        "explain": "That it was.",
    }
    assert not dialog.changed
    assert [flag.at for flag in window.teaching.flags.flags] == [
        cursor.first + 600 * S,
        cursor.first + 900 * S,
    ]
    window.teaching.start()
    while window.teaching.course.phase != "asking":
        window.teaching._next()
    assert window.teaching.strip.words.told()[1] == "What next?"
    window.teaching.end()


def test_notes_are_ordered_and_taken_out(edited):
    window, path, dialog = edited
    for number in range(3):
        window.board.cursor_of_time.move(window.board.cursor_of_time.first + (number + 1) * 60 * S)
        click(dialog.add_button)
        write(dialog.form.text, f"Note {'abc'[number]}")
    texts = [table["text"] for table in dialog.draft.tables]
    assert texts == ["Note a", "Note b", "Note c"]
    click(dialog.up_button)
    click(dialog.up_button)
    assert [table["text"] for table in dialog.draft.tables] == ["Note c", "Note a", "Note b"]
    assert not dialog.up_button.isEnabled()
    click(dialog.down_button)
    click(dialog.remove_button)
    assert [table["text"] for table in dialog.draft.tables] == ["Note a", "Note b"]
    assert dialog.list.count() == 2
    click(dialog.save_button)
    assert len(tomllib.loads(notes_file(path).read_text())["note"]) == 2


def test_choosing_a_note_moves_the_cursor(edited):
    window, _, dialog = edited
    cursor = window.board.cursor_of_time
    for minutes in (5, 10):
        cursor.move(cursor.first + minutes * 60 * S)
        click(dialog.add_button)
        write(dialog.form.text, "x")
    dialog.list.setFocus()
    QTest.keyClick(dialog.list, Qt.Key.Key_Up)
    assert cursor.instant == cursor.first + 300 * S


def test_a_time_is_typed(edited):
    window, _, dialog = edited
    click(dialog.add_button)
    write(dialog.form.text, "x")
    field = dialog.form.at
    field.line.clear()
    write(field.line, "17:30")
    first = window.board.cursor_of_time.first
    assert instant_of(dialog.draft.tables[0]["at"], window.ready.review.site.zone) == first + 25 * 60 * S
    field.line.clear()
    write(field.line, "noon")
    assert "no such time" in dialog.told.text()
    assert not dialog.save_button.isEnabled()
    field.line.clear()
    write(field.line, "18:30")
    assert "outside the recording" in dialog.told.text()


def test_a_part_to_be_clicked_is_checked(edited):
    _, _, dialog = edited
    click(dialog.add_button)
    write(dialog.form.text, "x")
    question = dialog.form.question
    question.kind.setCurrentIndex(2)
    write(question.ask, "Where?")
    assert "parts" in dialog.told.text()
    row = next(row for row in range(question.parts.count()) if question.parts.item(row).text() == "Battery")
    question.parts.setCurrentRow(row)
    question.parts.setFocus()
    QTest.keyClick(question.parts, Qt.Key.Key_Space)
    assert dialog.draft.tables[0]["question"] == {"ask": "Where?", "parts": ["battery"]}
    assert dialog.fault() == ""


def test_a_value_is_inserted_with_what_it_is_now(edited):
    window, _, dialog = edited
    cursor = window.board.cursor_of_time
    cursor.move(cursor.first + 600 * S)
    click(dialog.add_button)
    menu = dialog.form.values.menu()
    menu.aboutToShow.emit()
    action = next(each for each in menu.actions() if each.text().startswith("AC input limit:"))
    assert action.text() == "AC input limit: 42.0 A"
    action.trigger()
    assert dialog.form.text.toPlainText() == "{input_limit}"


def test_unwritten_changes_are_asked_about(edited):
    window, path, dialog = edited
    click(dialog.add_button)
    write(dialog.form.text, "x")
    dialog._ask = lambda: QMessageBox.StandardButton.Cancel
    dialog.reject()
    assert dialog.isVisible()
    dialog._ask = lambda: QMessageBox.StandardButton.Save
    dialog.reject()
    assert not dialog.isVisible()
    assert notes_file(path).exists()
    assert window.teaching.editor is None


def test_a_demo_stays_as_it_is_and_a_copy_is_opened(open_window, tmp_path, qtbot):
    demo = demo_path("limit-too-high")
    before = notes_file(demo).read_bytes()
    window = open_window(load(Wanted((demo,)), lambda *_: None))
    dialog = window.teaching.show_editor()
    assert dialog.save_button.text() == "&Save a copy…"
    dialog.list.setCurrentRow(4)
    write(dialog.form.text, "Mine: ")
    asked = []
    dialog.copy_asked.disconnect()
    dialog.copy_asked.connect(lambda: asked.append(True))
    click(dialog.save_button)
    assert asked == [True]
    target = tmp_path / "mine.csv"
    assert dialog.copy_to(target)
    qtbot.waitUntil(lambda: window.ready.wanted.paths == (target,), timeout=30_000)
    assert notes_file(demo).read_bytes() == before
    assert window.teaching.notes.notes[4].text.startswith("Mine: ")
    assert not window.teaching.notes.ours
    assert not dialog.copy_to(target.with_name("other") / "x.csv")
    dialog.reject()


def test_a_wrong_file_is_told_and_not_edited(plant):
    window, path = plant
    notes_file(path).write_text("note = 3")
    assert window.teaching.show_editor() is None
    assert "note; expected list" in window.notice.line.text()


def test_every_field_has_a_name_for_screen_readers(edited):
    _, _, dialog = edited
    click(dialog.add_button)
    dialog.form.question.kind.setCurrentIndex(1)
    for field in dialog.findChildren(type(dialog.heads["title"])):
        if field.isVisible() and field.objectName() != "qt_spinbox_lineedit":
            assert field.accessibleName(), field
    for part in (dialog.list, dialog.form.text, dialog.form.look_at, dialog.form.question.explain):
        assert part.accessibleName()
