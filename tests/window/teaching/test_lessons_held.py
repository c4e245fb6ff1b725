"""While a lesson has something to ask, nothing tells it; and it is always clear which moment is spoken of."""

import pytest
from lesson_driving import click, demo_path, key, until
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog

from desktop.window.opening import Wanted, load
from desktop.window.shot import settle
from desktop.words import kept_together

S = 10**9
TELLING = (
    "Ctrl+I",
    "Ctrl+Shift+R",
    "Ctrl+Shift+P",
    *(f"Ctrl+{number}" for number in range(1, 9)),
    "F1",
    "F8",
)


@pytest.fixture(scope="module")
def overload():
    return load(Wanted((demo_path("limit-too-high"),)), lambda *_: None)


@pytest.fixture
def window(open_window, overload):
    window = open_window(overload, (1280, 800))
    window.activateWindow()
    return window


@pytest.fixture
def asked(window):
    """A lesson that asks its first question."""
    window.teaching.start()
    window.teaching.run.go_on()
    assert window.teaching.course.phase == "asking"
    QApplication.processEvents()
    return window.teaching.run


def dialogs(window):
    return [dialog for dialog in window.findChildren(QDialog) if dialog.isVisible()]


def answer_all(run):
    while run.course.phase != "over" and run.hidden_after is not None:
        if run.course.target is not None or run.course.phase != "asking":
            run.go_on()
        else:
            run.answer(run.course.note.question.right[0])


def test_what_would_tell_is_not_opened_and_it_is_said_why(window, asked):
    for keys in TELLING:
        asked.strip.tell("")
        key(keys)
        assert dialogs(window) == [], keys
        assert (
            asked.strip.aside.text() == "That would give it away: it opens once the question is answered."
        ), keys
        assert asked.strip.aside.isVisible()
    asked.answer(2)
    until_there(asked)
    key("Ctrl+1")
    assert dialogs(window) == []
    assert (
        asked.strip.aside.text()
        == "That would give it away: it opens once the lesson has nothing more to ask."
    )


def until_there(run):
    while run.course.target is not None:
        run.go_on()


def test_once_all_is_asked_everything_opens(window, asked):
    answer_all(asked)
    assert asked.course is not None
    key("Ctrl+I")
    (box,) = dialogs(window)
    box.close()
    assert window.board.findings.model.rowCount() == 3
    assert "limit-too-high.csv" in window.board.origin.text()
    assert "limit-too-high.csv" in window.windowTitle()


def test_what_is_open_already_is_closed_when_a_lesson_begins(window):
    window.look.show_page("causes")
    window.show_procedure()
    window.plan.show()
    window.comparing.show()
    window.teaching.show_editor()
    assert len(dialogs(window)) == 5
    window.teaching.start()
    QApplication.processEvents()
    assert dialogs(window) == []
    window.teaching.end()


def test_neither_name_nor_findings_nor_marks_are_seen(window, asked):
    board = window.board
    assert board.origin.text() == "An overload"
    assert window.windowTitle() == "An overload – Headrace"
    assert board.findings.model.rowCount() == 0
    assert board.findings.count.text() == ""
    assert board.findings.nothing.text() == "What is found here is told once the question is answered."
    asked.answer(2)
    until_there(asked)
    assert (
        board.findings.nothing.text() == "What is found here is told once the lesson has nothing more to ask."
    )
    answer_all(asked)
    window.teaching.end()
    assert "limit-too-high.csv" in board.origin.text()


def test_play_stays_put_while_a_question_is_open(window, asked):
    board, at = window.board, asked.course.note.at
    board.sentence.setFocus()
    key("Space")
    assert not board.replay.clock.playing
    assert board.cursor_of_time.instant == board.replay.instant == at
    assert asked.strip.aside.text() == "The replay waits here until the question is answered."


def test_who_goes_elsewhere_is_told_so_and_led_back(window, asked, qtbot):
    board, at = window.board, asked.course.note.at
    assert not asked.strip.return_button.isVisible()
    board.replay.go(at - 300 * S)
    QApplication.processEvents()
    assert asked.strip.aside.text() == "The window shows another time than 17:12:00, which this is about."
    board.sentence.setFocus()
    key("Space")
    assert board.replay.clock.playing
    key("Space")
    assert at > board.cursor_of_time.instant >= at - 300 * S
    click(asked.strip.return_button)
    assert board.cursor_of_time.instant == board.replay.instant == at
    assert not asked.strip.return_button.isVisible()
    assert not asked.strip.aside.isVisible()
    assert asked.course.phase == "asking"
    board.replay.go(at - 300 * S)
    board.replay.go(at)
    assert not asked.strip.return_button.isVisible()


def test_a_typed_time_that_is_still_to_come_is_refused_aloud(window, asked):
    board, at = window.board, asked.course.note.at
    field = board.replay._time
    for typed, said in (("17:45", "17:45:00 is still to come: the lesson leads there."), ("17:11", "")):
        field.setFocus()
        field.selectAll()
        QTest.keyClicks(field, typed)
        QTest.keyClick(field, Qt.Key.Key_Return)
        assert said in asked.strip.aside.text()
        assert board.cursor_of_time.instant == (at if said else at - 60 * S)
    assert field.text() == "17:11:00"


def test_curves_are_shown_as_far_as_the_replay_has_come(window, qtbot):
    run = window.teaching.run
    window.board.cursor_of_time.move(window.board.cursor_of_time.first)
    window.teaching.start()
    trends, cursor = window.board.trends, window.board.cursor_of_time
    target = run.course.target
    assert run.hidden_after == target == cursor.last
    qtbot.waitUntil(lambda: cursor.first < cursor.instant < target, timeout=10_000)
    now = run.seen
    assert now < target
    assert trends._shown.last == now
    assert set(trends.values_at(now + S).values()) == {"not known"}
    window.board.replay.toggle()
    window.board.replay.go(cursor.first)
    assert run.seen >= now
    assert trends._shown.last == run.seen
    run.go_on()
    assert run.seen == target


def test_a_paused_recording_is_not_said_to_play(window, qtbot):
    window.teaching.start()
    run = window.teaching.run
    assert run.strip.words.told()[0] == "The recording plays to the next moment…"
    window.board.replay.toggle()
    assert run.strip.words.told()[0] == "The recording is paused on its way to the next moment."
    window.board.replay.toggle()
    assert run.strip.words.told()[0] == "The recording plays to the next moment…"
    until(qtbot, run.course, "asking")
    run.answer(2)
    until_there(run)
    run.go_on()
    until_there(run)
    run.answer(0)
    assert run.course.phase == "showing"
    assert "{" not in " ".join(run.strip.words.told())
    window.board.replay.toggle()
    assert run.strip.words.told()[2] == "The recording is paused on its way to what happened."


def test_end_values_are_told_when_the_replay_is_there(window, asked):
    asked.answer(2)
    until_there(asked)
    asked.go_on()
    until_there(asked)
    asked.answer(0)
    note = asked.course.note
    told = asked._shown(note).explain
    assert kept_together(told) not in asked.strip.words.told()
    asked.go_on()
    assert asked.strip.words.told()[2] == kept_together(told)
    assert window.board.moment.time == note.end


def test_another_size_of_text_leaves_room_for_every_answer(window, asked):
    for scale in (2.0, 1.0, 1.5):
        window.set_text_scale(scale)
        settle(window)
        for row in asked.strip.choices.rows:
            assert row.words.height() >= row.words.heightForWidth(row.words.width())
            assert row.words.width() >= row.width() - row._indent()
        bottoms = [row.geometry().bottom() for row in asked.strip.choices.rows]
        tops = [row.geometry().top() for row in asked.strip.choices.rows]
        assert all(bottom < top for bottom, top in zip(bottoms, tops[1:], strict=False))
        assert asked.strip.scroll.widget().height() >= bottoms[-1]


def test_the_strip_takes_what_it_needs_and_no_more(window, asked):
    settle(window)
    high = asked.strip.height()
    asked.answer(2)
    until_there(asked)
    asked.go_on()
    settle(window)
    assert asked.course.phase == "going"
    assert asked.strip.height() < high
    assert asked.strip.scroll.height() == asked.strip.words.height_in(asked.strip.scroll.width() - 1)


def test_another_language_keeps_what_was_chosen_and_missed(window, asked):
    click(asked.strip.choices.rows[0].words, QPoint(30, 5))
    click(asked.strip.forward)
    click(asked.strip.choices.rows[2].words, QPoint(30, 5))
    window.set_language("de")
    try:
        QApplication.processEvents()
        assert asked.strip.choices.chosen == 2
        assert asked.strip.forward.isEnabled()
        assert asked.strip.choices.rows[0].words.text().startswith("✗")
        assert not asked.strip.choices.rows[0].button.isEnabled()
    finally:
        window.set_language("en")


def test_a_second_try_is_counted_as_such(window, asked):
    click(asked.strip.choices.rows[0].words, QPoint(30, 5))
    click(asked.strip.forward)
    key("3")
    click(asked.strip.forward)
    until_there(asked)
    assert asked.strip.words.told()[1] == "Right, at the second try."
    assert asked.strip.choices.rows[0].words.text().startswith("✗")
    answer_all(asked)
    until_there(asked)
    asked.course.end()
    asked._apply()
    said = "Answered rightly: 3 of 4 at once, 1 at the second try."
    assert kept_together(said) in asked.strip.words.told()[0]


def test_what_the_lessons_point_to_at_their_end_is_there(window, asked, open_window):
    answer_all(asked)
    while not asked.course.last:
        asked.go_on()
    until_there(asked)
    told = asked.strip.words.told()[0]
    assert f"“{window.board.findings.look.text()}”" in told
    assert window.board.findings.look.isVisibleTo(window.board.findings)
    healthy = load(Wanted((demo_path("healthy-charge"),)), lambda *_: None)
    window.show_ready(healthy)
    window.teaching.start()
    answer_all(asked)
    while not asked.course.last:
        asked.go_on()
    until_there(asked)
    settle(window)
    session = window.board.session
    assert f"“{session.accessibleName()}”" in asked.strip.words.told()[0]
    energy = healthy.review.sessions[0].generator_wh / 1000
    assert session.lines[0][1].text() == f"{energy:.2f} kWh"
    assert session.lines[0][1].isVisible()


def test_the_commands_that_the_lessons_name_are_there(open_window, qtbot):
    ready = load(Wanted((demo_path("reversed-battery-meter"),)), lambda *_: None)
    window = open_window(ready)
    menus = [action for action in window.menuBar().actions() if action.menu() is not None]
    look = next(action for action in menus if action.text().replace("&", "") == "Look into")
    names = [action.text().replace("&", "").rstrip("…") for action in look.menu().actions()]
    told = {}
    for name in ("reversed-battery-meter", "limit-too-high"):
        told[name] = (
            demo_path(name).with_suffix(".notes.toml").read_text(encoding="utf-8").replace("\\\n", "")
        )
        assert "“Look into”" in told[name]
    assert "Which meter reads wrong" in names
    assert "“Which meter reads wrong”" in told["reversed-battery-meter"]
    assert "What the input limit should be" in names
    assert "“What the input limit should be”" in told["limit-too-high"]
    window.look.show_page("meters")
    (button,) = window.look.dialog.pages["meters"].tries
    assert f"“{button.text().replace('&', '')}”" in told["reversed-battery-meter"]
    before = window.ready
    click(button)
    qtbot.waitUntil(lambda: window.ready is not before, timeout=60_000)
    assert window.ready.review.suspects == ()
    window.look.dialog.close()


def test_what_is_wrong_with_a_lesson_is_told_when_it_begins(open_window, tmp_path):
    path = tmp_path / "plant.csv"
    path.write_bytes(demo_path("limit-too-high").read_bytes())
    path.with_suffix(".toml").write_bytes(demo_path("limit-too-high").with_suffix(".toml").read_bytes())
    path.with_suffix(".notes.toml").write_text(
        '[[note]]\nat = 2025-01-22T17:12:00\ntext = "x"\n[note.question]\nask = "?"\nparts = ["solar"]\n'
    )
    window = open_window(load(Wanted((path,)), lambda *_: None))
    window.teaching.start()
    assert window.notice.line.text() == "Note 1: this plant has no “Solar”: nobody could click what is right."
