"""The three lessons, gone through in the window from start to end: by keys alone, and by mouse alone."""

import itertools

import pytest
from lesson_driving import LESSONS, click, demo_path, key, place_of_part, until
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from desktop.picture.diagram.parts import part_name
from desktop.window.opening import Wanted, load
from desktop.window.shot import settle
from desktop.words import kept_together

WAITING = ("telling", "asking", "shown", "over")


@pytest.fixture(scope="module")
def opened():
    """Name → its review with trends, made once."""
    made = {}

    def ready(name):
        if name not in made:
            made[name] = load(Wanted((demo_path(name),)), lambda *_: None)
        return made[name]

    return ready


@pytest.fixture
def started(open_window, opened):
    """A window in which a lesson has begun."""

    def start(name, size=(1280, 800)):
        window = open_window(opened(name), size)
        window.activateWindow()
        window.teaching.start()
        QApplication.processEvents()
        return window, window.teaching.course

    return start


def hurry(qtbot, window, course):
    """Don't wait for the replay: press what goes there at once."""
    if course.target is not None:
        window.teaching.run.strip.forward.setFocus()
        key("Return")
    until(qtbot, course, *WAITING)


def strip_of(window):
    return window.teaching.run.strip


def stands(window, course):
    """The window shows what the lesson says it may show."""
    board, note = window.board, course.note
    hidden = course.hidden_after
    assert not board.replay.clock.playing
    assert board.replay.instant == board.cursor_of_time.instant == board.moment.time
    if hidden is not None:
        assert board.cursor_of_time.last == board.replay.clock.last == hidden
        assert board.findings.model.rowCount() == 0
        assert board.replay.track.marks() == []
        assert board.trends.parts().panes
        assert window.ready.wanted.paths[0].name not in f"{board.origin.text()} {window.windowTitle()}"
        assert all(flag.at <= hidden and flag.end <= hidden for flag in window.teaching.flags.flags)
    if course.phase == "asking":
        assert board.cursor_of_time.instant == note.at == hidden
        assert board.moment.findings == ()
        assert board.moment.severity is None
    strip = window.teaching.run.strip
    assert strip.isVisible()
    assert all(each for each in strip.words.told()[:1])
    assert "{" not in " ".join(strip.words.told())


@pytest.mark.parametrize("name", LESSONS)
def test_by_keys_with_right_answers(started, qtbot, name):
    window, course = started(name)
    strip, seen = window.teaching.run.strip, []
    while course.phase != "over":
        hurry(qtbot, window, course)
        stands(window, course)
        seen.append(course.phase)
        question = course.note.question
        if course.phase == "asking" and question.choices:
            assert strip.choices.rows[0].button.hasFocus()
            assert not strip.forward.isEnabled()
            key(str(question.right[0] + 1))
            key("Return")
            hurry(qtbot, window, course)
            assert "Right." in strip.words.told()
            assert strip.words.told()[2] != ""
        elif course.phase == "asking":
            chooser = window.teaching.run.chooser
            assert window.board.diagram.hasFocus()
            for _ in range(30):
                key("Right")
                if chooser.held in question.right:
                    break
            key("Return")
            hurry(qtbot, window, course)
            assert "Right." in strip.words.told()
        else:
            assert strip.forward.hasFocus()
            key("Return")
    score = course.score
    assert score.right == score.asked == score.total > 0
    assert seen.count("asking") == score.total
    assert kept_together(f"{score.right} of {score.total}") in strip.words.told()[0]
    assert window.board.findings.model.findings == window.ready.review.findings
    assert strip.end.hasFocus()
    key("Return")
    assert window.teaching.course is None
    assert not strip.isVisible()


@pytest.mark.parametrize("name", LESSONS)
def test_by_mouse_with_wrong_answers(started, qtbot, name):
    window, course = started(name)
    strip = window.teaching.run.strip
    while course.phase != "over":
        if course.target is not None:
            click(strip.forward)
            until(qtbot, course, *WAITING)
        stands(window, course)
        question = course.note.question
        if course.phase == "asking" and question.choices:
            wrong = next(row for row in range(len(question.choices)) if row not in question.right)
            click(strip.choices.rows[wrong].words, QPoint(30, 5))
            assert strip.choices.chosen == wrong
            click(strip.forward)
            assert course.phase == "asking"
            assert strip.words.told()[2].startswith("Not quite. You have one more try.")
            assert strip.choices.rows[wrong].words.text().startswith("✗")
            assert not strip.forward.isEnabled()
            stands(window, course)
            # The focus hints at none of those that are left; keys begin anew.
            assert strip.hasFocus()
            key("Down")
            assert strip.choices.chosen == min(row for row in range(3) if row != wrong)
            other = next(row for row in range(3) if row not in (wrong, *question.right))
            click(strip.choices.rows[other].words, QPoint(30, 5))
            click(strip.forward)
            until(qtbot, course, "shown")
            assert strip.words.told()[1].startswith("Not quite")
            marked = [row.words.text()[:1] for row in strip.choices.rows]
            assert [sign == "✓" for sign in marked] == [row in question.right for row in range(len(marked))]
            assert marked[wrong] == marked[other] == "✗"
            assert not strip.choices.rows[0].button.isEnabled()
        elif course.phase == "asking":
            diagram = window.board.diagram
            for wrong, name in (("load", "House loads"), ("ac", "AC bus")):
                assert wrong not in question.right
                settle(window)
                place = place_of_part(diagram, wrong)
                QTest.mouseMove(diagram, place)
                QApplication.processEvents()
                assert window.teaching.run.chooser.held == wrong
                click(diagram, place)
                said = " ".join(strip.words.told())
                assert f"Not quite: that is “{name}”." in said
            until(qtbot, course, "shown")
            assert f"Right is “{part_name(question.right[0])}”" in strip.words.told()[1]
            assert set(window.teaching.run.chooser.pointed) == set(question.right)
        else:
            click(strip.forward)
    assert course.score.right == 0
    assert course.score.asked == course.score.total


def test_the_replay_itself_runs_to_the_moment_and_stops_there(started, qtbot):
    window, course = started("limit-too-high")
    assert course.phase == "going"
    assert window.board.replay.clock.playing
    until(qtbot, course, "asking")
    stands(window, course)


def test_what_a_note_speaks_of_is_pointed_out_and_in_sight(started, qtbot):
    window, course = started("limit-too-high", (1280, 720))
    hurry(qtbot, window, course)
    while course.phase != "telling":
        window.teaching.run.skip()
        hurry(qtbot, window, course)
    board = window.board
    settle(window)
    assert board.findings.pointed_out
    assert not board.limits.pointed_out
    button, area = board.findings.look, board.right.viewport()
    qtbot.waitUntil(lambda: area.rect().contains(QRect(button.mapTo(area, QPoint()), button.size())))
    window.teaching.end()
    assert not board.findings.pointed_out


def test_flags_stand_below_the_panes_and_above_the_times(started, qtbot):
    window, course = started("healthy-charge", (1280, 720))
    hurry(qtbot, window, course)
    settle(window)
    trends, flags = window.board.trends, window.teaching.flags
    parts = trends.parts()
    trends.grab()
    foot = flags.place_of(flags.flags[0])
    assert parts.notes.contains(foot.toPoint())
    assert parts.notes.top() >= parts.panes[-1].plot.bottom()
    assert parts.notes.bottom() < parts.axis.top()


def test_it_shows_what_happened(started, qtbot):
    window, course = started("limit-too-high")
    hurry(qtbot, window, course)
    window.teaching.run.skip()
    hurry(qtbot, window, course)
    window.teaching.run.go_on()
    hurry(qtbot, window, course)
    at = course.note.at
    key("1")
    key("Return")
    assert course.phase == "showing"
    assert strip_of(window).words.told()[1:] == ["Right.", "The recording plays on to what happened…"]
    assert window.board.replay.clock.playing
    until(qtbot, course, "shown")
    assert window.board.cursor_of_time.instant == course.note.until > at
    assert window.board.moment.streams["generator"].value > 4000


def test_while_a_question_is_open_nobody_gets_past_it(started, qtbot):
    window, course = started("limit-too-high")
    hurry(qtbot, window, course)
    board, at = window.board, course.note.at
    for go in (
        lambda: board.replay.go(board.replay.track.instant_at(1e6)),
        lambda: board.cursor_of_time.move(at + 10**12),
        lambda: board.trends.put_cursor(at + 10**12),
        lambda: board.trends.step_cursor(500),
        board.replay.next_finding,
        lambda: QTest.keyClick(board.replay.track, Qt.Key.Key_End),
        window.teaching.next_note,
    ):
        go()
        QApplication.processEvents()
        assert board.cursor_of_time.instant <= at
        assert board.moment.time <= at
        assert course.phase == "asking"
    board.replay.go(at - 60 * 10**9)
    assert board.cursor_of_time.instant == at - 60 * 10**9
    assert course.phase == "asking"


def test_back_skip_and_end(started, qtbot):
    window, course = started("limit-too-high")
    strip = window.teaching.run.strip
    assert not strip.back.isEnabled()
    hurry(qtbot, window, course)
    click(strip.skip)
    assert strip.words.told()[1].startswith("Passed")
    hurry(qtbot, window, course)
    click(strip.forward)
    hurry(qtbot, window, course)
    click(strip.back)
    hurry(qtbot, window, course)
    assert (course.index, course.phase) == (0, "shown")
    click(strip.end)
    assert window.teaching.course is None
    assert not strip.isVisible()
    assert window.board.cursor_of_time.last == int(window.ready.review.recording.time[-1])
    assert window.board.replay.clock.speed == 60


def test_again_begins_with_no_points(started, qtbot):
    window, course = started("limit-too-high")
    course.end()
    window.teaching.run._apply()
    click(window.teaching.run.strip.back)
    assert window.teaching.course is not course
    assert window.teaching.course.score.asked == 0


def test_another_language_goes_on_with_the_lesson(started, qtbot):
    window, course = started("limit-too-high")
    hurry(qtbot, window, course)
    at = course.note.at
    window.set_language("de")
    try:
        QApplication.processEvents()
        assert window.teaching.course is course
        assert course.phase == "asking"
        assert window.board.cursor_of_time.instant == window.board.cursor_of_time.last == at
        stands(window, course)
        key("2")
        assert window.teaching.run.strip.forward.isEnabled()
    finally:
        window.set_language("en")


def test_opening_something_else_ends_the_lesson(started, opened):
    window, _ = started("limit-too-high")
    window.show_ready(opened("healthy-charge"))
    assert window.teaching.course is None
    assert not window.teaching.run.strip.isVisible()
    assert window.board.cursor_of_time.last == int(opened("healthy-charge").review.recording.time[-1])
    assert len(window.teaching.flags.flags) == len(window.teaching.notes.notes)


def test_a_lesson_is_chosen_from_the_menu(open_window, qtbot):
    window = open_window()
    window.menus.lessons.aboutToShow.emit()
    titles = [action.text() for action in window.menus.lessons.actions() if action.text()]
    assert titles == ["Reading a healthy charge", "An overload", "A meter that lies", "Of &this recording"]
    window.menus.lessons.actions()[1].trigger()
    qtbot.waitUntil(lambda: window.teaching.course is not None, timeout=30_000)
    assert window.ready.wanted.paths == (demo_path("limit-too-high"),)
    assert window.teaching.run.strip.name.text() == "An overload"


@pytest.mark.parametrize("size", [(960, 600), (1280, 720)])
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_everything_in_the_strip_has_room(started, qtbot, size, scale):
    window, course = started("healthy-charge", size)
    window.set_text_scale(scale)
    while course.phase != "over":
        hurry(qtbot, window, course)
        strip = window.teaching.run.strip
        texts = [part for part in strip.words._parts if part.isVisible()]
        texts += [row.words for row in strip.choices.rows]
        for text in texts:
            assert text.height() >= text.heightForWidth(text.width()), text.text()
            assert text.width() <= strip.width()
        for one, other in itertools.combinations(texts, 2):
            assert one.parent() is not other.parent() or not one.geometry().intersects(other.geometry())
        inside = strip.scroll.widget()
        assert (
            inside.height() <= strip.scroll.viewport().height()
            or strip.scroll.verticalScrollBar().maximum() > 0
        )
        window.teaching.run.skip()
        QApplication.processEvents()
