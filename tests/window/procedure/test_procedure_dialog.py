"""The procedure as a person goes through it: by keyboard, beside a replay, and with nothing open."""

from pathlib import Path

import pytest
from painted_words import words_of
from PySide6.QtCore import QEvent, QObject, QPoint, QRect, Qt
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
FOR_A_PERSON = [step for step in STEPS[:12] if step.key != "dead"]
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
        if dialog.body.list.rows[key].box.hasFocus():
            return
        QTest.keyClick(QApplication.focusWidget() or dialog, TAB)
    pytest.fail(f"{key} can't be reached")


def press(dialog: ProcedureDialog) -> None:
    """The large button, by key."""
    dialog.body.main.setFocus()
    QTest.keyClick(dialog.body.main, SPACE)


def test_without_a_recording_it_is_gone_through_by_keyboard_from_start_to_end(asked):
    _, dialog = asked()
    assert dialog.belongs.text() == "Follows no readings: every step is yours to tick."
    assert dialog.body.main.hasFocus()
    for number, step in enumerate(STEPS, start=1):
        assert dialog.body.card.told.text() == f"{number}. {step.text}"
        assert dialog.body.main.text() == f"&Done: step {number}"
        QTest.keyClick(QApplication.focusWidget(), SPACE if number % 2 else Qt.Key.Key_Return)
        assert dialog.body.list.rows[step.key].box.isChecked()
        assert dialog.body.list.rows[step.key].standing.text().startswith("Ticked at ")
    assert dialog.body.card.told.text() == "All steps are done."
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()


def test_every_step_can_be_ticked_and_unticked_in_the_list_by_keyboard(asked):
    _, dialog = asked()
    for key in ("outdoors", "house_end", "refuel"):
        tab_to(dialog, key)
        QTest.keyClick(QApplication.focusWidget(), SPACE)
        assert dialog.body.list.rows[key].box.isChecked()
        QTest.keyClick(QApplication.focusWidget(), SPACE)
        assert not dialog.body.list.rows[key].box.isChecked()


def test_the_step_with_the_focus_is_in_sight(asked):
    _, dialog = asked()
    for step in STEPS:
        tab_to(dialog, step.key)
        box = dialog.body.list.rows[step.key].box
        assert (
            dialog.body.list.viewport()
            .rect()
            .contains(box.mapTo(dialog.body.list.viewport(), box.rect().center()))
        )


def test_it_follows_a_replay(asked, healthy):
    window, dialog = asked(healthy, 10)
    assert dialog.belongs.text() == "Follows Curlew Bothy at 09:30:20."
    assert dialog.body.list.rows["dead"].standing.text() == "Seen at 09:30:00"
    assert dialog.body.card.told.text().startswith("1. Put the generator outdoors")
    assert dialog.body.card.shown.text() == "Now: The meter reads no voltage on the line. Battery at 27 %."
    assert not dialog.body.card.banner.isVisible()
    assert dialog.body.list.rows["start"].standing.text() == "Open"
    go(window, 120)
    assert dialog.body.list.rows["start"].standing.text() == "Seen at 09:33:46"
    assert "The line is live: 229 V." in dialog.body.list.rows["source_end"].standing.text()
    assert dialog.body.list.rows["source_end"].standing.tone == "act now"
    assert dialog.body.card.banner.told.text() == "The line is live: 229 V. Touch nothing."
    assert dialog.body.main.text() == "&Connected already"
    go(window, 1000)
    assert dialog.body.list.rows["charging"].box.isChecked()
    go(window, 10)
    assert not dialog.body.list.rows["charging"].box.isChecked()
    assert dialog.body.list.rows["start"].standing.text() == "Open"


def test_what_readings_show_nobody_takes_back(asked, healthy):
    _, dialog = asked(healthy, 1000)
    tab_to(dialog, "start")
    QTest.keyClick(QApplication.focusWidget(), SPACE)
    assert dialog.body.list.rows["start"].box.isChecked()
    assert dialog.body.list.rows["start"].standing.text() == "Seen at 09:33:46"


def test_ticks_stay_while_it_is_closed_and_go_with_the_recording(asked, healthy, ready):
    window, dialog = asked(healthy, 10)
    tab_to(dialog, "alarms")
    QTest.keyClick(QApplication.focusWidget(), SPACE)
    assert dialog.body.list.rows["alarms"].standing.text() == "Ticked at 09:30:20"
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    window.activateWindow()
    QApplication.processEvents()
    QTest.keyClick(window, Qt.Key.Key_F1)
    assert shown(window).body.list.rows["alarms"].box.isChecked()
    window.show_ready(ready)
    QApplication.processEvents()
    assert not shown(window).body.list.rows["alarms"].box.isChecked()
    assert shown(window).belongs.text().startswith("Follows Tern Rock Cottage")


def test_the_menu_brings_the_same_list_to_the_front(asked, healthy):
    window, dialog = asked(healthy, 10)
    assert not dialog.isModal()
    action(window, "Help", "Procedure").trigger()
    assert shown(window) is dialog


def test_begin_anew_by_its_key_and_take_it_back(asked, healthy, qtbot):
    _, dialog = asked(healthy, 10)
    press(dialog)
    assert dialog.body.list.rows["outdoors"].box.isChecked()
    QTest.keyClick(dialog, Qt.Key.Key_N, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: not dialog.body.list.rows["outdoors"].box.isChecked())
    assert dialog.body.back.text() == "&Take back the new beginning"
    QTest.keyClick(dialog.body.back, SPACE)
    assert dialog.body.list.rows["outdoors"].box.isChecked()


def test_a_slip_of_the_hand_is_taken_back(asked, healthy):
    _, dialog = asked(healthy, 10)
    assert not dialog.body.back.isEnabled()
    press(dialog)
    press(dialog)
    assert dialog.body.back.text() == "&Take back step 2"
    QTest.keyClick(dialog.body.back, SPACE)
    assert dialog.body.card.told.text().startswith("2. Test the carbon monoxide alarms")
    assert dialog.body.list.rows["outdoors"].box.isChecked()


def test_the_large_button_says_that_the_cable_was_connected_before(asked, healthy):
    _, dialog = asked(healthy, 120)
    press(dialog)
    assert dialog.body.list.rows["source_end"].box.isChecked()
    assert not dialog.body.card.banner.isVisible()
    assert dialog.body.card.told.text().startswith("14. Let the generator warm up")


def test_the_large_button_waits_where_readings_tell(asked, healthy):
    window, dialog = asked(healthy, 10)
    for _ in FOR_A_PERSON:
        QTest.keyClick(QApplication.focusWidget(), SPACE)
    assert dialog.body.card.told.text().startswith("13. Start the generator")
    assert not dialog.body.main.isEnabled()
    assert dialog.body.main.text() == "The readings tick this"
    assert dialog.body.list.hasFocus()
    go(window, 120)
    assert dialog.body.main.hasFocus()
    assert dialog.body.card.told.text().startswith("14. Let the generator warm up")
    assert "The readings show 14 s of about 2 min" in dialog.body.card.state.text()
    assert dialog.body.main.text() == "&Done all the same: step 14"
    QTest.keyClick(QApplication.focusWidget(), SPACE)
    row = dialog.body.list.rows["warm"]
    assert row.standing.text() == (
        "Ticked against the readings at 09:34:00. The readings showed 14 s of about 2 min then."
    )
    assert row.box.isChecked()
    QTest.keyClick(dialog.body.back, SPACE)
    go(window, 175)
    assert row.standing.text().startswith("Seen at 09:35:46")
    assert dialog.body.card.told.text().startswith("15. Switch the house over")
    assert dialog.body.main.text() == "&Done: step 15"
    dialog.body.main.setFocus()
    QTest.keyClick(dialog.body.main, SPACE)
    assert dialog.body.card.told.text().startswith("16. Close the generator's breaker")


def test_a_trip_comes_in_sight_whatever_has_the_focus(asked, ready):
    window, dialog = asked(ready, 1140)
    tab_to(dialog, "alarms")
    go(window, 1180)
    settle(dialog)
    row = dialog.body.list.rows["unload"]
    seen = dialog.body.list.viewport().rect()
    assert seen.intersects(
        row.rect().translated(row.mapTo(dialog.body.list.viewport(), row.rect().topLeft()))
    )
    assert dialog.body.card.banner.told.text() == "The generator stopped under load at 17:24:18."
    assert dialog.body.scrolled.verticalScrollBar().value() == 0


def test_the_text_grows_by_the_windows_keys(asked, healthy):
    window, dialog = asked(healthy, 10)
    before = dialog.body.card.told.line.font().pointSizeF()
    QTest.keyClick(dialog, Qt.Key.Key_Plus, Qt.KeyboardModifier.ControlModifier)
    assert window.settings.text_scale == 1.25
    assert dialog.body.card.told.line.font().pointSizeF() > before
    QTest.keyClick(dialog, Qt.Key.Key_Minus, Qt.KeyboardModifier.ControlModifier)
    assert window.settings.text_scale == 1.0


def test_it_can_be_read_at_arms_length(asked, healthy):
    window, dialog = asked(healthy, 10)
    usual = dialog.body.card.told.line.font().pointSizeF()
    QTest.keyClick(dialog, Qt.Key.Key_L, Qt.KeyboardModifier.ControlModifier)
    settle(dialog)
    assert dialog.large
    assert dialog.isMaximized()
    assert dialog.body.card.told.line.font().pointSizeF() > 2.4 * QApplication.font().pointSizeF()
    assert dialog.body.card.told.line.font().pointSizeF() > 1.7 * usual
    assert dialog.body.main.height() >= 60
    assert dialog.body.main.hasFocus()
    QTest.keyClick(dialog.body.main, SPACE)
    assert dialog.body.list.rows["outdoors"].box.isChecked()
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    window.activateWindow()
    QApplication.processEvents()
    QTest.keyClick(window, Qt.Key.Key_F1)
    again = shown(window)
    assert again.large
    settle(again)
    again.activateWindow()
    settle(again)
    QTest.keyClick(again, Qt.Key.Key_L, Qt.KeyboardModifier.ControlModifier)
    assert not again.large
    assert not again.isMaximized()


def test_another_sheet_in_the_middle_keeps_the_ticks(asked, healthy):
    window, dialog = asked(healthy, 10)
    press(dialog)
    press(dialog)
    site = healthy.review.site
    battery = site.battery.model_copy(update={"target_soc": 90.0})
    other = review(healthy.review.recording, site.model_copy(update={"battery": battery}))
    window.show_again(prepared(other, healthy.wanted))
    QApplication.processEvents()
    assert dialog.body.card.told.text().startswith("3. ")
    assert dialog.body.list.rows["alarms"].box.isChecked()


def test_it_opens_beside_the_window_or_below_what_calls_in_it(asked, healthy):
    window, dialog = asked(healthy, 10)
    sentence = window.board.sentence
    calls = QRect(sentence.mapToGlobal(QPoint()), sentence.size())
    assert not dialog.geometry().intersects(calls)


def test_copying_and_printing(asked, ready, tmp_path, qtbot):
    window, dialog = asked(ready)
    go(window, 1180)
    QGuiApplication.clipboard().clear()
    QTest.keyClick(dialog, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: bool(QGuiApplication.clipboard().text()))
    text = QGuiApplication.clipboard().text()
    assert "[x] 10. See that the line from the generator is dead." in text
    assert "Not met. The generator stopped under load." in text
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
    box = QAccessible.queryAccessibleInterface(dialog.body.list.rows["cool"].box)
    assert box.role() == QAccessible.Role.CheckBox
    said = box.text(QAccessible.Text.Name)
    assert said.startswith("25. Let the generator run on without load")
    assert "Not met. The generator stopped under load." in said
    assert "Caution" in QAccessible.queryAccessibleInterface(dialog.body.list.rows["interlock"].box).text(
        QAccessible.Text.Name
    )


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize(("spoken", "large"), [("en", False), ("de", False), ("en", True)])
def test_nothing_is_cut_off_or_covered(asked, ready, scale, spoken, large):
    window, dialog = asked(ready)
    dialog.set_large(large)
    window.set_language(spoken)
    window.set_text_scale(scale)
    dialog = shown(window)
    settle(dialog)
    for row in (185, 300, 1150, 1180):
        go(window, row)
        settle(dialog)
        assert checked(dialog) > 4 * len(STEPS) - 30
        assert dialog.body.list.horizontalScrollBar().maximum() == 0
    language.apply("en")


@pytest.mark.parametrize("name", ["light", "dark"])
def test_words_stand_out_in_both_themes(asked, ready, name):
    window, dialog = asked(ready)
    window.set_theme(name)
    go(window, 1180)
    settle(dialog)
    grounds = [theme.colour(role).name() for role in ("ground", "standing")]
    told = [word for word in words_of(dialog) if word.widget.window() is dialog]
    listed = [
        word for word in told if any(row.isAncestorOf(word.widget) for row in dialog.body.list.rows.values())
    ]
    assert len(listed) > len(STEPS)
    for word in listed:
        assert min(contrast(word.colour, ground) for ground in grounds) >= 4.5, word


def test_boxes_are_large_enough_to_be_hit(asked):
    _, dialog = asked()
    # WCAG 2.2, 2.5.8: targets of at least 24 by 24.
    assert all(min(row.box.width(), row.box.height()) >= 24 for row in dialog.body.list.rows.values())


def test_states_differ_by_shape(asked, ready):
    window, dialog = asked(ready)
    go(window, 1180)
    settle(dialog)
    shapes = {}
    for key in ("outdoors", "charger", "start", "cool", "transfer_back"):
        picture = dialog.body.list.rows[key].box.grab().toImage()
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
    assert again.body.list.rows["alarms"].box.isChecked()
    go(window, 10)
    assert not again.body.list.rows["alarms"].box.isChecked()
    assert not again.body.list.rows["start"].box.isChecked()
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


@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_it_stays_on_the_screen(asked, ready, scale):
    window, dialog = asked(ready, 1150)
    dialog.close()
    window.set_text_scale(scale)
    window.activateWindow()
    QApplication.processEvents()
    QTest.keyClick(window, Qt.Key.Key_F1)
    again = shown(window)
    settle(again)
    assert again.screen().availableGeometry().contains(again.geometry())
