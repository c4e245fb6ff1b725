"""The window as a picture without a screen."""

import subprocess
import sys

import pytest
from PySide6.QtGui import QImage

from desktop.review.telling import most_telling
from desktop.window.cursor import Cursor
from desktop.window.settings import Settings
from desktop.window.shot import dismiss, picture, render_png, shown
from desktop.window.style import theme
from recordings.errors import WriteError

_REPAINTS = """
import sys
from PySide6.QtWidgets import QApplication
from desktop.opening import open_recording
from desktop.review import review
from desktop.window.shot import shown
window = shown(review(*open_recording(sys.argv[1])))
cursor = window.board.cursor_of_time
for step in range(300):
    cursor.move(cursor.first + step * (cursor.last - cursor.first) // 300)
    window.board.trends.zoom(0.99 if step % 2 else 1.01)
    window.board.pace.now()
    window.board.trends.repaint()
    window.grab()
    QApplication.processEvents()
window.close()
print("lives")
"""


@pytest.fixture(autouse=True)
def light_again(qapp):
    yield
    theme.apply("light")


def test_the_picture_has_the_size_and_theme_that_was_asked_for(overload_review, tmp_path):
    for name in ("light", "dark"):
        path = tmp_path / f"{name}.png"
        render_png(overload_review, path, size=(1280, 720), theme=name)
        image = QImage(str(path))
        assert (image.width(), image.height()) == (1280, 720)
        assert image.pixelColor(3, 715) == theme.colour_in(name, "window")


def test_the_picture_is_what_the_window_shows(overload_review):
    window = shown(overload_review, size=(1280, 720))
    image = QImage.fromData(picture(overload_review, size=(1280, 720)))
    assert window.grab().toImage().convertToFormat(image.format()) == image
    dismiss(window)


def test_the_picture_shows_the_instant_that_was_asked_for(overload_review):
    time = overload_review.recording.time
    early = shown(overload_review, at=int(time[60]))
    assert early.board.moment.time == int(time[60])
    dismiss(early)
    telling = shown(overload_review)
    assert telling.board.moment.severity == "act now"
    dismiss(telling)


def test_a_picture_leaves_the_users_settings_alone(overload_review, tmp_path, monkeypatch):
    before = Settings().theme
    picture(overload_review, theme="dark")
    assert Settings().theme == before


def test_a_place_that_cannot_be_written_is_told(overload_review, tmp_path):
    with pytest.raises(WriteError):
        render_png(overload_review, tmp_path / "none" / "x.png")


def test_the_window_lives_through_300_repaints(overload):
    done = subprocess.run(
        [sys.executable, "-c", _REPAINTS, str(overload)],
        check=False,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout == "lives\n"


def test_the_most_telling_instant_lies_in_the_most_urgent_finding(overload_review):
    instant = most_telling(overload_review)
    assert any(each.severity == "act now" and each.stands_at(instant) for each in overload_review.findings)


def test_the_cursor_stays_inside_and_tells_only_changes():
    cursor = Cursor()
    cursor.set_range(100, 200)
    seen: list[int] = []
    cursor.watch(seen.append)
    for instant in (50, 150, 150, 900):
        cursor.move(instant)
    assert seen == [150, 200]
    cursor.set_range(100, 120)
    assert cursor.instant == 120
