"""Words stand out from what they stand on, and states are told apart without telling red from green.

The matrices for simulated deuteranopia and protanopia (severity 1.0) are those of Machado, Oliveira &
Fernandes 2009, "A physiologically-based model for simulation of color vision deficiency", quoted from memory.
Distances are CIE 1976 ΔE*ab (D65); contrast is that of WCAG 2.2.
"""

from datetime import UTC
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from colour_vision import VISION, WHITE, XYZ
from live_states import STATES, found
from painted_words import box_of, commonest, ground_of, pixels, words_of
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication

from desktop.diagnosis.finding import SEVERITIES
from desktop.opening import open_recording
from desktop.picture.diagram.examples import examples
from desktop.picture.diagram.shapes import bounds
from desktop.picture.palette import contrast, linear
from desktop.review import review
from desktop.window.diagram.view import DiagramView
from desktop.window.live.alarms import Alarms
from desktop.window.live.connect.dialog import ConnectDialog
from desktop.window.live.state_mark import draw_state
from desktop.window.opening import prepared
from desktop.window.parts.severity_shapes import draw_mark
from desktop.window.trends.colours import TrendColours

DEMOS = Path(__file__).parents[2] / "recordings" / "demo"
THEMES = ("light", "dark")
APART = 18
"""ΔE*ab at which two areas beside one another are told apart without looking twice."""


def lab(colour: str, vision: str) -> np.ndarray:
    share = XYZ @ np.clip(VISION[vision] @ np.array(linear(colour)), 0, 1) / WHITE
    f = np.where(share > 216 / 24389, np.cbrt(share), (24389 / 27 * share + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(one: str, other: str, vision: str) -> float:
    return float(np.linalg.norm(lab(one, vision) - lab(other, vision)))


@pytest.mark.parametrize("name", THEMES)
@pytest.mark.parametrize("demo", ["limit-too-high", "reversed-battery-meter", "lead-acid-absorption"])
def test_every_painted_word_stands_out_from_the_pixels_around_it(open_window, name, demo):
    ready = prepared(review(*open_recording(DEMOS / f"{demo}.csv")))
    window = open_window(ready, (1440, 900))
    window.set_theme(name)
    cursor = window.board.cursor_of_time
    for share in (None, 0.9):
        if share is not None:
            cursor.move(cursor.first + round(share * (cursor.last - cursor.first)))
            window.board.pace.now()
        QApplication.processEvents()
        assert stand_out(window) > 60


@pytest.mark.parametrize("name", THEMES)
@pytest.mark.parametrize("state", STATES)
def test_every_word_of_a_live_window_stands_out(open_window, ready, name, state):
    window = open_window(ready, (1440, 900))
    window.set_theme(name)
    window.strip.show_it(True)
    window.strip.show_watching(STATES[state])
    alarms = Alarms()
    alarms.look(ready.review.findings, 0, 0, 0.0)
    if state == "reading":
        alarms.acknowledge()
    window.strip.alarms.show_alarms(alarms, UTC)
    cursor = window.board.cursor_of_time
    cursor.set_live(True)
    cursor.move(cursor.last)
    window.board.set_lull(STATES[state].lull)
    QApplication.processEvents()
    assert stand_out(window) > 60


@pytest.mark.parametrize("name", THEMES)
def test_every_word_of_the_connect_dialog_stands_out(open_window, name):
    window = open_window(None, (1440, 900))
    window.set_theme(name)
    dialog = ConnectDialog(window.settings, window, look=lambda *_: found())
    dialog.open()
    dialog.resize(760, 1000)
    dialog.looker.found.emit([found()])
    QApplication.processEvents()
    assert stand_out(dialog) > 30
    dialog.reject()


def test_what_a_source_is_doing_differs_in_shape(qapp):
    shapes = {phase: phase_covered(phase) for phase in ("reading", "connecting", "waiting", "stale", "ended")}
    for one, other in combinations(shapes, 2):
        assert np.count_nonzero(shapes[one] != shapes[other]) > 0.03 * shapes[one].size, (one, other)


def phase_covered(phase: str) -> np.ndarray:
    side = 24
    image = QImage(side, side, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    draw_state(painter, QRectF(0, 0, side, side), phase, QColor("black"))
    painter.end()
    return pixels(image) < 0x808080


def stand_out(window) -> int:
    """Every painted word has the contrast that it needs; how many there are."""
    picture = pixels(window.grab().toImage())
    # What can't be used at the moment is exempt (success criterion 1.4.3).
    words = [word for word in words_of(window) if not word.seen.isEmpty() and word.widget.isEnabled()]
    for word in words:
        ground = ground_of(word, picture)
        ratio = contrast(word.colour, ground)
        assert ratio >= 4.5, f"{word}: {word.colour} on {ground} is {ratio:.2f}"
    return len(words)


@pytest.mark.parametrize("name", THEMES)
def test_the_ink_of_a_word_is_the_colour_that_it_is_said_to_be(open_window, ready, name):
    """The palette's colour really reaches the pixels: large words have some in it, or very near to it."""
    window = open_window(ready, (1440, 900))
    window.set_theme(name)
    QApplication.processEvents()
    picture = pixels(window.grab().toImage())
    panel = window.board.sentence
    for label in (panel.headline, panel.word, panel.clock):
        word = next(each for each in words_of(window) if each.widget is label)
        ground = ground_of(word, picture)
        strongest = max(contrast(f"#{colour:06x}", ground) for colour in np.unique(box_of(word, picture)))
        assert strongest >= 0.9 * contrast(word.colour, ground)


@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize("name", THEMES)
def test_severities_differ_in_shape_and_in_colour(qapp, name, vision):
    colours = TrendColours(name)
    for one, other in combinations(SEVERITIES, 2):
        # The grey of a note lies nearer to a red that is seen dark; the one is a ring, the other a full triangle.
        least = 12 if "note" in (one, other) else APART
        assert distance(colours(one).name(), colours(other).name(), vision) >= least, (one, other)
    shapes = {severity: covered(severity) for severity in SEVERITIES}
    for one, other in combinations(SEVERITIES, 2):
        differing = np.count_nonzero(shapes[one] != shapes[other])
        assert differing > 0.15 * shapes[one].size, (one, other)


def covered(severity: str) -> np.ndarray:
    """Which pixels of a mark are filled, in one and the same colour."""
    side = 24
    image = QImage(side, side, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    draw_mark(painter, QPointF(side / 2, side / 2), side - 2, severity, QColor("black"))
    painter.end()
    return np.array([[image.pixelColor(x, y).red() < 128 for x in range(side)] for y in range(side)])


@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize("name", THEMES)
def test_sources_and_what_runs_over_are_told_apart_as_painted(qtbot, name, vision):
    sources, over = as_painted(qtbot, name, "everything"), as_painted(qtbot, name, "over-limit")
    waters = {source: colour for (kind, source), colour in sources.items() if kind == "water"}
    assert len(waters) >= 3
    for one, other in combinations(sorted(waters), 2):
        # Both are the sun; they are never in one channel of a plant of one kind, and each has its name.
        if {one, other} != {"solar", "solar_ac"}:
            assert distance(waters[one], waters[other], vision) >= APART, (one, other)
    alarms = [colour for (kind, _), colour in over.items() if kind == "overflow"]
    assert alarms
    for alarm in alarms:
        for source, water in waters.items():
            assert distance(alarm, water, vision) >= APART, source


def as_painted(qtbot, name: str, example: str) -> dict[tuple[str, str], str]:
    """The commonest colour of each kind of water in a picture of an example, by kind and source."""
    view = DiagramView()
    qtbot.addWidget(view)
    view.resize(1400, 800)
    view.set_theme(name)
    view.show_moment(examples()[example])
    image = pixels(view.grab().toImage())
    found = {}
    for area in view.picture.areas:
        box = bounds(area.path)
        # The straight channels at the left: nothing lies over them but chevrons.
        if area.kind in ("water", "overflow") and box.height > 3 and box.width > 60:
            rows = slice(round(box.top) + 1, round(box.bottom) - 1)
            middle = image[rows, round(box.left) + 4 : round(box.right) - 4]
            found.setdefault((area.kind, area.source), commonest(middle))
    return found
