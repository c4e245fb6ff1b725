"""From a finding to what led to it, and from there to the instant: by mouse and by key."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton
from test_main_window import action, opened

from desktop.window.panels.finding_list import FINDING

LEFT = Qt.MouseButton.LeftButton


def told(dialog) -> str:
    return "\n".join(each.text() for each in dialog.stack.currentWidget().findChildren(QLabel))


def cause_in_the_list(window) -> str:
    rows = window.board.findings.sorted
    painter = window.board.findings.list.itemDelegate()
    return "\n".join(block.text for block in painter.blocks(rows.index(0, 0), 400)).replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("name", "cause"),
    [
        ("limit-too-high", "Why: The input limit is set too high"),
        ("load-step", "Why: Something of 1.86 kW (2.91 kW at first) was switched on"),
        ("reversed-battery-meter", "The battery meter reads with the wrong sign."),
    ],
)
def test_a_demo_names_its_cause_as_soon_as_it_is_opened(open_window, qtbot, name, cause):
    window = open_window()
    demo = next(each for each in window.demos if each.path.stem == name)
    action(window, "File", "Demo recordings", demo.title).trigger()
    opened(window, qtbot)
    assert cause in cause_in_the_list(window)


def test_enter_and_double_click_and_the_button_open_what_led_to_it(open_window, demo, qtbot):
    window = open_window(demo("limit-too-high"))
    listed = window.board.findings.list
    listed.setFocus()
    listed.setCurrentIndex(window.board.findings.sorted.index(0, 0))
    qtbot.keyClick(listed, Qt.Key.Key_Return)
    dialog = window.look.dialog
    assert dialog.isVisible()
    assert dialog.page == "causes"
    assert "The input limit is set too high" in dialog.causes.cause.text()
    dialog.reject()
    place = listed.visualRect(window.board.findings.sorted.index(0, 0)).center()
    qtbot.mouseClick(listed.viewport(), LEFT, pos=place)
    qtbot.mouseDClick(listed.viewport(), LEFT, pos=place)
    assert window.look.dialog.isVisible()
    window.look.dialog.reject()
    qtbot.mouseClick(window.board.findings.look, LEFT)
    assert window.look.dialog.page == "causes"


def test_the_chain_stands_in_order_with_clock_number_and_sentence(looking, demo):
    _, dialog = looking("limit-too-high")
    chain = demo("limit-too-high").review.chains[0]
    rows = dialog.causes.events.rows
    assert [row.link for row in rows] == list(chain.links)
    assert [row.button.text() for row in rows] == sorted(row.button.text() for row in rows)
    assert rows[-1].button.text() == "17:24:18"
    assert (rows[2].number.text(), rows[3].number.text()) == ("1.44 kW", "4 s")
    assert "It stopped under" in rows[-1].text.text()
    words = told(dialog)
    assert words.index("too high") < words.index("WHAT HAPPENED") < words.index("WHAT TO DO")
    assert "Turn off large loads now" in words


def test_an_event_takes_the_cursor_there_by_mouse_and_by_key(looking, qtbot):
    window, dialog = looking("limit-too-high")
    rows, cursor = dialog.causes.events.rows, window.board.cursor_of_time
    qtbot.mouseClick(rows[-1].text, LEFT)
    assert cursor.instant == rows[-1].link.time
    rows[2].button.setFocus()
    qtbot.keyClick(rows[2].button, Qt.Key.Key_Space)
    assert cursor.instant == rows[2].link.time
    assert dialog.isVisible()
    assert "1.44 kW was switched on" in rows[2].button.accessibleName().replace("\u00a0", " ")


def test_another_finding_is_chosen_by_key(looking):
    _, dialog = looking("limit-too-high")
    choice = dialog.causes.choice
    assert choice.count() == 3
    choice.setFocus()
    QTest.keyClick(choice, Qt.Key.Key_Down)
    QTest.keyClick(choice, Qt.Key.Key_Down)
    assert "Input limit above" in choice.currentText()
    assert dialog.causes.events is None
    assert "Set the input limit below" in told(dialog)


def test_findings_lead_to_the_page_that_shows_most(open_window, demo):
    window = open_window(demo("reversed-battery-meter"))
    rows = window.board.findings.sorted
    pages = {}
    for row in range(rows.rowCount()):
        finding = rows.index(row, 0).data(FINDING)
        window.look.show_finding(finding)
        pages[finding.kind] = window.look.dialog.page
    assert pages["meter_suspect"] == "meters"
    assert pages["soc_disagrees"] == "battery"


def test_a_page_leads_to_the_limit(looking, qtbot):
    _, dialog = looking("limit-too-high")
    way = next(
        each for each in dialog.causes.findChildren(QPushButton) if "input limit should be" in each.text()
    )
    qtbot.mouseClick(way, LEFT)
    assert dialog.page == "limit"


def test_a_recording_without_findings_says_so(looking):
    _, dialog = looking("healthy-charge")
    assert "Nothing was found that is wrong." in told(dialog)
    assert not dialog.causes.choice.isVisible()


def test_every_page_has_a_key_and_is_turned_to_in_one_dialog(open_window, demo, qtbot):
    window = open_window(demo("load-step"))
    for number, key in enumerate(("causes", "meters", "settings", "limit", "battery", "fuel"), start=1):
        key_of_page = Qt.Key(Qt.Key.Key_0 + number)
        seen = window.look.dialog or window
        qtbot.keyClick(seen, key_of_page, Qt.KeyboardModifier.ControlModifier)
        QApplication.processEvents()
        assert window.look.dialog.page == key
    assert not window.look.dialog.isModal()
    window.look.dialog.names.setFocus()
    qtbot.keyClick(window.look.dialog.names, Qt.Key.Key_Home)
    assert window.look.dialog.page == "causes"
    qtbot.keyClick(window.look.dialog, Qt.Key.Key_Escape)
    assert window.look.dialog is None


def test_the_dialog_speaks_another_language_at_once(looking):
    window, dialog = looking("load-step", "limit")
    window.set_language("de")
    assert window.look.dialog is not dialog
    assert window.look.dialog.page == "limit"
    window.set_language("en")
