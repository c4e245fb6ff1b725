"""Editing the site sheet as a person does: values, faults, re-review at once, writing, leaving."""

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt, QTimer
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QLineEdit, QMessageBox
from test_main_geometry import SCALES, checked, settle
from test_main_window import action, opened

from desktop import languages
from desktop.picture.palette import contrast
from desktop.sheet import facts
from desktop.sheet.editing import SheetDraft
from desktop.sheet.keys import SECTIONS, SINGLE
from desktop.window.opening import Wanted
from desktop.window.sheet.dialog import SheetDialog
from desktop.window.style import theme

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture(autouse=True)
def _nothing_is_asked_at_the_end(open_window):
    """A test that fails half-way must not leave a question that nobody answers."""
    yield
    for dialog in QApplication.topLevelWidgets():
        if isinstance(dialog, SheetDialog) and dialog.isVisible():
            dialog.show_draft(dialog.draft)
            dialog.reject()


@pytest.fixture
def recording(overload: Path, tmp_path: Path) -> Path:
    """A recording of our own, with a sheet that begins with a comment."""
    path = tmp_path / "barn.csv"
    path.write_bytes(overload.read_bytes())
    path.with_suffix(".toml").write_text("# The barn.\n" + overload.with_suffix(".toml").read_text())
    return path


@pytest.fixture
def editing(open_window, recording, qtbot):
    """A window with the recording, and the dialog."""
    window = open_window()
    window.open_paths(Wanted((recording,)))
    opened(window, qtbot)
    QTest.keyClick(window, Qt.Key.Key_F4)
    dialog = window.sheet.dialog
    qtbot.waitExposed(dialog)
    settle()
    return window, dialog


def line(dialog: SheetDialog, section: str, key: str) -> QLineEdit:
    """A key's field, brought into view."""
    dialog.sections.setCurrentRow(list(SECTIONS).index(section))
    found = next(each for each in dialog.pages[section].fields if each.key.key == key)
    settle()
    return found.widget


def type_into(field: QLineEdit, text: str) -> None:
    field.setFocus()
    QTest.keyClick(field, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    QTest.keyClick(field, Qt.Key.Key_Backspace)
    QTest.keyClicks(field, text)
    settle()


def fault(dialog: SheetDialog, section: str, key: str) -> str:
    found = next(each for each in dialog.pages[section].fields if each.key.key == key)
    return found.fault.text() if found.fault.isVisibleTo(dialog) else ""


def reviewed(window, qtbot, before) -> None:
    qtbot.waitUntil(lambda: window.ready is not before and not window.opener.busy, timeout=30_000)


def answer(button: str) -> None:
    """Press this button of the question that comes next."""

    def press() -> None:
        box = QApplication.activeModalWidget()
        if isinstance(box, QMessageBox):
            QTest.mouseClick(box.button(getattr(QMessageBox.StandardButton, button)), LEFT)

    QTimer.singleShot(50, press)


def test_the_form_shows_what_is_given_assumed_and_not_known(editing):
    _, dialog = editing
    assert line(dialog, "generator", "rated_w").text() == "4000"
    factor = line(dialog, "generator", "power_factor")
    assert (factor.text(), factor.placeholderText()) == ("", "1 (assumed)")
    assert line(dialog, "battery", "min_charge_c").placeholderText() == "not known"
    coupling = line(dialog, "solar", "coupling")
    assert coupling.currentText() == "DC side (assumed)"
    assert dialog.told.text() == "The sheet as it is written."
    assert not dialog.changed


def test_apply_reviews_at_once_keeps_the_cursor_and_writes_nothing(editing, recording, qtbot):
    window, dialog = editing
    text = recording.with_suffix(".toml").read_text()
    cursor, before = window.board.cursor_of_time, window.ready
    cursor.move(cursor.first + (cursor.last - cursor.first) // 3)
    instant = cursor.instant
    type_into(line(dialog, "generator", "rated_w"), "20000")
    assert dialog.told.text() == "Changed and not written yet."
    qtbot.mouseClick(dialog.apply_button, LEFT)
    reviewed(window, qtbot, before)
    assert window.ready.review.site.generator.rated_w == 20000
    assert window.ready.review.recording is before.review.recording
    assert window.board.cursor_of_time.instant == instant
    assert len(window.ready.review.findings) < len(before.review.findings)
    assert recording.with_suffix(".toml").read_text() == text
    assert window.sheet.dialog is dialog
    assert dialog.changed


def test_what_changes_the_reading_reads_again(editing, qtbot):
    window, dialog = editing
    before = window.ready
    box = line(dialog, "site", "stamp")
    QTest.keyClick(box, Qt.Key.Key_End)
    assert box.currentText() == "The end of an interval"
    QTest.keyClick(box, Qt.Key.Key_Return)
    reviewed(window, qtbot, before)
    assert window.ready.review.recording.time[0] < before.review.recording.time[0]


def test_save_writes_the_file_with_its_comments(editing, recording, qtbot):
    window, dialog = editing
    before = window.ready
    type_into(line(dialog, "input", "limit_a"), "21,5")
    assert fault(dialog, "input", "limit_a") == ""
    type_into(line(dialog, "generator", "altitude_m"), "1200")
    QTest.keyClick(dialog, Qt.Key.Key_S, Qt.KeyboardModifier.AltModifier)
    reviewed(window, qtbot, before)
    draft = SheetDraft.load(recording.with_suffix(".toml"))
    assert draft.text.startswith("# The barn.\n")
    assert draft.value("input", "limit_a") == 21.5
    assert draft.value("generator", "altitude_m") == 1200
    assert not dialog.changed
    assert dialog.told.text() == "The sheet as it is written."


def test_a_wrong_value_says_what_would_be_right_beside_the_field(editing, qtbot):
    window, dialog = editing
    before = window.ready
    type_into(line(dialog, "generator", "power_factor"), "1.2")
    assert fault(dialog, "generator", "power_factor") == "◆ Here goes a number above 0 and up to 1."
    item = dialog.sections.item(list(SECTIONS).index("generator"))
    assert item.text() == "Generator ◆ 1"
    assert item.data(Qt.ItemDataRole.AccessibleTextRole) == "Generator: 1 wrong"
    type_into(line(dialog, "battery", "capacity_kwh"), "1,500")
    assert "a number above 0" in fault(dialog, "battery", "capacity_kwh")
    assert dialog.told.text().startswith("Values that can't be right: 2.")
    dialog.sections.setCurrentRow(0)
    qtbot.mouseClick(dialog.apply_button, LEFT)
    settle()
    assert dialog.sections.currentRow() == list(SECTIONS).index("generator")
    assert line(dialog, "generator", "power_factor").hasFocus()
    assert window.ready is before
    assert not window.opener.busy
    type_into(line(dialog, "generator", "power_factor"), "0.9")
    type_into(line(dialog, "battery", "capacity_kwh"), "1500")
    assert dialog.told.text() == "Changed and not written yet."


def test_a_time_zone_that_is_none_is_refused(editing):
    _, dialog = editing
    zone = line(dialog, "site", "timezone").lineEdit()
    type_into(zone, "Mars/Crater")
    assert fault(dialog, "site", "timezone") == "◆ Here goes a time zone such as Europe/Berlin."
    type_into(zone, "America/Halifax")
    assert fault(dialog, "site", "timezone") == ""


def test_an_emptied_field_is_not_known_any_more(editing, recording, qtbot):
    window, dialog = editing
    before = window.ready
    type_into(line(dialog, "input", "limit_a"), "")
    qtbot.mouseClick(dialog.save_button, LEFT)
    reviewed(window, qtbot, before)
    assert window.ready.review.site.input.limit_a is None
    assert "limit_a" not in SheetDraft.load(recording.with_suffix(".toml")).table().get("input", {})


def test_meters_have_a_line_per_channel(editing, qtbot):
    window, dialog = editing
    before = window.ready
    page = dialog.pages["meters"]
    assert page.meters["grid_power"][0].widget.accessibleName() == "Grid power, Percent of reading"
    assert page.meters["grid_power"][0].widget.placeholderText() == "2 (assumed)"
    dialog.sections.setCurrentRow(list(SECTIONS).index("meters"))
    settle()
    type_into(page.meters["load_power"][0].widget, "3.5")
    qtbot.mouseClick(dialog.apply_button, LEFT)
    reviewed(window, qtbot, before)
    assert window.ready.review.site.meter("load_power").percent == 3.5


def test_devices_are_added_and_removed(editing, qtbot):
    _, dialog = editing
    page = dialog.pages["device"]
    dialog.sections.setCurrentRow(list(SECTIONS).index("device"))
    settle()
    qtbot.mouseClick(page.add, LEFT)
    QTest.keyClicks(page.devices[0].fields[0].widget, "modbus-tcp://10.0.0.5")
    box = page.devices[0].fields[1].widget
    QTest.keyClicks(box, "Bat")
    assert dialog._filled().devices() == [{"source": "modbus-tcp://10.0.0.5", "role": "battery"}]
    qtbot.mouseClick(page.devices[0].remove, LEFT)
    settle()
    assert dialog._filled().devices() == []
    assert not dialog.changed


def test_closing_asks_about_what_is_not_written(editing, recording, qtbot):
    window, dialog = editing
    before = window.ready
    type_into(line(dialog, "input", "limit_a"), "99")
    qtbot.mouseClick(dialog.apply_button, LEFT)
    reviewed(window, qtbot, before)
    answer("Cancel")
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert dialog.isVisible()
    answer("Discard")
    applied = window.ready
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    reviewed(window, qtbot, applied)
    assert window.sheet.dialog is None
    assert window.ready.review.site == before.review.site
    assert "99" not in recording.with_suffix(".toml").read_text()


def test_closing_the_window_asks_too(editing, recording):
    window, dialog = editing
    type_into(line(dialog, "input", "limit_a"), "99")
    answer("Cancel")
    assert not window.close()
    assert window.isVisible()
    answer("Save")
    assert window.close()
    assert "limit_a = 99\n" in recording.with_suffix(".toml").read_text()


def test_another_recording_takes_the_dialog_with_it(editing, overload, qtbot):
    window, _ = editing
    before = window.ready
    window.open_paths(Wanted((overload,)))
    reviewed(window, qtbot, before)
    assert window.sheet.dialog is None


def test_what_is_changed_stays_beside_another_recording_but_is_not_applied_to_it(editing, overload, qtbot):
    window, dialog = editing
    before = window.ready
    type_into(line(dialog, "input", "limit_a"), "99")
    window.open_paths(Wanted((overload,)))
    reviewed(window, qtbot, before)
    assert window.sheet.dialog is dialog
    assert not dialog.apply_button.isEnabled()
    assert dialog.save_button.isEnabled()


def test_the_sheet_of_a_demo_is_tried_and_never_written(open_window, qtbot):
    window = open_window()
    window.open_demo(window.demos[0])
    opened(window, qtbot)
    action(window, "File", "Site sheet…").trigger()
    dialog = window.sheet.dialog
    before = window.ready
    assert not dialog.save_button.isEnabled()
    type_into(line(dialog, "generator", "rated_w"), "1000")
    qtbot.mouseClick(dialog.apply_button, LEFT)
    reviewed(window, qtbot, before)
    assert window.ready.review.site.generator.rated_w == 1000
    applied = window.ready
    dialog.reject()
    reviewed(window, qtbot, applied)
    assert window.ready.review.site == before.review.site


def test_a_recording_without_a_sheet_gets_one(open_window, recording, qtbot):
    sheet = recording.with_suffix(".toml")
    sheet.unlink()
    window = open_window()
    window.open_paths(Wanted((recording,)))
    opened(window, qtbot)
    window.show_sheet()
    dialog = window.sheet.dialog
    before = window.ready
    assert dialog.told.text().startswith("There is no site sheet yet")
    type_into(line(dialog, "generator", "rated_w"), "5000")
    qtbot.mouseClick(dialog.save_button, LEFT)
    reviewed(window, qtbot, before)
    assert sheet.read_text() == "[generator]\nrated_w = 5000\n"
    dialog.reject()


def test_a_sheet_that_is_wrong_already_is_told(editing, recording):
    window, dialog = editing
    dialog.reject()
    recording.with_suffix(".toml").write_text("[generator]\nrated = 3\n")
    window.show_sheet()
    assert window.sheet.dialog is None
    assert "unknown key generator.rated" in window.notice.line.text()


def test_everything_is_reached_by_keyboard(editing):
    _, dialog = editing
    dialog.sections.setFocus()
    for row, section in enumerate(SECTIONS):
        assert dialog.sections.currentRow() == row
        fields = {each.widget for each in dialog.pages[section].fields}
        reached = set()
        for _ in range(3 * len(fields) + 12):
            QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
            now = QApplication.focusWidget()
            reached |= {each for each in fields if each is now or each.isAncestorOf(now)}
            if now is dialog.sections:
                break
        assert reached == fields, section
        assert dialog.sections.hasFocus()
        QTest.keyClick(dialog.sections, Qt.Key.Key_Down)


def test_every_field_has_a_name_a_label_and_an_explanation(editing):
    _, dialog = editing
    buddies = {each.buddy() for each in dialog.findChildren(QLabel) if each.buddy() is not None}
    for section, page in dialog.pages.items():
        for each in page.fields:
            assert each.widget.accessibleName()
            assert each.widget.accessibleDescription().endswith(".")
            if section != "meters" or each.key.key == "percent":
                assert each.widget in buddies
    shown = {each.key.path for page in dialog.pages.values() for each in page.fields}
    assert {each.path for each in SINGLE} <= shown


@pytest.mark.parametrize(("name", "language"), [("light", "de"), ("dark", "en")])
@pytest.mark.parametrize("scale", SCALES)
def test_nothing_is_cut_off(request, open_window, ready, qtbot, scale, name, language):
    request.addfinalizer(lambda: languages.use("en"))
    languages.use(language)
    window = open_window(ready)
    window.set_theme(name)
    window.set_text_scale(scale)
    window.show_sheet()
    dialog = window.sheet.dialog
    dialog.resize(1264, 672)
    settle()
    assert (dialog.width(), dialog.height()) == (1264, 672)
    dialog.pages["device"].add.click()
    for each in dialog.pages["generator"].fields:
        if facts.is_number(*each.key.path):
            each.line.setText("x")
    dialog._look()
    for row in range(dialog.sections.count()):
        dialog.sections.setCurrentRow(row)
        settle()
        page = dialog.stack.currentWidget()
        assert checked(page.widget()) >= 3
        assert page.viewport().width() >= page.widget().minimumSizeHint().width()
        assert dialog.sections.viewport().width() >= dialog.sections.sizeHintForColumn(0)
    assert checked(dialog) >= 10


def test_the_wheel_scrolls_past_a_choice(editing):
    _, dialog = editing
    box = line(dialog, "generator", "fuel")
    assert isinstance(box, QComboBox)
    before = box.currentIndex()
    event = QWheelEvent(
        QPointF(5, 5),
        QPointF(box.mapToGlobal(QPoint(5, 5))),
        QPoint(),
        QPoint(0, -240),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(box, event)
    assert box.currentIndex() == before


@pytest.mark.parametrize("name", ["light", "dark"])
def test_what_is_assumed_and_what_is_wrong_can_be_read(name):
    for text, ground in (("muted", "field"), ("attend", "window"), ("attend", "field"), ("muted", "button")):
        ratio = contrast(theme.colour_in(name, text).name(), theme.colour_in(name, ground).name())
        assert ratio >= 4.5, f"{text} on {ground} in {name}: {ratio:.2f}"
