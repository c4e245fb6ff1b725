"""The trend view, worked by mouse, wheel, pinch and keys."""

import subprocess
import sys
from itertools import pairwise

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QNativeGestureEvent, QPointingDevice, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from trend_source import NOON, S, SmallSource

from desktop.picture.palette import contrast
from desktop.picture.trends.window import TimeWindow
from desktop.window.trends.chooser import CurveChooser
from desktop.window.trends.colours import TrendColours
from desktop.window.trends.view import TrendView


@pytest.fixture
def view(qtbot: QtBot) -> TrendView:
    view = TrendView()
    qtbot.addWidget(view)
    view.resize(900, 420)
    view.set_source(SmallSource())
    view.show()
    qtbot.waitExposed(view)
    view.grab()
    return view


def window(view: TrendView) -> TimeWindow:
    assert view.window_of_time is not None
    return view.window_of_time


def place(view: TrendView, instant: int, y: int = 80) -> QPoint:
    view.grab()
    x = view.place_of(instant)
    assert x is not None
    return QPoint(round(x), y)


def wheel(view: TrendView, at: QPoint, notches: int, sideways: int = 0) -> None:
    event = QWheelEvent(
        QPointF(at),
        QPointF(view.mapToGlobal(at)),
        QPoint(),
        QPoint(120 * sideways, 120 * notches),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(view, event)


def test_a_click_puts_the_cursor_there_and_tells(view: TrendView, qtbot: QtBot) -> None:
    at = place(view, NOON + 3600 * S)
    with qtbot.waitSignal(view.cursor_moved) as told:
        qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=at)
    pixel = window(view).span / 800
    assert told.args[0] == pytest.approx(NOON + 3600 * S, abs=pixel)
    assert view.cursor_instant == told.args[0]


def test_the_wheel_zooms_about_the_pointer(view: TrendView) -> None:
    at = place(view, NOON + 5400 * S)
    wheel(view, at, 3)
    assert window(view).span < 0.6 * 7200 * S
    assert view.grab() is not None
    assert view.instant_at(at.x()) == pytest.approx(NOON + 5400 * S, abs=window(view).span / 300)
    wheel(view, at, -20)
    assert window(view).fits


def test_turns_of_the_wheel_that_come_before_the_next_frame_zoom_about_the_pointer(view: TrendView) -> None:
    at = place(view, NOON + 5400 * S)
    view.set_cursor(NOON)
    for _ in range(3):
        wheel(view, at, 1)
    assert view.instant_at(at.x()) == pytest.approx(NOON + 5400 * S, abs=window(view).span / 100)


def test_a_sideways_wheel_moves(view: TrendView) -> None:
    view.show_between(NOON + 3000 * S, NOON + 4000 * S)
    before = window(view)
    wheel(view, QPoint(400, 80), 0, sideways=-1)
    assert window(view).start > before.start
    assert window(view).span == before.span


def test_dragging_moves_time_with_the_pointer_and_leaves_the_cursor(view: TrendView, qtbot: QtBot) -> None:
    view.show_between(NOON + 3000 * S, NOON + 4000 * S)
    view.set_cursor(NOON + 100 * S)
    grabbed = NOON + 3500 * S
    at = place(view, grabbed)
    qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=at)
    for step in range(1, 11):
        qtbot.mouseMove(view, at + QPoint(20 * step, 0))
    qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=at + QPoint(200, 0))
    assert place(view, grabbed).x() == pytest.approx(at.x() + 200, abs=3)
    assert view.cursor_instant == NOON + 100 * S


def test_dragging_the_cursor_scrubs(view: TrendView, qtbot: QtBot) -> None:
    view.set_cursor(NOON + 2000 * S)
    before = window(view)
    at = place(view, NOON + 2000 * S)
    told: list[int] = []
    view.cursor_moved.connect(told.append)
    qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=at)
    for x in range(at.x(), at.x() + 120, 10):
        qtbot.mouseMove(view, QPoint(x, 80))
    qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=QPoint(at.x() + 120, 80))
    assert told == sorted(told)
    assert view.cursor_instant == view.instant_at(at.x() + 120)
    assert window(view) == before


def test_a_double_click_shows_everything(view: TrendView, qtbot: QtBot) -> None:
    view.show_between(NOON + 3000 * S, NOON + 3100 * S)
    qtbot.mouseDClick(view, Qt.MouseButton.LeftButton, pos=QPoint(400, 80))
    assert window(view).fits


def test_a_pinch_of_the_touchpad_zooms_about_its_centre(view: TrendView) -> None:
    at = place(view, NOON + 3600 * S)
    event = QNativeGestureEvent(
        Qt.NativeGestureType.ZoomNativeGesture,
        QPointingDevice.primaryPointingDevice(),
        2,
        QPointF(at),
        QPointF(at),
        QPointF(view.mapToGlobal(at)),
        0.5,
        QPointF(),
    )
    QApplication.sendEvent(view, event)
    view.grab()
    assert window(view).span == pytest.approx(7200 * 1.02 * S / 1.5, rel=0.01)
    assert view.instant_at(at.x()) == pytest.approx(NOON + 3600 * S, abs=20 * S)


def test_two_fingers_on_a_touch_screen_zoom(view: TrendView) -> None:
    screen = QTest.createTouchDevice()
    before = window(view).span
    QTest.touchEvent(view, screen).press(0, QPoint(400, 100), view).press(1, QPoint(500, 100), view).commit()
    for spread in range(10, 130, 10):
        moved = QTest.touchEvent(view, screen)
        moved.move(0, QPoint(400 - spread, 100), view).move(1, QPoint(500 + spread, 100), view).commit()
    apart = QTest.touchEvent(view, screen)
    apart.release(0, QPoint(280, 100), view).release(1, QPoint(620, 100), view).commit()
    assert window(view).span < 0.7 * before


@pytest.mark.parametrize(
    ("key", "moved"),
    [
        (Qt.Key.Key_Left, "earlier"),
        (Qt.Key.Key_Right, "later"),
        (Qt.Key.Key_PageDown, "later"),
        (Qt.Key.Key_Plus, "narrower"),
        (Qt.Key.Key_Minus, "wider"),
        (Qt.Key.Key_Home, "first"),
        (Qt.Key.Key_End, "last"),
        (Qt.Key.Key_0, "all"),
    ],
)
def test_keys(view: TrendView, qtbot: QtBot, key: Qt.Key, moved: str) -> None:
    view.show_between(NOON + 3000 * S, NOON + 4000 * S)
    before = window(view)
    qtbot.keyClick(view, key)
    after = window(view)
    assert {
        "earlier": after.start < before.start and after.span == before.span,
        "later": after.start > before.start and after.span == before.span,
        "narrower": after.span < before.span,
        "wider": after.span > before.span,
        "first": after.start <= NOON < after.stop and after.span == before.span,
        "last": after.follows and after.span == before.span,
        "all": after.fits,
    }[moved]


def test_control_and_arrows_step_the_cursor_by_readings(view: TrendView, qtbot: QtBot) -> None:
    view.show_between(NOON + 3500 * S, NOON + 3600 * S)
    view.grab()
    view.set_cursor(NOON + 3550 * S)
    qtbot.keyClick(view, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert view.cursor_instant == NOON + 3551 * S
    qtbot.keyClick(view, Qt.Key.Key_Left, Qt.KeyboardModifier.ControlModifier)
    qtbot.keyClick(view, Qt.Key.Key_Left, Qt.KeyboardModifier.ControlModifier)
    assert view.cursor_instant == NOON + 3549 * S


def test_values_of_all_panes_at_an_instant(view: TrendView) -> None:
    values = view.values_at(NOON + 4005 * S)
    assert values["generator"] == "6.40 kW"
    assert values["frequency"] == "49.5 Hz"
    assert values["soc"] == "60 %"
    assert set(view.values_at(NOON + 3100 * S).values()) == {"not known"}


def test_pointing_shows_the_values_there(view: TrendView, qtbot: QtBot) -> None:
    view.set_cursor(NOON + 100 * S)
    before = view.grab().toImage()
    qtbot.mouseMove(view, place(view, NOON + 5000 * S))
    assert view.grab().toImage() != before
    QApplication.sendEvent(view, QEvent(QEvent.Type.Leave))
    assert view.grab().toImage() == before


def test_the_status_says_when_what_is_seen_is_thinned(view: TrendView, qtbot: QtBot) -> None:
    assert "thinned" in view.status
    with qtbot.waitSignal(view.status_changed) as told:
        view.show_between(NOON + 3500 * S, NOON + 3700 * S)
        view.grab()
    assert "every reading is drawn" in told.args[0]
    assert "thinned" not in view.accessibleDescription()


def pixels(image: QImage, role: str, theme: str = "light") -> np.ndarray:
    """(height, width) True where a pixel has exactly a role's colour."""
    image = image.convertToFormat(QImage.Format.Format_RGB32)
    raw = np.frombuffer(image.constBits(), np.uint32).reshape(image.height(), image.bytesPerLine() // 4)
    return (raw[:, : image.width()] & 0xFFFFFF) == (TrendColours(theme)(role).rgb() & 0xFFFFFF)


def test_a_gap_is_drawn_as_a_gap(view: TrendView) -> None:
    view.show_curves(frozenset({"load"}))
    loads = pixels(view.grab().toImage(), "load")
    left, right = (round(view.place_of(NOON + at * S) or 0) for at in (3005, 3195))
    assert not loads[40:, left + 2 : right - 2].any()
    assert loads[40:, left - 40 : left - 10].any()


def test_a_short_peak_is_seen_in_the_widest_view(view: TrendView) -> None:
    source = SmallSource(rows=500_000)
    source.columns["load"][:] = 500.0
    source.columns["load"][250_000] = 6000.0
    view.set_source(source)
    view.show_curves(frozenset({"load"}))
    drawn = pixels(view.grab().toImage(), "load")
    x = round(view.place_of(int(source.time[250_000])) or 0)
    tall = drawn[:, x - 2 : x + 3].any(axis=1).sum()
    assert tall > 100
    assert drawn[:, x + 20 : x + 25].any(axis=1).sum() < 10


def test_a_growing_recording_stays_in_view_at_its_end(view: TrendView, qtbot: QtBot) -> None:
    source = SmallSource(rows=3600)
    view.set_source(source)
    view.zoom(0.2)
    view.to_end()
    before = window(view)
    source.grow_to(4200)
    with qtbot.waitSignal(view.view_changed):
        view.refresh()
    assert window(view).last == NOON + 4199 * S
    assert window(view).follows
    assert window(view).span == before.span
    assert not view.grab().isNull()


def test_curves_are_chosen_and_panes_without_curves_vanish(view: TrendView, qtbot: QtBot) -> None:
    chooser = view.findChild(CurveChooser)
    actions = {action.text(): action for action in chooser.menu().actions() if action.isCheckable()}
    actions["frequency, metered"].trigger()
    assert view.shown_curves == {"generator", "load", "generator_power", "soc"}
    assert chooser.accessibleName()
    assert min(chooser.width(), chooser.height()) >= 24


def test_nothing_recorded_is_said(qtbot: QtBot) -> None:
    view = TrendView()
    qtbot.addWidget(view)
    view.set_source(SmallSource(rows=0))
    assert not view.grab().isNull()
    qtbot.keyClick(view, Qt.Key.Key_Plus)
    assert view.values_at(NOON)["load"] == "not known"


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("size", [(520, 240), (840, 300), (2400, 900)])
def test_nothing_overlaps_at_any_size(view: TrendView, scale: float, size: tuple[int, int]) -> None:
    font = view.font()
    font.setPointSizeF(font.pointSizeF() * scale)
    view.setFont(font)
    view.resize(*size)
    view.grab()
    layout = view.parts()
    parts = [layout.lane, *(part for box in layout.panes for part in (box.caption, box.plot))]
    parts += [layout.axis, layout.status]
    for one, other in pairwise(parts):
        assert one.bottom() < other.top()
    assert all(view.rect().contains(part) for part in parts)
    assert layout.panes[0].plot.height() >= 20


ROLES = [
    *(("text", 4.5), ("muted", 4.5), ("act now", 4.5), ("attend", 4.5), ("note", 4.5)),
    *((role, 3.0) for role in ("generator", "grid", "solar", "solar_ac", "battery", "load", "dc_load")),
    *((role, 3.0) for role in ("unaccounted", "unaccounted_dc", "generator_2", "generator_3", "limit")),
]


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("role", "least"), ROLES)
def test_words_and_curves_stand_out(theme: str, role: str, least: float) -> None:
    # WCAG 2.2, success criteria 1.4.3 for text and 1.4.11 for curves.
    colours = TrendColours(theme)
    assert contrast(colours(role).name(), colours("ground").name()) >= least


_REPAINT = """
from PySide6.QtWidgets import QApplication
from trend_source import SmallSource
from desktop.window.trends.view import TrendView
application = QApplication([])
view = TrendView()
view.resize(900, 420)
view.set_source(SmallSource(rows=50_000))
view.show()
application.processEvents()
for number in range(300):
    view.zoom(0.9 if number % 20 < 10 else 1.1)
    view.repaint()
print("alive")
"""


def test_three_hundred_repaints_do_no_harm() -> None:
    paths = [path for path in sys.path if path]
    told = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path[:0] = {paths!r}\n{_REPAINT}"],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert (told.returncode, told.stdout.strip()) == (0, "alive"), told.stderr
