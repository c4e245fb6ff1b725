"""Refills and appliances in the site sheet's form: added, edited, removed, and what is wrong or missing."""

from datetime import datetime

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from test_main_geometry import settle
from test_main_window import opened

from desktop.sheet.editing import SheetDraft
from desktop.sheet.keys import SECTIONS
from desktop.window.opening import Wanted
from desktop.window.sheet.entries import EntriesEditor

LEFT = Qt.MouseButton.LeftButton
SHEET = """
[[appliance]]
name = "Fridge"
watts = 120
hours_per_day = 8

[[refill]]
at = 2025-01-21T18:30:00
amount = 18
full = true
"""


@pytest.fixture
def path(overload, tmp_path):
    path = tmp_path / "barn.csv"
    path.write_bytes(overload.read_bytes())
    path.with_suffix(".toml").write_text(overload.with_suffix(".toml").read_text() + SHEET)
    return path


@pytest.fixture
def dialog(open_window, path, qtbot):
    window = open_window()
    window.open_paths(Wanted((path,)))
    opened(window, qtbot)
    window.show_sheet()
    found = window.sheet.dialog
    yield found
    found.show_draft(found.draft)
    found.reject()


def page(dialog, section: str) -> EntriesEditor:
    dialog.sections.setCurrentRow(list(SECTIONS).index(section))
    settle()
    return dialog.pages[section].editor


def field(row, key: str):
    return next(each for each in row.fields if each.key.key == key)


def type_into(line, text: str) -> None:
    line.setFocus()
    QTest.keyClick(line, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    QTest.keyClick(line, Qt.Key.Key_Backspace)
    QTest.keyClicks(line, text)
    settle()


def test_entries_are_shown_as_they_are_written(dialog):
    (fridge,) = page(dialog, "appliance").rows
    assert field(fridge, "name").widget.text() == "Fridge"
    assert field(fridge, "watts").widget.text() == "120"
    assert field(fridge, "count").widget.placeholderText() == "1 (assumed)"
    (refill,) = page(dialog, "refill").rows
    assert field(refill, "at").widget.text() == "2025-01-21 18:30"
    assert field(refill, "full").widget.currentText() == "yes"
    assert not dialog.changed


def test_an_entry_is_added_by_key_and_written(dialog, path, qtbot):
    editor = page(dialog, "appliance")
    editor.add.setFocus()
    qtbot.keyClick(editor.add, Qt.Key.Key_Space)
    row = editor.rows[1]
    assert field(row, "name").widget.hasFocus()
    assert field(row, "name").widget.accessibleName() == "Appliance 2, Name"
    for key, text in (("name", "Pump"), ("watts", "900"), ("since", "6"), ("until", "8,5")):
        type_into(field(row, key).widget, text)
    assert dialog.save()
    saved = SheetDraft.load(path.with_suffix(".toml"))
    assert saved.entries("appliance")[1] == {"name": "Pump", "watts": 900, "since": 6, "until": 8.5}
    assert saved.entries("refill") == [{"at": datetime(2025, 1, 21, 18, 30), "amount": 18, "full": True}]
    assert "watts = 900\n" in saved.text


def test_what_is_needed_is_missed_once_a_row_says_anything(dialog, qtbot):
    editor = page(dialog, "refill")
    qtbot.mouseClick(editor.add, LEFT)
    row = editor.rows[1]
    assert editor.wrong() == 0
    assert not dialog.changed
    type_into(field(row, "amount").widget, "12")
    assert field(row, "at").fault.text() == "◆ Here goes a date and time such as 2026-02-14 08:30."
    assert dialog.sections.item(list(SECTIONS).index("refill")).text() == "Refills ◆ 1"
    type_into(field(row, "at").widget, "5")
    assert field(row, "at").fault.isVisible()
    type_into(field(row, "at").widget, "2025-01-22 07:15")
    assert editor.wrong() == 0
    assert editor.entries()[1] == {"at": datetime(2025, 1, 22, 7, 15), "amount": 12}


def test_an_entry_is_removed_and_the_others_are_counted_anew(dialog, qtbot):
    editor = page(dialog, "appliance")
    qtbot.mouseClick(editor.add, LEFT)
    type_into(field(editor.rows[1], "name").widget, "Lamp")
    type_into(field(editor.rows[1], "watts").widget, "9")
    qtbot.mouseClick(editor.rows[0].remove, LEFT)
    settle()
    assert [row.title.text() for row in editor.rows] == ["Appliance 1"]
    assert editor.rows[0].remove.accessibleName() == "Remove appliance 1"
    assert dialog._filled().entries("appliance") == [{"name": "Lamp", "watts": 9}]


def test_charging_from_the_grid_is_a_choice_of_yes_and_no(dialog, path):
    dialog.sections.setCurrentRow(list(SECTIONS).index("charger"))
    settle()
    box = field(dialog.pages["charger"], "on_grid").widget
    assert [box.itemText(row) for row in range(box.count())] == ["not known", "yes", "no"]
    QTest.keyClick(box, Qt.Key.Key_End)
    QTest.keyClick(box, Qt.Key.Key_Return)
    assert dialog.save()
    assert "on_grid = false\n" in path.with_suffix(".toml").read_text()
    assert dialog.pages["generator"].fields[2].key.key == "legs"
    legs = dialog.pages["generator"].fields[2].widget
    assert [legs.itemText(row) for row in range(1, legs.count())] == ["1", "2", "3"]


def test_fields_stand_beside_one_another_where_there_is_room(dialog):
    editor = page(dialog, "appliance")
    row = editor.rows[0]
    dialog.resize(1250, 700)
    settle()
    tops = {part.y() for part in row._parts}
    assert len(tops) < len(row.fields)
    assert row.minimumSizeHint().width() < row.width()


def test_scale_and_offset_of_a_rule_are_told(dialog):
    rule = '[columns]\nload_power = { column = "load_power [W]", scale = 0.5, offset = -40.0 }\n'
    dialog.show_draft(SheetDraft(rule))
    words = dialog.pages["columns"].rules.text()
    assert "times 0.5" in words
    assert "plus −40 W" in words
