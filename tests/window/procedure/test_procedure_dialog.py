"""The procedure as a person goes through it: by keyboard, beside a replay, and with nothing open."""

from pathlib import Path

import pytest
from painted_words import words_of
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QAccessible, QGuiApplication
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from test_main_geometry import SCALES, checked
from test_main_window import action

from desktop.opening import open_recording
from desktop.picture.palette import contrast
from desktop.procedure.steps import STEPS
from desktop.review import review
from desktop.window import language
from desktop.window.opening import Ready, Wanted, prepared
from desktop.window.procedure.dialog import ProcedureDialog
from desktop.window.procedure.printing import print_on
from desktop.window.shot import settle
from desktop.window.style import theme

DEMOS = Path(__file__).parents[3] / "recordings" / "demo"
SPACE, TAB = Qt.Key.Key_Space, Qt.Key.Key_Tab


@pytest.fixture(scope="session")
def healthy_review():
    return review(*open_recording(DEMOS / "healthy-charge.csv"))


@pytest.fixture
def healthy(healthy_review) -> Ready:
    return prepared(healthy_review, Wanted((DEMOS / "healthy-charge.csv",)))


@pytest.fixture
def asked(open_window, qtbot):
    """Opens the procedure by its key beside a window."""

    def ask(ready: Ready | None = None, row: int | None = None):
        window = open_window(ready)
        if row is not None:
            go(window, row)
        QTest.keyClick(window, Qt.Key.Key_F1)
        dialog = shown(window)
        qtbot.waitExposed(dialog)
        settle(dialog)
        return window, dialog

    return ask


def shown(window) -> ProcedureDialog:
    return next(each for each in window.findChildren(ProcedureDialog) if each.isVisible())


def go(window, row: int) -> None:
    window.board.cursor_of_time.move(int(window.ready.review.recording.time[row]))
    window.board.pace.now()
    QApplication.processEvents()


def tab_to(dialog: ProcedureDialog, key: str) -> None:
    """As a person does who has no mouse."""
    for _ in range(3 * len(STEPS)):
        if dialog.rows[key].box.hasFocus():
            return
        QTest.keyClick(QApplication.focusWidget() or dialog, TAB)
    pytest.fail(f"{key} can't be reached")


def test_without_a_recording_it_is_gone_through_by_keyboard_from_start_to_end(asked):
    _, dialog = asked()
    assert dialog.belongs.text() == "Follows no readings: every step is yours to tick."
    assert dialog.rows["outdoors"].box.hasFocus()
    for step in STEPS:
        assert str(step.text) in dialog.told.text()
        tab_to(dialog, step.key)
        QTest.keyClick(QApplication.focusWidget(), SPACE)
        assert dialog.rows[step.key].box.isChecked()
        assert dialog.rows[step.key].standing.text().startswith("Ticked at ")
    assert dialog.told.text() == "All steps are done."
    QTest.keyClick(QApplication.focusWidget(), SPACE)
    assert not dialog.rows[STEPS[-1].key].box.isChecked()
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()


def test_the_step_with_the_focus_is_in_sight(asked):
    _, dialog = asked()
    for step in STEPS:
        tab_to(dialog, step.key)
        box = dialog.rows[step.key].box
        assert dialog.list.viewport().rect().contains(box.mapTo(dialog.list.viewport(), box.rect().center()))


def test_it_follows_a_replay(asked, healthy):
    window, dialog = asked(healthy, 10)
    assert dialog.belongs.text() == "Follows Curlew Bothy at 09:30:20."
    assert dialog.rows["dead"].standing.text() == "Seen at 09:30:00"
    assert dialog.rows["start"].standing.text() == "Open"
    go(window, 185)
    assert dialog.rows["start"].standing.text() == "Seen at 09:36:06"
    assert "The line is live: 229 V." in dialog.rows["source_end"].standing.text()
    assert dialog.rows["source_end"].standing.tone == "act now"
    assert "The line is live: 229 V." in dialog.told.text()
    go(window, 1000)
    assert dialog.rows["charging"].box.isChecked()
    go(window, 10)
    assert not dialog.rows["charging"].box.isChecked()
    assert dialog.rows["start"].standing.text() == "Open"


def test_what_readings_show_nobody_takes_back(asked, healthy):
    _, dialog = asked(healthy, 1000)
    tab_to(dialog, "start")
    QTest.keyClick(QApplication.focusWidget(), SPACE)
    assert dialog.rows["start"].box.isChecked()
    assert dialog.rows["start"].standing.text() == "Seen at 09:36:06"


def test_ticks_stay_while_it_is_closed_and_go_with_the_recording(asked, healthy, ready):
    window, dialog = asked(healthy, 10)
    tab_to(dialog, "alarms")
    QTest.keyClick(QApplication.focusWidget(), SPACE)
    assert dialog.rows["alarms"].standing.text() == "Ticked at 09:30:20"
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    window.activateWindow()
    QApplication.processEvents()
    QTest.keyClick(window, Qt.Key.Key_F1)
    assert shown(window).rows["alarms"].box.isChecked()
    window.show_ready(ready)
    QApplication.processEvents()
    assert not shown(window).rows["alarms"].box.isChecked()
    assert shown(window).belongs.text().startswith("Follows Tern Rock Cottage")


def test_the_menu_brings_the_same_list_to_the_front(asked, healthy):
    window, dialog = asked(healthy, 10)
    assert not dialog.isModal()
    action(window, "Help", "Procedure").trigger()
    assert shown(window) is dialog


def test_begin_anew_by_its_key(asked, healthy, qtbot):
    _, dialog = asked(healthy, 1000)
    tab_to(dialog, "outdoors")
    QTest.keyClick(QApplication.focusWidget(), SPACE)
    QTest.keyClick(dialog, Qt.Key.Key_B, Qt.KeyboardModifier.AltModifier)
    qtbot.waitUntil(lambda: not dialog.rows["outdoors"].box.isChecked())
    assert dialog.rows["start"].box.isChecked()


def test_copying_and_printing(asked, ready, tmp_path, qtbot):
    window, dialog = asked(ready)
    go(window, 1180)
    QGuiApplication.clipboard().clear()
    QTest.keyClick(dialog, Qt.Key.Key_C, Qt.KeyboardModifier.AltModifier)
    qtbot.waitUntil(lambda: bool(QGuiApplication.clipboard().text()))
    text = QGuiApplication.clipboard().text()
    assert "[x] See that the line from the generator is dead." in text
    assert "Contradicted. It stopped under load." in text
    assert "Caution: Exhaust gas kills without warning." in text
    assert "not a protective device" in text
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "procedure.pdf"))
    print_on(printer, dialog.lines())
    content = (tmp_path / "procedure.pdf").read_bytes()
    assert content.startswith(b"%PDF")
    assert len(content) > 10_000


def test_printing_is_asked_for_by_its_standard_key(asked, healthy):
    _, dialog = asked(healthy)
    QTest.keyClick(dialog, Qt.Key.Key_P, Qt.KeyboardModifier.ControlModifier)
    printing = dialog.findChild(QPrintDialog)
    assert printing is not None
    printing.reject()


def test_a_screen_reader_is_told_all_of_a_step(asked, ready):
    window, dialog = asked(ready)
    go(window, 1180)
    box = QAccessible.queryAccessibleInterface(dialog.rows["cool"].box)
    assert box.role() == QAccessible.Role.CheckBox
    said = box.text(QAccessible.Text.Name)
    assert said.startswith("Let it run on without load")
    assert "Contradicted. It stopped under load." in said
    assert "Caution" in QAccessible.queryAccessibleInterface(dialog.rows["interlock"].box).text(
        QAccessible.Text.Name
    )


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("spoken", ["en", "de"])
def test_nothing_is_cut_off_or_covered(asked, ready, scale, spoken):
    window, dialog = asked(ready)
    window.set_language(spoken)
    window.set_text_scale(scale)
    dialog = shown(window)
    settle(dialog)
    for row in (300, 1150, 1180):
        go(window, row)
        settle(dialog)
        assert checked(dialog) > 4 * len(STEPS) - 30
        assert dialog.list.horizontalScrollBar().maximum() == 0
    language.apply("en")


@pytest.mark.parametrize("name", ["light", "dark"])
def test_words_stand_out_in_both_themes(asked, ready, name):
    window, dialog = asked(ready)
    window.set_theme(name)
    go(window, 1180)
    settle(dialog)
    grounds = [theme.colour(role).name() for role in ("ground", "standing")]
    told = [word for word in words_of(dialog) if word.widget.window() is dialog]
    listed = [word for word in told if any(row.isAncestorOf(word.widget) for row in dialog.rows.values())]
    assert len(listed) > len(STEPS)
    for word in listed:
        assert min(contrast(word.colour, ground) for ground in grounds) >= 4.5, word


def test_boxes_are_large_enough_to_be_hit(asked):
    _, dialog = asked()
    # WCAG 2.2, 2.5.8: targets of at least 24 by 24.
    assert all(min(row.box.width(), row.box.height()) >= 24 for row in dialog.rows.values())


def test_states_differ_by_shape(asked, ready):
    window, dialog = asked(ready)
    go(window, 1180)
    settle(dialog)
    shapes = {}
    for key in ("outdoors", "charger", "start", "cool", "stop"):
        picture = dialog.rows[key].box.grab().toImage()
        ground = picture.pixelColor(0, 0)
        shapes[key] = tuple(
            picture.pixelColor(x, y) != ground
            for y in range(picture.height())
            for x in range(picture.width())
        )
    assert len(set(shapes.values())) == len(shapes)


def test_another_language_is_spoken_at_once(asked, healthy):
    window, dialog = asked(healthy, 1000)
    tab_to(dialog, "alarms")
    QTest.keyClick(QApplication.focusWidget(), SPACE)
    window.set_language("de")
    QApplication.processEvents()
    again = shown(window)
    assert again.rows["alarms"].box.isChecked()
    go(window, 10)
    assert not again.rows["alarms"].box.isChecked()
    assert not again.rows["start"].box.isChecked()
    window.set_language("en")


def test_the_window_closes_with_it(asked, healthy):
    class Watch(QObject):
        closed = False

        def eventFilter(self, watched, event):
            self.closed |= event.type() == QEvent.Type.Close
            return False

    window, dialog = asked(healthy, 10)
    watch = Watch()
    dialog.installEventFilter(watch)
    assert window.close()
    assert watch.closed
