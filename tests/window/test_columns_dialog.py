"""Settling which column is which, by mouse and by keyboard, tried live, and kept in the site sheet."""

import math
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QLineEdit
from test_main_geometry import SCALES, checked, settle
from test_main_window import drop, opened

from desktop import languages
from desktop.opening import open_recording
from desktop.sheet.columns import Use, question
from desktop.window.columns import preview as columns_preview
from desktop.window.columns.dialog import ColumnsDialog
from desktop.window.columns.words import both_ways
from desktop.window.opening import Wanted
from desktop.window.style import theme

LEFT = Qt.MouseButton.LeftButton
SHIFT = Qt.KeyboardModifier.ShiftModifier

HEADER = "Time;Gen P;House [W];Home meter [W];Bat charge [W];Bat discharge [W];SoC %;Energy [kWh];Remark"


def rows(stamp="2026-02-14T10:{m:02d}:{s:02d}Z", header=HEADER, unit=1.0, count=240) -> str:
    """A plant in which generator = house + charger, and the battery gets 94 % of what the charger takes."""
    lines = [header]
    for number in range(count):
        house = 500 + 200 * math.sin(number / 20)
        generator = 3000 if number > 80 else 0
        through = generator - house
        battery = through * 0.94 if through > 0 else through / 0.94
        lines.append(
            f"{stamp.format(m=number // 60, s=number % 60)};{generator * unit:g};{house:.0f};{house * 1.1:.0f};"
            f"{max(battery, 0):.0f};{max(-battery, 0):.0f};55;1.2;ok"
        )
    return "\n".join(lines) + "\n"


@pytest.fixture(autouse=True)
def _quick_lists():
    """A list that opens takes a click at once, instead of waiting whether the first click was a double one."""
    before = QApplication.doubleClickInterval()
    QApplication.setDoubleClickInterval(1)
    yield
    QApplication.setDoubleClickInterval(before)


@pytest.fixture
def two_houses(tmp_path: Path) -> Path:
    """A log in which two columns may be the house's load."""
    path = tmp_path / "barn log.csv"
    path.write_text(rows())
    return path


@pytest.fixture
def show(qtbot, open_window):
    """Shows the dialog for a file, as it is; every thread has ended when the test has."""
    shown: list[ColumnsDialog] = []

    def make(path: Path) -> ColumnsDialog:
        dialog = open_window().show_columns(Wanted((path,)), question([path]))
        shown.append(dialog)
        qtbot.waitExposed(dialog)
        done(qtbot, dialog)
        return dialog

    yield make
    for dialog in shown:
        dialog.reject()
        assert not dialog.trials.busy


def done(qtbot, dialog: ColumnsDialog) -> None:
    qtbot.waitUntil(lambda: not dialog.trials.busy, timeout=20_000)
    settle()


def pick(qtbot, box: QComboBox, text: str) -> None:
    """Choose an entry with the mouse, from the list that opens."""
    qtbot.mouseClick(box, LEFT)
    qtbot.wait(5)
    row = box.findText(text)
    assert row >= 0, [box.itemText(each) for each in range(box.count())]
    view = box.view()
    index = box.model().index(row, 0)
    view.scrollTo(index)
    settle()
    qtbot.mouseClick(view.viewport(), LEFT, pos=view.visualRect(index).center())
    settle()


def row_of(dialog: ColumnsDialog, header: str) -> int:
    return next(row for row, each in enumerate(dialog.table.columns) if each.header == header)


def click_row(qtbot, dialog: ColumnsDialog, header: str) -> None:
    index = dialog.table.index(row_of(dialog, header), 0)
    dialog.list.scrollTo(index)
    qtbot.mouseClick(dialog.list.viewport(), LEFT, pos=dialog.list.visualRect(index).center())


def told(dialog: ColumnsDialog, header: str) -> list[str]:
    row = row_of(dialog, header)
    return [dialog.table.index(row, column).data() for column in range(dialog.table.columnCount())]


def asked(window, qtbot) -> ColumnsDialog:
    qtbot.waitUntil(lambda: bool(window.findChildren(ColumnsDialog)), timeout=20_000)
    dialog = window.findChildren(ColumnsDialog)[-1]
    done(qtbot, dialog)
    return dialog


def test_an_unclear_log_is_settled_by_mouse_and_opened(open_window, two_houses, qtbot):
    window = open_window()
    drop(window, two_houses)
    dialog = asked(window, qtbot)
    assert dialog.told.text() == "Several columns fit: House load. Say which column it is."
    assert not dialog.save.isEnabled()
    assert told(dialog, "Gen P")[2] == "Generator power"
    assert told(dialog, "House [W]")[2] == told(dialog, "Home meter [W]")[2] == "House load?"
    assert 'by "house"' in dialog.editor.evidence.text()
    assert dialog.editor.rivals.text() == "Other columns that fit it too: Home meter [W]."
    pick(qtbot, dialog.editor.channel, "House load")
    qtbot.waitUntil(dialog.save.isEnabled, timeout=20_000)
    assert dialog.told.text().startswith("Can be read, and the powers add up in 100 % of the rows")
    assert told(dialog, "Home meter [W]")[2] == "Not used"
    assert told(dialog, "House [W]")[5] == "0.30 kW to 0.70 kW"
    assert told(dialog, "Bat charge [W]")[4:] == ["+", told(dialog, "Bat discharge [W]")[5]]
    assert told(dialog, "Bat discharge [W]")[4] == "−"
    assert str(two_houses.with_suffix(".toml")) in dialog.kept.text()
    qtbot.mouseClick(dialog.save, LEFT)
    opened(window, qtbot)
    assert window.ready.review.balance.in_balance_share == 1.0
    assert two_houses.with_suffix(".toml").read_text() == '[columns]\nload_power = {column = "House [W]"}\n'
    assert open_recording(two_houses)[0].channels[:2] == ("generator_power", "load_power")


def test_it_is_settled_by_keyboard_alone(open_window, two_houses, qtbot):
    window = open_window()
    drop(window, two_houses)
    dialog = asked(window, qtbot)
    assert dialog.list.hasFocus()
    QTest.keyClick(dialog.list, Qt.Key.Key_Down)
    assert dialog.editor.name.text() == "Home meter [W]"
    box = dialog.editor.channel
    for _ in range(8):
        if box.hasFocus():
            break
        QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
    assert box.hasFocus()
    QTest.keyClicks(box, "House l")
    done(qtbot, dialog)
    assert told(dialog, "Home meter [W]")[2] == "House load"
    assert "add up" in dialog.told.text()
    QTest.keyClick(box, Qt.Key.Key_Return)
    opened(window, qtbot)
    assert window.ready.review.recording.provenance.columns["load_power"].column == "Home meter [W]"


def test_what_is_cancelled_is_told_and_nothing_is_written(open_window, two_houses, qtbot):
    window = open_window()
    drop(window, two_houses)
    dialog = asked(window, qtbot)
    QTest.keyClick(dialog.list, Qt.Key.Key_Escape)
    assert "two columns fit load_power equally well" in window.notice.line.text()
    assert not two_houses.with_suffix(".toml").exists()
    assert window.ready is None


def test_the_columns_of_what_is_open_are_looked_at_and_changed(open_window, overload, tmp_path, qtbot):
    path = tmp_path / "copy.csv"
    path.write_bytes(overload.read_bytes())
    sheet = path.with_suffix(".toml")
    sheet.write_text("# Kept.\n" + overload.with_suffix(".toml").read_text())
    window = open_window()
    window.open_paths(Wanted((path,)))
    opened(window, qtbot)
    QTest.keyClick(window, Qt.Key.Key_F4, SHIFT)
    dialog = asked(window, qtbot)
    assert dialog.save.isEnabled()
    click_row(qtbot, dialog, "load_power [W]")
    pick(qtbot, dialog.editor.channel, "Not used")
    done(qtbot, dialog)
    before = window.ready
    qtbot.mouseClick(dialog.save, LEFT)
    qtbot.waitUntil(lambda: window.ready is not before and not window.opener.busy, timeout=30_000)
    assert "load_power" not in window.ready.review.recording
    assert sheet.read_text().startswith("# Kept.\n")
    assert 'load_power = {column = ""}' in sheet.read_text()


def test_a_wrong_sign_and_a_wrong_unit_are_seen_at_once(show, tmp_path, qtbot):
    path = tmp_path / "signs.csv"
    path.write_text(
        rows(header="Time;Gen P [W];House [W];X;Bat charge [W];Bat discharge [W];SoC %;Energy [kWh];Remark")
    )
    dialog = show(path)
    assert dialog.told.text().startswith("Can be read, and the powers add up")
    click_row(qtbot, dialog, "Gen P [W]")
    qtbot.mouseClick(dialog.editor.turned, LEFT, pos=QPoint(8, dialog.editor.turned.height() // 2))
    done(qtbot, dialog)
    assert told(dialog, "Gen P [W]")[4:] == ["−", "−3.00 kW to 0 W"]
    assert dialog.told.text().startswith("Can be read, but the powers add up in")
    assert dialog.tried.draft.site().columns["generator_power"].sign == -1
    qtbot.mouseClick(dialog.editor.turned, LEFT, pos=QPoint(8, dialog.editor.turned.height() // 2))
    pick(qtbot, dialog.editor.unit, "kW")
    done(qtbot, dialog)
    assert "readings that can't be" in dialog.told.text()
    assert not dialog.save.isEnabled()
    pick(qtbot, dialog.editor.unit, "W, as the header says")
    done(qtbot, dialog)
    assert dialog.told.text().startswith("Can be read, and the powers add up")


def test_a_power_that_may_be_watts_or_kilowatts_is_asked_about(open_window, tmp_path, qtbot):
    path = tmp_path / "kilo.csv"
    path.write_text(rows(header=HEADER.replace("Home meter [W]", "Other"), unit=0.001))
    window = open_window()
    drop(window, path)
    dialog = asked(window, qtbot)
    assert 'Column "Gen P" gives no unit' in dialog.told.text()
    assert dialog.editor.name.text() == "Gen P"
    assert dialog.editor.unit.currentText() == "Not told: W is taken"
    pick(qtbot, dialog.editor.unit, "kW")
    done(qtbot, dialog)
    assert dialog.told.text().startswith("Can be read, and the powers add up")
    qtbot.mouseClick(dialog.save, LEFT)
    opened(window, qtbot)
    assert 'generator_power = {column = "Gen P", unit = "kW"}' in path.with_suffix(".toml").read_text()


def test_what_is_right_already_is_confirmed_by_choosing_it_again(show, tmp_path, qtbot):
    path = tmp_path / "fine.csv"
    path.write_text(rows(header=HEADER.replace("Home meter [W]", "Other")))
    dialog = show(path)
    assert dialog.tried.draft.site().columns == {}
    click_row(qtbot, dialog, "House [W]")
    pick(qtbot, dialog.editor.channel, "House load")
    done(qtbot, dialog)
    assert list(dialog.tried.draft.site().columns) == ["load_power"]


def test_columns_with_one_direction_each_are_put_together(show, tmp_path, qtbot):
    path = tmp_path / "ways.csv"
    path.write_text(rows(header="Time;Gen P [W];House [W];X;A1;A2;SoC %;Energy [kWh];Remark"))
    dialog = show(path)
    click_row(qtbot, dialog, "A1")
    pick(qtbot, dialog.editor.channel, "Battery power")
    click_row(qtbot, dialog, "A2")
    pick(qtbot, dialog.editor.channel, "Battery power")
    assert told(dialog, "A1")[2] == "Not used"
    assert dialog.editor.added.text() == "&Together with “A1”"
    qtbot.mouseClick(dialog.editor.added, LEFT, pos=QPoint(8, dialog.editor.added.height() // 2))
    qtbot.mouseClick(dialog.editor.turned, LEFT, pos=QPoint(8, dialog.editor.turned.height() // 2))
    done(qtbot, dialog)
    assert dialog.told.text().startswith("Can be read, and the powers add up in 100 %")
    rule = dialog.tried.draft.site().columns["battery_power"]
    assert (rule.column, rule.less) == ("A1", "A2")
    qtbot.mouseClick(dialog.editor.added, LEFT, pos=QPoint(8, dialog.editor.added.height() // 2))
    assert told(dialog, "A1")[2] == "Not used"


def test_open_dates_are_asked_about_and_kept(open_window, tmp_path, qtbot):
    path = tmp_path / "dates.csv"
    path.write_text(
        rows(
            "03/04/2026 10:{m:02d}:{s:02d}",
            HEADER.replace("Home meter [W]", "Other").replace("Gen P", "Gen P [W]"),
        )
    )
    window = open_window()
    drop(window, path)
    dialog = asked(window, qtbot)
    assert dialog.told.text() == "Dates in this file may be day first or month first. Say which."
    assert dialog.day.isVisible()
    assert "2026-04-03" in dialog.day.text()
    assert not dialog.save.isEnabled()
    qtbot.mouseClick(dialog.month, LEFT, pos=QPoint(8, dialog.month.height() // 2))
    done(qtbot, dialog)
    assert dialog.read.index(0, 0).data().startswith("2026-03-04")
    qtbot.mouseClick(dialog.save, LEFT)
    opened(window, qtbot)
    assert path.with_suffix(".toml").read_text() == '[site]\ndates = "month first"\n'
    assert not window.findChildren(ColumnsDialog) or not window.findChildren(ColumnsDialog)[-1].isVisible()


def test_a_rule_that_fits_no_column_is_asked_about(open_window, two_houses, qtbot):
    sheet = two_houses.with_suffix(".toml")
    sheet.write_text('[columns]\nload_power = { column = "Hous" }\n')
    window = open_window()
    drop(window, two_houses)
    dialog = asked(window, qtbot)
    assert not dialog.save.isEnabled()
    dialog.choose(dialog.table.columns[row_of(dialog, "House [W]")].index, Use("load_power"))
    done(qtbot, dialog)
    qtbot.mouseClick(dialog.save, LEFT)
    opened(window, qtbot)
    assert 'Hous"' not in sheet.read_text()


def test_the_rows_show_what_the_file_says_and_what_is_read(show, two_houses, qtbot):
    dialog = show(two_houses)
    assert dialog.raw.model().headerData(1, Qt.Orientation.Horizontal) == "Gen P"
    assert dialog.raw.model().index(0, 2).data() == "500"
    click_row(qtbot, dialog, "SoC %")
    assert dialog.raw.currentIndex().column() == 6
    dialog.raw.setCurrentIndex(dialog.raw.model().index(3, 2))
    assert dialog.editor.name.text() == "House [W]"
    pick(qtbot, dialog.editor.channel, "House load")
    done(qtbot, dialog)
    titles = [
        dialog.read.headerData(each, Qt.Orientation.Horizontal) for each in range(dialog.read.columnCount())
    ]
    assert titles[:3] == ["Time", "Generator power", "House load"]
    assert dialog.read.index(0, 0).data() == "2026-02-14 10:00:00"
    assert dialog.read.index(0, 2).data() == "0.50 kW"


def test_a_sheet_that_cannot_be_written_is_told(show, two_houses, qtbot):
    dialog = show(two_houses)
    pick(qtbot, dialog.editor.channel, "House load")
    done(qtbot, dialog)
    two_houses.with_suffix(".toml").write_text("# somebody else's\n")
    qtbot.mouseClick(dialog.save, LEFT)
    assert dialog.isVisible()
    assert "changed by something else" in dialog.told.text()


def test_a_long_log_is_tried_on_its_first_rows(show, two_houses, monkeypatch, qtbot):
    monkeypatch.setattr(columns_preview, "_MOST_BYTES", 4000)
    dialog = show(two_houses)
    pick(qtbot, dialog.editor.channel, "House load")
    done(qtbot, dialog)
    count = len(dialog.tried.recording)
    assert 50 < count < 240
    assert dialog.told.text().endswith(f"This was tried on the first {count} rows.")


def test_only_what_was_asked_for_last_is_shown(show, two_houses, qtbot):
    dialog = show(two_houses)
    index = dialog.table.columns[row_of(dialog, "House [W]")].index
    for channel in ("load_power", "grid_power", "dc_load_power", "load_power"):
        dialog.choose(index, Use(channel))
        assert not dialog.save.isEnabled()
    done(qtbot, dialog)
    assert "load_power" in dialog.tried.recording
    assert "grid_power" not in dialog.tried.recording


@pytest.mark.parametrize(("name", "language"), [("light", "de"), ("dark", "en")])
@pytest.mark.parametrize("scale", SCALES)
def test_nothing_is_cut_off(request, open_window, two_houses, qtbot, scale, name, language):
    request.addfinalizer(lambda: languages.use("en"))
    languages.use(language)
    window = open_window()
    window.set_theme(name)
    window.set_text_scale(scale)
    dialog = window.show_columns(Wanted((two_houses,)), question([two_houses]))
    dialog.resize(1264, 672)
    dialog._show_dates(True)
    done(qtbot, dialog)
    assert (dialog.width(), dialog.height()) == (1264, 672)
    assert checked(dialog) > 8
    assert theme.current() == name
    for view in (dialog.list, dialog.raw):
        assert view.viewport().height() >= 2 * view.rowHeight(0)
        for column in range(view.model().columnCount()):
            assert view.columnWidth(column) >= view.sizeHintForColumn(column)
    dialog.reject()


def test_the_columns_of_a_demo_are_looked_at_and_never_changed(open_window, qtbot):
    window = open_window()
    window.open_demo(window.demos[0])
    opened(window, qtbot)
    window.ask_columns()
    dialog = asked(window, qtbot)
    assert dialog.told.text().startswith("Can be read")
    assert not dialog.save.isEnabled()
    assert "stays as it is" in dialog.kept.text()
    dialog.reject()


def test_closing_the_window_closes_the_question(open_window, two_houses, qtbot):
    window = open_window()
    drop(window, two_houses)
    dialog = asked(window, qtbot)
    assert window.close()
    assert not dialog.trials.busy


def test_every_field_has_a_name_and_a_label(show, two_houses):
    dialog = show(two_houses)
    for kind in (QComboBox, QLineEdit):
        assert all(each.accessibleName() for each in dialog.findChildren(kind))
    assert dialog.list.accessibleName()
    assert dialog.raw.accessibleName()
    buddies = {each.buddy() for each in dialog.findChildren(QLabel) if each.buddy() is not None}
    assert {dialog.editor.channel, dialog.editor.unit} <= buddies


@pytest.mark.parametrize(
    ("cell", "ways"),
    [
        ("03/04/2026 10:00", ("2026-04-03", "2026-03-04")),
        ("3.4.26", ("2026-04-03", "2026-03-04")),
        ("2026-04-03", ("", "")),
        ("12.5", ("", "")),
    ],
)
def test_a_date_both_ways(cell, ways):
    assert both_ways(cell) == ways
