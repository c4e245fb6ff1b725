"""The findings list, by mouse and keyboard; and the sentence."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QGuiApplication
from pytestqt.qtbot import QtBot
from shown_moment import FINDINGS, at, moment

from desktop.window.panels.finding_list import FINDING, STANDING, finding_text
from desktop.window.panels.findings import FindingsPanel
from desktop.window.panels.sentence import SentencePanel
from desktop.window.parts.times import Times
from desktop.window.style import fonts
from desktop.words import Phrase

TIMES = Times(at(0), at(600))


@pytest.fixture
def panel(qtbot: QtBot) -> FindingsPanel:
    panel = FindingsPanel()
    qtbot.addWidget(panel)
    panel.resize(420, 700)
    panel.set_findings(FINDINGS, TIMES)
    panel.show()
    qtbot.waitExposed(panel)
    return panel


def kinds(panel: FindingsPanel) -> list[str]:
    return [panel.sorted.index(row, 0).data(FINDING).kind for row in range(panel.sorted.rowCount())]


def row_of(panel: FindingsPanel, kind: str):
    return panel.sorted.index(kinds(panel).index(kind), 0)


def test_the_most_urgent_stand_first_and_other_orders_can_be_chosen(panel: FindingsPanel, qtbot: QtBot):
    assert kinds(panel)[0] == "input_over_limit"
    assert kinds(panel)[1] == "generator_frequency_low"
    qtbot.keyClick(panel.sorting, Qt.Key.Key_Down)
    assert kinds(panel) == [each.kind for each in FINDINGS]
    qtbot.keyClick(panel.sorting, Qt.Key.Key_Down)
    assert kinds(panel) == [
        "generator_lightly_loaded",
        "generator_frequency_low",
        "telemetry_gap",
        "input_over_limit",
    ]


def test_a_click_on_a_finding_goes_to_where_it_begins(panel: FindingsPanel, qtbot: QtBot):
    place = panel.list.visualRect(row_of(panel, "generator_frequency_low")).center()
    with qtbot.waitSignal(panel.chosen) as chosen:
        qtbot.mouseClick(panel.list.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert chosen.args == [at(100)]


def test_the_arrow_keys_walk_through_the_findings(panel: FindingsPanel, qtbot: QtBot):
    panel.list.setFocus()
    seen: list[int] = []
    panel.chosen.connect(seen.append)
    for _ in range(2):
        qtbot.keyClick(panel.list, Qt.Key.Key_Down)
    assert seen == [panel.sorted.index(row, 0).data(FINDING).start for row in (1, 2)] or seen == [
        panel.sorted.index(row, 0).data(FINDING).start for row in (0, 1)
    ]


def test_severities_are_filtered_by_mouse_and_key(panel: FindingsPanel, qtbot: QtBot):
    assert [button.text() for button in panel.filters.values()] == ["1", "1", "2"]
    qtbot.mouseClick(panel.filters["note"], Qt.MouseButton.LeftButton)
    assert kinds(panel) == ["input_over_limit", "generator_frequency_low"]
    assert panel.count.text() == "2 of 4"
    panel.filters["act now"].setFocus()
    qtbot.keyClick(panel.filters["act now"], Qt.Key.Key_Space)
    assert kinds(panel) == ["generator_frequency_low"]
    qtbot.mouseClick(panel.filters["attend"], Qt.MouseButton.LeftButton)
    assert panel.nothing.text() == "All findings are filtered out."
    assert panel.nothing.isVisible()
    assert not panel.list.isVisible()


def test_copy_takes_the_chosen_findings_as_text(panel: FindingsPanel, qtbot: QtBot):
    panel.list.setFocus()
    panel.list.setCurrentIndex(row_of(panel, "input_over_limit"))
    qtbot.keyClick(panel.list, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    text = QGuiApplication.clipboard().text()
    assert text == finding_text(FINDINGS[2], TIMES)
    assert text.splitlines() == [
        "2026-01-01 00:03:20 – 00:03:50 (30 s)  act now: Input over limit",
        "    It went to 27.1 A on a limit of 25.0 A.",
        "    A load came on.",
        "    Do something about it.",
    ]


def test_copy_takes_all_that_are_shown_where_none_is_chosen(panel: FindingsPanel):
    panel.list.clearSelection()
    panel.copy()
    assert QGuiApplication.clipboard().text().count("Do something about it.") == 4


def test_what_stands_at_the_cursor_is_marked_and_seen(panel: FindingsPanel):
    panel.resize(420, 200)
    panel.show_moment(moment(time=at(550)))
    standing = row_of(panel, "generator_lightly_loaded")
    assert standing.data(STANDING)
    assert [row_of(panel, each.kind).data(STANDING) for each in FINDINGS] == [False, False, False, True]
    assert panel.list.viewport().rect().intersects(panel.list.visualRect(standing))


@pytest.mark.parametrize("width", [260, 420, 800])
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_rows_are_as_high_as_their_words_need(panel: FindingsPanel, qtbot: QtBot, width: int, scale: float):
    fonts.set_text_scale(scale)
    try:
        panel.resize(width, 700)
        qtbot.wait(1)
        painter = panel.list.itemDelegate()
        for row in range(panel.sorted.rowCount()):
            index = panel.sorted.index(row, 0)
            rect = panel.list.visualRect(index)
            blocks = painter.blocks(index, rect.width())
            assert sum(block.height for block in blocks) <= rect.height()
            assert rect.width() <= panel.list.viewport().width()
    finally:
        fonts.set_text_scale(1.0)


def test_a_recording_in_which_all_is_well(panel: FindingsPanel):
    panel.set_findings([], TIMES)
    assert panel.nothing.text() == "Nothing found that is wrong."
    assert [button.isEnabled() for button in panel.filters.values()] == [False] * 3
    assert panel.selected_text() == ""


def test_a_screen_reader_reads_whole_findings(panel: FindingsPanel):
    spoken = QAccessible.queryAccessibleInterface(panel.list)
    assert spoken.text(QAccessible.Text.Name) == "Findings"
    assert "Do something about it." in spoken.child(0).text(QAccessible.Text.Name)
    button = QAccessible.queryAccessibleInterface(panel.filters["act now"])
    assert button.text(QAccessible.Text.Name) == "act now: 1"


@pytest.fixture
def sentence(qtbot: QtBot) -> SentencePanel:
    panel = SentencePanel()
    qtbot.addWidget(panel)
    panel.resize(900, 80)
    panel.set_times(TIMES)
    panel.show()
    return panel


def test_the_sentence_says_what_is_going_on_and_when(sentence: SentencePanel):
    sentence.show_moment(moment())
    assert sentence.headline.text() == "It went to 27.1\u00a0A on a limit of 25.0\u00a0A."
    assert sentence.detail.text() == "The generator carries 2.31\u00a0kW of house load."
    assert sentence.clock.text() == "00:03:30"
    assert sentence.day.text() == "2026-01-01"
    assert sentence.word.text() == "Act now"
    assert sentence.mark.isVisible()


def test_where_nothing_is_wrong_no_mark_stands_beside_it(sentence: SentencePanel):
    sentence.show_moment(moment(severity=None, findings=()))
    assert not sentence.mark.isVisible()
    assert not sentence.word.isVisible()


def test_long_sentences_are_shown_whole_and_the_panel_does_not_shrink_again(
    sentence: SentencePanel, qtbot: QtBot
):
    long = Phrase("The generator carries 2.31 kW of house load and charges the battery. " * 6)
    sentence.show_moment(moment(headline=long, detail=long))
    words = sentence.words
    for part in (sentence.headline, sentence.detail):
        assert part.height() >= part.heightForWidth(part.width())
        assert words.minimumHeight() >= part.geometry().bottom() + 1
    assert sentence.detail.geometry().top() >= sentence.headline.geometry().bottom()
    high = words.minimumHeight()
    sentence.show_moment(moment())
    assert words.minimumHeight() == high
    sentence.set_times(TIMES)
    assert words.minimumHeight() < high


def test_a_screen_reader_can_reach_the_sentence_and_reads_all_of_it(sentence: SentencePanel):
    sentence.show_moment(moment())
    spoken = QAccessible.queryAccessibleInterface(sentence)
    assert spoken.text(QAccessible.Text.Name) == "What is going on"
    assert spoken.text(QAccessible.Text.Description).endswith("of house load.")
    assert sentence.focusPolicy() & Qt.FocusPolicy.TabFocus
