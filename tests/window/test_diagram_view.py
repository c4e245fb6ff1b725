"""The diagram as a widget: with Qt's own measure of text, in both themes, heard as well as seen."""

import itertools

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtGui import QColor, QImage, QPainter
from pytestqt.qtbot import QtBot

from desktop.picture.diagram import layout
from desktop.picture.diagram.examples import examples
from desktop.picture.diagram.shapes import bounds
from desktop.picture.palette import THEMES
from desktop.window.diagram import gallery
from desktop.window.diagram import view as diagram
from desktop.window.diagram.paint import DiagramPainter, font_of
from desktop.window.diagram.view import DiagramView, measured
from desktop.window.style import fonts


@pytest.fixture
def view(qtbot: QtBot) -> DiagramView:
    made = DiagramView()
    qtbot.addWidget(made)
    made.resize(920, 440)
    made.set_theme("light")
    made.show_moment(examples()["over-limit"])
    return made


def seen(view: DiagramView) -> QImage:
    return view.grab().toImage()


def colour_at(view: DiagramView, x: float, y: float) -> QColor:
    return seen(view).pixelColor(QPoint(round(x), round(y)))


def test_water_is_painted_in_its_source_colour_in_both_themes(view: DiagramView) -> None:
    water = next(one for one in view.picture.areas if one.kind == "water" and one.stream == "generator")
    box = bounds(water.path)
    for theme in THEMES:
        view.set_theme(theme)
        assert colour_at(view, box.left + 5, box.bottom - 6).name() == THEMES[theme]["generator"]
        assert colour_at(view, 2, 2).name() == THEMES[theme]["ground"]


def test_it_is_heard_as_well(view: DiagramView) -> None:
    heard = view.accessibleDescription()
    assert view.accessibleName() == "Power flow"
    assert heard.startswith("An example.")
    for words in (
        "Generator: 6.23 kW",
        "House loads: 2.31 kW",
        "Battery: 4.38 kW, 61 %, charging",
        "Losses: 0.35 kW",
    ):
        assert words in heard
    view.show_moment(examples()["unaccounted"])
    assert "0.62 ± 0.09 kW not accounted for." in view.accessibleDescription()


def test_another_moment_is_another_picture(view: DiagramView) -> None:
    before, first = view.picture, seen(view)
    view.show_moment(examples()["night"])
    assert view.picture != before
    assert seen(view) != first
    assert view.moment is not None


def test_what_stands_still_is_laid_out_and_painted_once(
    view: DiagramView, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls = []

    def counted(*arguments: object) -> object:
        calls.append("layout")
        return layout(*arguments)

    class Counted(DiagramPainter):
        def paint(self, *arguments: object) -> None:
            calls.append("paint")
            super().paint(*arguments)

    monkeypatch.setattr(diagram, "layout", counted)
    monkeypatch.setattr(diagram, "DiagramPainter", Counted)
    view.set_motion(True)
    view.show()
    view.show_moment(examples()["charging"])
    for _ in range(5):
        view.grab()
    assert calls == ["layout", "paint"]
    view.resize(700, 400)
    view.grab()
    assert calls == ["layout", "paint"] * 2


def test_chevrons_drift_only_when_told_to(view: DiagramView, qtbot: QtBot) -> None:
    assert not view.moves
    view.show()
    still = seen(view)
    assert seen(view) == still
    view.set_motion(True)
    assert view.moves
    qtbot.waitUntil(lambda: seen(view) != still, timeout=3000)
    view.set_motion(False)
    assert not view.moves
    assert seen(view) == still


def test_it_shows_nothing_before_there_is_a_moment(qtbot: QtBot) -> None:
    empty = DiagramView()
    qtbot.addWidget(empty)
    assert empty.picture is None
    assert empty.grab().toImage().pixelColor(5, 5).name() == THEMES["light"]["ground"]


def test_it_can_be_painted_elsewhere_as_it_is_shown(view: DiagramView) -> None:
    page = QImage(view.size(), QImage.Format.Format_RGB32)
    painter = QPainter(page)
    view.render_picture(painter)
    painter.end()
    assert page == seen(view).convertToFormat(QImage.Format.Format_RGB32)


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
def test_text_in_real_letters_lies_over_nothing(qtbot: QtBot, scale: float) -> None:
    fonts.set_text_scale(scale)
    try:
        for moment in examples().values():
            for width, height in ((560, 360), (640, 420), (920, 440), (1900, 1000)):
                picture = layout(moment, width, height, measured())
                for one, other in itertools.combinations(picture.texts, 2):
                    assert not one.box.meets(other.box, 0.25), (one, other)
                for text in picture.texts:
                    assert text.box.left >= 0
                    assert text.box.right <= width
                    assert text.box.bottom <= height
    finally:
        fonts.set_text_scale(1.0)


def test_digits_keep_their_width(qtbot: QtBot) -> None:
    measure = measured()
    assert len({measure(digit * 4, 1.4, True)[0] for digit in "0123456789"}) == 1
    assert font_of(1.4, True).bold()


def test_the_gallery_draws_every_state_in_both_themes(qtbot: QtBot, tmp_path: object) -> None:
    assert gallery.draw(tmp_path, 600, 380, 1.0, ["night", "unknown"]) == 4
    assert sorted(one.name for one in tmp_path.iterdir()) == [
        "night-dark.png", "night-light.png", "unknown-dark.png", "unknown-light.png",
    ]  # fmt: skip
    assert gallery.draw(tmp_path, 600, 380, 1.0, []) == 2 * len(examples())
