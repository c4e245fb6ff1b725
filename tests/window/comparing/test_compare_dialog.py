"""Comparing in the window as a person does it: by mouse and by keys, another recording or two sessions."""

import json
import threading
from pathlib import Path

import pytest
from key_order import reached
from key_order import told as spoken_of
from painted_words import words_of
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QLabel
from test_main_window import action, file_dialog
from test_proof_colours import THEMES, stand_out
from test_proof_geometry import SCALES, SPOKEN, check

from desktop.comparison.as_json import comparison_json
from desktop.comparison.as_text import comparison_text
from desktop.comparison.comparison import compare
from desktop.opening import open_recording
from desktop.review import review
from desktop.window import language
from desktop.window.comparing import dialog as module
from desktop.window.comparing.choice import choices_of, usual
from desktop.window.comparing.shift import ShiftMark
from desktop.window.opening import Wanted, prepared
from desktop.window.shot import settle

LEFT = Qt.MouseButton.LeftButton
DEMOS = Path(__file__).parents[3] / "recordings" / "demo"


def told(widget) -> str:
    return "\n".join(each.text() for each in widget.findChildren(QLabel)).replace("\u00a0", " ")


@pytest.fixture(scope="module")
def days():
    path = DEMOS / "two-overcast-days.csv"
    return prepared(review(*open_recording(path)), Wanted((path,)))


def test_another_recording_is_chosen_and_what_changed_is_told(
    open_window, after_ready, both_weeks, settled, qtbot
):
    window = open_window(after_ready)
    action(window, "Look into", "Compare…").trigger()
    dialog = window.comparing.dialog
    assert "choose another" in dialog.told.text().lower() or len(dialog.sides.choices) > 1
    qtbot.mouseClick(dialog.sides.fetch, LEFT)
    chooser = file_dialog(window)
    chooser.selectFile(str(both_weeks[0]))
    chooser.accept()
    settled(dialog)
    assert dialog.told.text().startswith(
        "One setting differs: AC input limit, 20.0 A before and 12.0 A after."
    )
    words = told(dialog.page.table)
    assert (
        words.index("SETTINGS THAT DIFFER") < words.index("AC input limit") < words.index("CHANGED BY MORE")
    )
    assert words.index("Generator, for each hour of running") < words.index("NO MORE THAN CHANCE")
    assert dialog.sides.before.currentText().startswith("before.csv · ")
    assert dialog.sides.after.currentText().startswith("after.csv · ")


def test_the_page_says_what_the_comparison_says(compared, both_weeks):
    dialog = compared()
    before, after = (review(*open_recording(path)) for path in both_weeks)
    assert comparison_json(dialog.page.found) == comparison_json(compare(before, after))
    marks = dialog.page.findChildren(ShiftMark)
    assert len(marks) == sum(row.shift is not None for row in dialog.page.table.rows) > 8
    limit = next(mark for mark in marks if mark.shift.reach == 0)
    assert limit.accessibleName() == "−40 % of what there was before"


def test_it_is_worked_out_beside_the_window(compared, monkeypatch, settled):
    dialog = compared()
    threads = []
    real = module.compare
    monkeypatch.setattr(module, "compare", lambda *a: threads.append(threading.current_thread()) or real(*a))
    QTest.mouseClick(dialog.sides.swap, LEFT)
    settled(dialog)
    assert [thread.name for thread in threads] == ["comparing"]
    assert "12.0 A before and 20.0 A after" in dialog.told.text()


def test_two_sessions_of_what_is_open_are_compared_by_keys_alone(open_window, days, settled, qtbot):
    window = open_window(days)
    window.activateWindow()
    qtbot.keyClick(window, Qt.Key.Key_8, Qt.KeyboardModifier.ControlModifier)
    dialog = settled(window.comparing.dialog)
    assert dialog.sides.chosen == (1, 2)
    assert (dialog.page.found.a.session, dialog.page.found.b.session) == (1, 2)
    assert dialog.told.text().startswith("No setting differs.")
    dialog.sides.before.setFocus()
    qtbot.keyClick(dialog.sides.before, Qt.Key.Key_Down)
    settled(dialog)
    assert dialog.sides.both() is None
    assert "one and the same" in dialog.told.text()
    assert not dialog.copy.isEnabled()
    qtbot.keyClick(dialog.sides.before, Qt.Key.Key_Home)
    settled(dialog)
    assert (dialog.page.found.a.session, dialog.page.found.b.session) == (None, 2)
    qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    assert window.comparing.dialog is None


def test_with_one_session_it_says_what_to_choose(open_window, ready, settled):
    dialog = settled(open_window(ready).comparing.show())
    assert "Choose another recording" in dialog.told.text()
    assert not dialog.sides.swap.isEnabled()
    assert not dialog.save_button.isEnabled()
    assert dialog.page is None


def test_a_recording_without_a_sheet_is_read_with_the_one_that_is_open(
    open_window, after_ready, both_weeks, tmp_path, settled
):
    bare = tmp_path / "bare.csv"
    bare.write_bytes(both_weeks[0].read_bytes())
    window = open_window(after_ready)
    dialog = window.comparing.show()
    window.comparing.fetch([str(bare)])
    settled(dialog)
    assert dialog.other.lent
    assert dialog.page.found.a.review.site == after_ready.review.site
    assert "bare.csv has no site sheet of its own" in told(dialog.page)
    assert dialog.told.text().startswith("No setting differs.")


def test_what_cannot_be_read_is_told_and_what_is_shown_stays(compared, tmp_path, settled):
    dialog = compared()
    page = dialog.page
    (tmp_path / "words.csv").write_text("a,b\nc,d\n")
    dialog.parent().comparing.fetch([str(tmp_path / "words.csv")])
    settled(dialog)
    assert "words.csv" in dialog.told.text()
    assert "\n" not in dialog.told.text()
    assert dialog.page is page
    assert dialog.sides.isEnabled()


def test_reading_can_be_cancelled(open_window, after_ready, both_weeks, settled, qtbot):
    window = open_window(after_ready)
    dialog = settled(window.comparing.show())
    window.comparing.fetch([str(both_weeks[0])])
    assert dialog.cancel.isVisible()
    assert not dialog.sides.isEnabled()
    qtbot.mouseClick(dialog.cancel, LEFT)
    settled(dialog)
    assert dialog.told.text() == "Cancelled."
    assert dialog.other is None


def test_it_is_copied_and_saved(compared, tmp_path, qtbot):
    dialog = compared()
    qtbot.mouseClick(dialog.copy, LEFT)
    text = comparison_text(dialog.page.found)
    assert QGuiApplication.clipboard().text().strip() == text
    qtbot.mouseClick(dialog.save_button, LEFT)
    chooser: QFileDialog = file_dialog(dialog.parent())
    chooser.selectFile(str(tmp_path / "told.txt"))
    chooser.accept()
    assert (tmp_path / "told.txt").read_text() == text + "\n"
    dialog.save(str(tmp_path / "told.json"))
    assert json.loads((tmp_path / "told.json").read_text()) == comparison_json(dialog.page.found)
    dialog.save(str(tmp_path / "none" / "told.txt"))
    assert "can't be written" in dialog.told.text()


def test_what_is_opened_next_is_compared_next(compared, days, settled):
    dialog = compared()
    dialog.parent().show_ready(days)
    settled(dialog)
    names = [str(choice.label).split(" · ")[0] for choice in dialog.sides.choices]
    assert set(names) == {"two-overcast-days.csv", "before.csv"}
    assert "different sites" in told(dialog.page)


def test_another_language_shows_the_same_two(compared, settled):
    dialog = compared()
    window = dialog.parent()
    dialog.choose((1, 2))
    settled(dialog)
    window.set_language("de")
    try:
        other = settled(window.comparing.dialog)
        assert other is not dialog
        assert other.sides.chosen == (1, 2)
        assert other.other is not None
    finally:
        window.set_language("en")


def test_what_grows_has_nothing_to_compare(compared):
    window = compared().parent()
    window.comparing.follow(None)
    assert window.comparing.dialog is None
    window.menus.set_live(True)
    assert not action(window, "Look into", "Compare…").isEnabled()


def test_the_earlier_of_two_stands_before(after_ready, both_weeks):
    early = review(*open_recording(both_weeks[0]))
    for reviews in ((early, after_ready.review), (after_ready.review, early)):
        choices = choices_of(reviews)
        before, after = (choices[index] for index in usual(choices))
        assert (before.review, after.review) == (early, after_ready.review)
        assert before.session is after.session is None


@pytest.mark.parametrize("spoken", SPOKEN)
@pytest.mark.parametrize("scale", SCALES)
def test_no_word_is_cut_off_or_covered(compared, settled, spoken, scale):
    dialog = compared()
    window = dialog.parent()
    window.set_text_scale(scale)
    language.apply(spoken)
    try:
        dialog.work()
        settled(dialog)
        for size in ((1240, 680), (1800, 1000), (640, 480)):
            dialog.resize(*size)
            settle(dialog)
            words = words_of(dialog)
            assert len(words) > 60
            check(words)
    finally:
        language.apply("en")


@pytest.mark.parametrize("name", THEMES)
def test_every_word_stands_out(compared, name):
    dialog = compared()
    dialog.parent().set_theme(name)
    dialog.resize(1200, 680)
    settle(dialog)
    assert stand_out(dialog) > 40


def test_keys_reach_everything(compared):
    dialog = compared()
    settle(dialog)
    spoken_of(reached(dialog, dialog.sides.before), dialog)


def test_the_changes_are_drawn_where_there_is_room(compared):
    dialog = compared()
    dialog.resize(1240, 680)
    settle(dialog)
    mark = next(each for each in dialog.page.findChildren(ShiftMark) if each.shift.reach > 0)
    assert mark.has_room
    picture: QImage = mark.grab().toImage()
    ground = picture.pixel(0, 0)
    inked = [x for x in range(picture.width()) if picture.pixel(x, picture.height() // 2) != ground]
    left, right = (mark.place(mark.shift.value + way * mark.shift.reach) for way in (-1, 1))
    dot = mark.place(mark.shift.value)
    assert min(inked) == pytest.approx(min(left, dot - 4), abs=3)
    assert max(inked) == pytest.approx(max(right, dot + 4), abs=3)
