"""Words in the trends: none covers another, at any size of view and letters, in any language, with a forecast."""

from itertools import combinations
from pathlib import Path

import pytest
from painted_words import words_of
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from desktop import languages
from desktop.opening import open_recording
from desktop.review import review
from desktop.window import language
from desktop.window.opening import Ready, prepared
from desktop.window.trends.view import TrendView

DEMOS = Path(__file__).parents[2] / "recordings" / "demo"
NAMES = ("limit-too-high", "load-step", "lead-acid-absorption")
SIZES = [(420, 220), (700, 300), (840, 420), (2400, 900)]
SPOKEN = ["en", *sorted(languages.NAMES.keys() - {"en"})]


@pytest.fixture(scope="module")
def plants() -> list[Ready]:
    """Plants with limits that lie close, and charges to look ahead from."""
    return [prepared(review(*open_recording(DEMOS / f"{name}.csv"))) for name in NAMES]


@pytest.fixture(params=SPOKEN)
def spoken(request, qapp):
    language.apply(request.param)
    yield request.param
    language.apply("en")


def charging(ready: Ready) -> list[int]:
    """Instants early and late in the first session."""
    session = ready.review.sessions[0]
    return [session.start + round(share * (session.end - session.start)) for share in (0.3, 0.9)]


def shown(qtbot, ready: Ready, size: tuple[int, int], scale: float) -> tuple[QWidget, TrendView]:
    around, view = QWidget(), TrendView()
    qtbot.addWidget(around)
    QVBoxLayout(around).addWidget(view)
    font = view.font()
    font.setPointSizeF(font.pointSizeF() * scale)
    view.setFont(font)
    around.resize(*size)
    view.set_source(ready.trends, ready.store)
    around.show()
    return around, view


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_no_word_covers_another(qtbot, plants, spoken, size, scale):
    for ready in plants:
        around, view = shown(qtbot, ready, size, scale)
        everything = frozenset(each.key for each in ready.trends.series)
        for keys in (view.shown_curves, everything):
            view.show_curves(keys)
            for instant in charging(ready):
                view.set_cursor(instant)
                forecast = ready.review.forecast_at(instant)
                view.set_fan(None if forecast is None else forecast.fan)
                QApplication.processEvents()
                view.grab()
                words = [word for word in words_of(around) if word.widget is view]
                assert len(words) > 4
                for one, other in combinations(words, 2):
                    common = one.ink & other.ink
                    assert common.width() <= 1 or common.height() <= 1, f"{one} covers {other}"
        around.close()


def test_names_of_limits_keep_clear_of_the_fan(qtbot, plants):
    ready = plants[1]
    around, view = shown(qtbot, ready, (840, 420), 1.0)
    instant = charging(ready)[0]
    view.set_cursor(instant)
    view.set_fan(ready.review.forecast_at(instant).fan)
    view.grab()
    box = next(each for each in view.parts().panes if each.pane.key == "soc")
    name = next(word for word in words_of(around) if word.text == "target")
    ink = name.ink.translated(-view.pos())
    if box.plot.contains(ink.center().toPoint()):
        assert ink.right() < view.place_of(instant)
    else:
        assert box.caption.contains(ink.center().toPoint())


def test_limits_are_named_where_there_is_room(qtbot, plants):
    around, view = shown(qtbot, plants[0], (840, 420), 1.0)
    view.grab()
    told = {word.text for word in words_of(around)}
    assert {"input limit", "generator rating", "target"} <= told


def test_no_limit_seems_to_be_the_line_at_zero(qtbot):
    ready = prepared(review(*open_recording(DEMOS / "reversed-battery-meter.csv")))
    instant = ready.review.sessions[0].end - 11 * 60 * 10**9
    for height in (210, 218, 254):
        around, view = shown(qtbot, ready, (850, height), 1.0)
        view.set_cursor(instant)
        view.hide_after(instant)
        view.grab()
        words = words_of(around)
        name = next(word for word in words if word.text == "input limit")
        zero = next(word for word in words if word.text == "0").ink.center().y()
        assert zero < name.ink.top() or name.ink.bottom() < zero
