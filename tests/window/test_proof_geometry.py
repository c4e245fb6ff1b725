"""No text is cut off or covered: every painted word, at every size of page and letters, in every language."""

from datetime import UTC
from itertools import combinations
from pathlib import Path

import pytest
from live_states import STATES, found
from painted_words import Word, told, words_of
from PySide6.QtWidgets import QAbstractScrollArea, QLabel, QScrollBar

from desktop import languages
from desktop.opening import open_recording
from desktop.review import review
from desktop.window import language
from desktop.window.live.alarms import Alarms
from desktop.window.live.connect.dialog import ConnectDialog
from desktop.window.opening import Ready, prepared
from desktop.window.parts.text import Elided
from desktop.window.shot import settle

DEMOS = Path(__file__).parents[2] / "recordings" / "demo"
NAMES = ("unequal-legs", "reversed-battery-meter", "ac-coupled-solar", "grid-failure")
SIZES = [(1280, 720), (1440, 900), (3840, 2160)]
SCALES = [1.0, 1.5, 2.0]
SPOKEN = [code for code in languages.NAMES if code == "en" or (languages.FOLDER / code).is_dir()]


@pytest.fixture(scope="session")
def plants() -> list[Ready]:
    """Plants of several kinds, with findings and without, and power that goes missing."""
    return [prepared(review(*open_recording(DEMOS / f"{name}.csv"))) for name in NAMES]


@pytest.fixture(params=SPOKEN)
def spoken(request, qapp):
    language.apply(request.param)
    yield request.param
    language.apply("en")


def check(words: list[Word]) -> None:
    for word in words:
        ink, room = word.ink, word.room.adjusted(-1, -1, 1, 1)
        assert room.left() <= ink.left(), f"{word} begins left of its room {told(room)}"
        assert ink.right() <= room.right(), f"{word} ends right of its room {told(room)}"
        if not isinstance(word.widget.parentWidget(), QAbstractScrollArea):
            assert room.top() <= ink.top(), f"{word} begins above its room {told(room)}"
            assert ink.bottom() <= room.bottom(), f"{word} ends below its room {told(room)}"
        if "…" in word.text and isinstance(word.widget, Elided):
            assert word.widget.text() == word.widget.toolTip()
    seen = [word for word in words if not word.seen.isEmpty()]
    for one, other in combinations(seen, 2):
        common = one.seen & other.seen
        assert common.width() <= 1 or common.height() <= 1, f"{one} covers {other}"


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_no_painted_word_is_cut_off_or_covered(open_window, plants, spoken, size, scale):
    window = open_window(None, size)
    window.set_text_scale(scale)
    for number, ready in enumerate(plants):
        window.set_theme(("light", "dark")[number % 2])
        window.show_ready(ready)
        cursor = window.board.cursor_of_time
        for share in (None, 0.3, 1.0):
            if share is not None:
                cursor.move(cursor.first + round(share * (cursor.last - cursor.first)))
            window.board.pace.now()
            settle(window)
            window.grab()
            words = words_of(window)
            assert len(words) > 40
            check(words)
            assert not side_by_side(window)


def side_by_side(window) -> list[str]:
    """Upright scroll bars that stand beside one another."""
    bars = [bar for bar in window.findChildren(QScrollBar) if bar.isVisible() and bar.height() > bar.width()]
    places = [(bar.mapTo(window, bar.rect().topLeft()), bar) for bar in bars]
    return [
        f"{one} {other}"
        for (one, a), (other, b) in combinations(places, 2)
        if abs(one.x() - other.x()) < 4 * a.width() and one.y() < other.y() + b.height()
    ]


@pytest.mark.parametrize("scale", SCALES)
def test_no_word_of_the_other_pages_is_cut_off_or_covered(open_window, ready, spoken, scale):
    window = open_window(ready, (1280, 720))
    window.set_text_scale(scale)
    for show in (window.show_about, window.show_cautions, window.show_details):
        dialog = show()
        settle(dialog)
        words = words_of(dialog)
        assert words, dialog
        check(words)
        dialog.reject()
    window.stack.setCurrentWidget(window.empty)
    window.notice.show_error("a.csv: no column with powers was found in this file. " * 3)
    settle(window)
    check(words_of(window))
    assert any(isinstance(word.widget, QLabel) for word in words_of(window.notice))


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("size", SIZES[:2], ids=lambda size: f"{size[0]}x{size[1]}")
def test_no_word_of_a_live_window_is_cut_off_or_covered(open_window, ready, spoken, size, scale):
    window = open_window(ready, size)
    window.set_text_scale(scale)
    window.strip.show_it(True)
    cursor = window.board.cursor_of_time
    cursor.set_live(True)
    cursor.move(cursor.last)
    alarms = Alarms()
    for number, (name, state) in enumerate(STATES.items()):
        window.strip.set_pinned(number % 2 == 0)
        window.strip.show_watching(state)
        window.first.show_watching(state)
        if name == "waiting":
            alarms.look(ready.review.findings, 0, 0, 0.0)
            window.strip.alarms.show_alarms(alarms, UTC)
        window.board.set_lull(state.lull)
        for page in (window.board, window.first):
            window.stack.setCurrentWidget(page)
            settle(window)
            words = words_of(window)
            check(words)
            parts = {word.widget for word in words}
            assert {window.strip.word, window.strip.line, window.strip.live, window.strip.stop} <= parts
    assert window.strip.alarms.isVisible()


@pytest.mark.parametrize("scale", SCALES)
def test_no_word_of_the_connect_dialog_is_cut_off_or_covered(open_window, spoken, scale):
    window = open_window(None, (1280, 720))
    window.set_text_scale(scale)
    dialog = ConnectDialog(window.settings, window, look=lambda *_: found())
    dialog.open()
    for kind in range(dialog.form.kind.count()):
        dialog.form.kind.setCurrentIndex(kind)
        settle(dialog)
        check(words_of(dialog))
    dialog.looker.found.emit([found()])
    settle(dialog)
    words = words_of(dialog)
    assert len(words) > 30
    check(words)
    dialog.reject()
