"""Notes in the window: flags in the trends, marks on the bar, from note to note; text stays text."""

import pytest
from lesson_driving import demo_path, key
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QFontMetrics, QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from desktop.pack.beside import notes_file
from desktop.window.opening import Wanted, dropped_paths, load
from desktop.window.style import fonts

EVIL = '<b>{load}</b> <img src="x"> & <script>'

NOTES = f"""
[[note]]
at = 2025-01-22T17:12:00
text = '{EVIL}'

[[note]]
at = 2025-01-22T17:23:58
until = 2025-01-22T17:30:00
text = "It happens here."
"""


@pytest.fixture
def noted(open_window, tmp_path):
    """A window on a recording with notes, or with whatever stands in the file."""

    def show(text=NOTES):
        path = tmp_path / "plant.csv"
        path.write_bytes(demo_path("limit-too-high").read_bytes())
        path.with_suffix(".toml").write_bytes(demo_path("limit-too-high").with_suffix(".toml").read_bytes())
        notes_file(path).write_text(text, encoding="utf-8")
        window = open_window(load(Wanted((path,)), lambda *_: None))
        window.activateWindow()
        return window

    return show


def hover(widget, place):
    event = QMouseEvent(
        QEvent.Type.MouseMove,
        QPointF(place),
        QPointF(widget.mapToGlobal(place.toPoint())),
        Qt.MouseButton.NoButton,
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
    )
    QApplication.sendEvent(widget, event)


def test_notes_are_flags_and_marks_with_their_values(noted):
    window = noted()
    flags = window.teaching.flags
    assert len(flags.flags) == 2
    first, second = flags.flags
    load_kw = window.ready.review.moment(first.at).streams["load"].value / 1000
    assert first.text == EVIL.replace("{load}", f"{load_kw:.2f} kW")
    assert second.end - second.at == 362 * 10**9
    assert first.text in flags.accessibleDescription()
    track = window.board.replay.track
    place = QPointF(track.place_of(first.at), track.height() - 4)
    assert track.told_at(place) == first.text


def test_markup_in_a_tip_is_shown_and_not_followed(noted, qtbot):
    window = noted()
    track = window.board.replay.track
    shown = []
    from desktop.window.replay import track as module

    tip = module.plain_tip(track.told_at(QPointF(track.place_of(window.teaching.flags.flags[0].at), 34)))
    shown.append(tip)
    assert "<b>" not in tip
    assert "&lt;b&gt;" in tip
    assert "<img" not in tip
    assert module.plain_tip("") == ""


def test_the_text_shows_under_the_mouse_and_at_the_cursor(noted):
    window = noted()
    flags, trends = window.teaching.flags, window.board.trends
    window.board.cursor_of_time.move(flags.flags[0].at - 60 * 10**9)
    trends.grab()
    assert flags.told() is None
    foot = flags.place_of(flags.flags[1])
    hover(trends, foot + QPointF(3, -10))
    assert flags.told() is flags.flags[1]
    QApplication.sendEvent(trends, QEvent(QEvent.Type.Leave))
    assert flags.told() is None
    QTest.mouseClick(trends, Qt.MouseButton.LeftButton, pos=(foot + QPointF(3, -10)).toPoint())
    assert window.board.cursor_of_time.instant == flags.flags[1].at
    assert flags.told() is flags.flags[1]


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_a_text_keeps_within_the_trends(noted, scale):
    window = noted(NOTES.replace("It happens here.", "It happens here. " * 60))
    window.set_text_scale(scale)
    flags, trends = window.teaching.flags, window.board.trends
    trends.grab()
    for flag in flags.flags:
        box, room, text = flags.box_of(flag)
        assert trends.rect().contains(box)
        metrics = QFontMetrics(fonts.sized(0.92))
        assert metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), text).height() <= room.height()


def test_keys_go_from_note_to_note(noted):
    window = noted()
    cursor = window.board.cursor_of_time
    first, second = (flag.at for flag in window.teaching.flags.flags)
    cursor.move(cursor.first)
    seen = []
    for name in ("F6", "F6", "F6", "Shift+F6", "Shift+F6"):
        key(name)
        seen.append(cursor.instant)
    assert seen == [first, second, second, first, first]


def test_what_is_wrong_with_the_notes_is_said_and_the_recording_is_shown(noted):
    window = noted(NOTES.replace("17:12:00", "18:12:00"))
    assert window.notice.isVisible()
    assert "at of note 1 lies outside the recording" in window.notice.line.text()
    assert window.stack.currentWidget() is window.board
    assert window.teaching.flags.flags == []
    assert not window.menus.needing_notes[0].isEnabled()
    assert window.menus.notes.isEnabled()


def test_a_hostile_lesson_is_text_to_the_end(noted, qtbot):
    evil = EVIL.replace("'", "")
    window = noted(
        f"title = '{evil}'\n[[note]]\nat = 2025-01-22T17:12:00\ntext = '{evil}'\n"
        f"[note.question]\nask = '{evil}'\nchoices = ['{evil}', '&A']\nright = 1\nexplain = '{evil}'\n"
    )
    window.teaching.start()
    window.teaching.run.go_on()
    strip = window.teaching.run.strip
    assert window.teaching.course.phase == "asking"
    for part in (strip.name, *strip.words._parts, *(row.words for row in strip.choices.rows)):
        assert part.textFormat() == Qt.TextFormat.PlainText
    assert "<img" in strip.words.told()[0]
    assert strip.choices.rows[1].words.text() == "&A"
    window.teaching.run.answer(0)
    assert "<img" in strip.words.told()[2]


def test_files_of_notes_stand_for_their_recording(tmp_path):
    assert dropped_paths([str(tmp_path / "a.notes.toml")]) == ([tmp_path / "a.csv"], None)
    assert dropped_paths([str(tmp_path / "a.csv"), str(tmp_path / "a.notes.toml")])[0] == [tmp_path / "a.csv"]


def test_a_press_beside_the_flags_is_the_trends(noted):
    window = noted()
    trends = window.board.trends
    trends.grab()
    field = trends.field
    QTest.mouseClick(trends, Qt.MouseButton.LeftButton, pos=QPoint(field.left() + 20, field.top() + 60))
    assert window.board.cursor_of_time.instant < window.teaching.flags.flags[0].at
