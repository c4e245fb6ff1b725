"""Notes written and edited in the window, and read again as they were meant."""

import tomllib

import pytest
from lesson_driving import click, demo_path
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMessageBox

from desktop.pack.beside import notes_file
from desktop.teaching.lesson import instant_of
from desktop.window.opening import Wanted, load
from desktop.words import kept_together

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
    write(dialog.form.text, "It gives {generator}.")
    cursor.move(cursor.first + 900 * S)
    click(dialog.add_button)
    write(dialog.form.text, "Now?")
    cursor.move(cursor.first + 960 * S)
    click(dialog.form.until.button)
    question = dialog.form.question
    question.kind.setCurrentIndex(1)
    write(question.ask, "What next?")
    assert dialog.told.text() == "Changed and not written yet."
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
        window.teaching.run.go_on()
    assert window.teaching.run.strip.words.told()[1] == "What next?"
    click(window.teaching.run.strip.end)
    assert window.teaching.course is None
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


def test_a_time_is_typed_and_what_is_none_is_kept_and_told(edited):
    window, path, dialog = edited
    click(dialog.add_button)
    write(dialog.form.text, "x")
    field = dialog.form.at
    field.line.clear()
    write(field.line, "17:30")
    first = window.board.cursor_of_time.first
    assert instant_of(dialog.draft.tables[0]["at"], window.ready.review.site.zone) == first + 25 * 60 * S
    field.line.clear()
    write(field.line, "noon")
    click(dialog.add_button)
    assert dialog.told.text() == "Note 1: “noon” is no time; 14:03 or 14:03:20 would be one."
    write(dialog.form.text, "y")
    click(dialog.save_button)
    assert not notes_file(path).exists()
    assert dialog.list.currentRow() == 0
    assert field.line.hasFocus()
    assert field.line.text() == "noon"
    assert dialog.form.rows["at"].line.text() == "“noon” is no time; 14:03 or 14:03:20 would be one."
    field.line.clear()
    write(field.line, "18:30")
    assert "outside the recording: 2025-01-22 17:05:00 to 2025-01-22 17:50:00." in dialog.told.text()
    field.line.clear()
    write(field.line, "17:30")
    assert not dialog.form.rows["at"].line.isVisible()
    assert dialog.told.text() == "Changed and not written yet."


def test_a_part_to_be_clicked_is_checked(edited):
    _, _, dialog = edited
    click(dialog.add_button)
    write(dialog.form.text, "x")
    question = dialog.form.question
    question.kind.setCurrentIndex(2)
    write(question.ask, "Where?")
    click(dialog.save_button)
    told = "check at least one part that is right when it is clicked."
    assert dialog.told.text() == f"Note 1: {told}"
    assert dialog.form.rows["parts"].line.text() == f"C{told[1:]}"
    row = next(row for row in range(question.parts.count()) if question.parts.item(row).text() == "Battery")
    question.parts.setCurrentRow(row)
    question.parts.setFocus()
    QTest.keyClick(question.parts, Qt.Key.Key_Space)
    assert dialog.draft.tables[0]["question"] == {"ask": "Where?", "parts": ["battery"]}
    assert dialog.told.text() == "Changed and not written yet."
    assert not dialog.form.rows["parts"].line.isVisible()
    assert dialog.faults.check(dialog.draft) is None


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


def test_faults_are_told_when_a_note_is_left_not_while_it_is_written(edited):
    _, _, dialog = edited
    click(dialog.add_button)
    question = dialog.form.question
    question.kind.setCurrentIndex(1)
    write(question.ask, "Which?")
    write(question.answers[0], "This.")
    assert not any(row.line.isVisible() for row in dialog.form.rows.values())
    click(dialog.add_button)
    assert dialog.told.text() == "Note 1: write a text."
    assert not any(row.line.isVisible() for row in dialog.form.rows.values())
    write(dialog.form.text, "Second.")
    assert dialog.told.text() == "Note 1: write a text."
    dialog.list.setFocus()
    QTest.keyClick(dialog.list, Qt.Key.Key_Up)
    said = {key: row.line.text() for key, row in dialog.form.rows.items() if row.line.isVisible()}
    assert said == {"text": "Write a text.", "choices": "Write at least two answers."}
    assert dialog.form.text.accessibleDescription() == "Write a text."
    write(dialog.form.text, "F")
    write(question.answers[1], "That.")
    assert not any(row.line.isVisible() for row in dialog.form.rows.values())
    click(dialog.save_button)
    assert not dialog.changed


def test_what_nobody_could_answer_or_read_is_not_saved(edited):
    _, path, dialog = edited
    click(dialog.add_button)
    for text, said in (
        ("{nosuchvalue}", "{nosuchvalue} is no value"),
        ("{generater}", "the nearest is {generator}"),
        ("{generator", "a brace isn't closed"),
        ("a\u202eb", "take out the character U+202E RIGHT-TO-LEFT OVERRIDE"),
    ):
        dialog.form.text.setPlainText(text)
        click(dialog.save_button)
        assert said in dialog.told.text()
        assert not notes_file(path).exists()
    dialog.form.text.setPlainText("\N{MAN}\u200d\N{WOMAN}\u200d\N{GIRL}")
    question = dialog.form.question
    question.kind.setCurrentIndex(2)
    write(question.ask, "Where?")
    question.parts.check(["solar"])
    click(dialog.save_button)
    assert dialog.told.text() == "Note 1: this plant has no “Solar”: nobody could click what is right."
    question.parts.check(["battery"])
    click(dialog.save_button)
    assert notes_file(path).exists()


def test_notes_that_go_back_in_time_are_told_and_saved(edited):
    window, path, dialog = edited
    cursor = window.board.cursor_of_time
    for minutes in (10, 5):
        cursor.move(cursor.first + minutes * 60 * S)
        click(dialog.add_button)
        write(dialog.form.text, "x")
    click(dialog.save_button)
    assert dialog.told.text().startswith("Note 2: it comes before the note above it in time")
    assert notes_file(path).exists()
    click(dialog.up_button)
    assert "above it in time" not in dialog.told.text()


def test_everything_is_undone_and_done_again(edited):
    window, _, dialog = edited
    cursor = window.board.cursor_of_time
    seen = [dialog.draft.state]

    def step(act):
        act()
        QApplication.processEvents()
        assert dialog.draft.state != seen[-1]
        seen.append(dialog.draft.state)

    step(lambda: write(dialog.heads["title"], "Mine"))
    step(lambda: click(dialog.add_button))
    step(lambda: write(dialog.form.text, "Word"))
    step(lambda: write(dialog.form.text, " more"))
    cursor.move(cursor.first + 60 * S)
    step(lambda: click(dialog.form.at.button))
    step(lambda: dialog.form.question.kind.setCurrentIndex(2))
    step(lambda: dialog.form.question.parts.check(["battery"]))
    step(lambda: dialog.form.look_at.check(["load"]))
    step(lambda: click(dialog.add_button))
    step(lambda: write(dialog.form.text, "Other"))
    step(lambda: click(dialog.up_button))
    step(lambda: click(dialog.remove_button))
    fields = (dialog.form.text, dialog.heads["title"], dialog.list, dialog.form.question.ask)
    for number, state in enumerate(reversed(seen[:-1])):
        field = fields[number % len(fields)]
        field.setFocus()
        QTest.keyClick(field, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
        assert dialog.draft.state == state
    assert not dialog.undo_button.isEnabled()
    assert dialog.heads["title"].text() == ""
    for state in seen[1:]:
        click(dialog.redo_button)
        assert dialog.draft.state == state
    assert not dialog.redo_button.isEnabled()
    assert dialog.form.table() == dialog.draft.tables[dialog.list.currentRow()]


def test_after_saving_it_can_still_be_undone_and_saved_again(edited):
    _, path, dialog = edited
    notes_file(path).write_text("")
    click(dialog.add_button)
    write(dialog.form.text, "One")
    click(dialog.add_button)
    write(dialog.form.text, "Two")
    click(dialog.save_button)
    click(dialog.remove_button)
    click(dialog.save_button)
    click(dialog.undo_button)
    assert [table["text"] for table in dialog.draft.tables] == ["One", "Two"]
    click(dialog.save_button)
    assert [table["text"] for table in tomllib.loads(notes_file(path).read_text())["note"]] == ["One", "Two"]
    assert not dialog.changed
    click(dialog.redo_button)
    assert [table["text"] for table in dialog.draft.tables] == ["One"]


def test_a_lesson_is_tried_from_the_chosen_note_as_it_is_now(edited, qtbot):
    window, path, dialog = edited
    cursor = window.board.cursor_of_time
    for minutes in (5, 10, 15):
        cursor.move(cursor.first + minutes * 60 * S)
        click(dialog.add_button)
        write(dialog.form.text, f"Minute {minutes}")
    dialog.list.setCurrentRow(1)
    click(dialog.try_button)
    course, run = window.teaching.course, window.teaching.run
    assert course.index == 1
    qtbot.waitUntil(lambda: course.phase == "telling", timeout=20_000)
    assert cursor.instant == cursor.first + 600 * S
    assert run.strip.words.told()[0] == kept_together("Minute 10")
    assert len(window.teaching.flags.flags) == 3
    click(run.strip.end)
    assert dialog.isVisible()
    assert window.teaching.flags.flags == []
    assert not notes_file(path).exists()
    dialog.form.text.setPlainText("")
    click(dialog.try_button)
    assert window.teaching.course is None
    assert dialog.told.text() == "Note 2: write a text."


def test_a_demo_without_notes_is_not_said_to_have_some(open_window):
    window = open_window(load(Wanted((demo_path("load-step"),)), lambda *_: None))
    dialog = window.teaching.show_editor()
    assert dialog.told.text() == "There are no notes yet."
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
