"""The same day's work twice: by keys alone, and by mouse alone; and what a screen reader is told of it."""

from datetime import UTC
from itertools import pairwise

import pytest
from live_states import STATES
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QAccessible, QKeySequence, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QMenu, QWidget

from desktop.window.live.alarms import Alarms
from desktop.window.panels import sentence
from desktop.window.panels.finding_list import FINDING
from desktop.window.style import theme

SECOND = 1_000_000_000


def key(name: str) -> None:
    """Press keys as a person does: in whatever has the focus."""
    pressed = QKeySequence(name)[0]
    target = QApplication.activePopupWidget() or QApplication.focusWidget()
    QTest.keyClick(target, pressed.key(), pressed.keyboardModifiers())
    QApplication.processEvents()


def tab_to(widget: QWidget) -> None:
    for _ in range(40):
        if QApplication.focusWidget() is widget:
            return
        key("Tab")
    pytest.fail(f"{widget} isn't reached by Tab")


def shown(window, qtbot) -> None:
    qtbot.waitUntil(lambda: window.ready is not None and not window.opener.busy, timeout=30_000)
    QApplication.processEvents()


def menu_key(window, *names: str) -> None:
    """Choose from a menu by arrows and Enter, as one who sees the menu does."""
    key("Alt+" + names[0][0])
    for name in names[1:]:
        menu = QApplication.activePopupWidget()
        entries = [each for each in menu.actions() if each.isVisible() and not each.isSeparator()]
        wanted = next(each for each in entries if each.text().replace("&", "").split("\t")[0] == name)
        for _ in range(40):
            if menu.activeAction() is wanted:
                break
            key("Down")
        key("Right" if wanted.menu() else "Return")


def menu_click(window, *names: str) -> None:
    bar = window.menuBar()
    where = next(each for each in bar.actions() if each.text().replace("&", "") == names[0])
    QTest.mouseClick(bar, Qt.MouseButton.LeftButton, pos=bar.actionGeometry(where).center())
    for name in names[1:]:
        menu = QApplication.activePopupWidget()
        assert isinstance(menu, QMenu)
        wanted = next(each for each in menu.actions() if each.text().replace("&", "").split("\t")[0] == name)
        place = menu.actionGeometry(wanted).center()
        QTest.mouseMove(menu, place)
        QTest.mouseClick(menu, Qt.MouseButton.LeftButton, pos=place)
        QApplication.processEvents()


def test_a_days_work_by_keys_alone(open_window, overload, qtbot):
    window = open_window()
    window.activateWindow()
    key("Ctrl+O")
    dialog = window.findChildren(QFileDialog)[-1]
    qtbot.waitUntil(dialog.isVisible)
    for letter in str(overload):
        QTest.keyClick(dialog.focusWidget(), letter)
    QTest.keyClick(dialog.focusWidget(), Qt.Key.Key_Return)
    shown(window, qtbot)
    # A desktop gives the focus back to the window when a dialog is left; without one there is nobody to do it.
    window.activateWindow()
    QApplication.processEvents()
    board = window.board
    cursor = board.cursor_of_time
    assert board.isAncestorOf(QApplication.focusWidget())

    tab_to(board.sentence)
    seen = []
    for name in ("Shift+F3", "Shift+F3", "F3", "F3"):
        key(name)
        seen.append(cursor.instant)
    starts = sorted(each.start for each in window.ready.review.findings)
    assert set(seen) <= set(starts)
    assert len(set(seen)) >= 3

    tab_to(board.findings.list)
    key("Home")
    key("Down")
    assert cursor.instant == board.findings.list.currentIndex().data(FINDING).start

    tab_to(board.replay.track)
    before = cursor.instant
    key("Right")
    assert cursor.instant > before
    key("Home")
    assert cursor.instant == cursor.first

    tab_to(board.trends)
    whole = board.trends.window_of_time.span
    key("+")
    key("Up")
    assert board.trends.window_of_time.span < whole
    key("Ctrl+Right")
    assert cursor.instant > cursor.first
    key("0")
    assert board.trends.window_of_time.span == whole

    key("Space")
    assert board.replay.clock.playing
    qtbot.waitUntil(lambda: cursor.instant > cursor.first + 20 * SECOND, timeout=10_000)
    key("Space")
    assert not board.replay.clock.playing

    menu_key(window, "View", "Theme", "Dark")
    assert theme.current() == "dark"
    menu_key(window, "View", "Text size", "150 %")
    assert window.settings.text_scale == 1.5
    key("Ctrl+G")
    for letter in "17:30":
        key(letter)
    key("Return")
    assert board.replay.instant - cursor.first == 25 * 60 * SECOND
    menu_key(window, "File", "Quit")
    assert not window.isVisible()


def test_the_same_by_mouse_alone(open_window, ready, qtbot):
    window = open_window(ready, (1440, 900))
    board = window.board
    cursor = board.cursor_of_time
    click = Qt.MouseButton.LeftButton
    starts = sorted(each.start for each in ready.review.findings)

    QTest.mouseClick(board.replay._before, click)
    assert cursor.instant in starts
    view = board.findings.list
    row = view.model().index(1, 0)
    view.scrollTo(row)
    QTest.mouseClick(view.viewport(), click, pos=view.visualRect(row).topLeft() + QPoint(40, 8))
    assert cursor.instant == row.data(FINDING).start

    track = board.replay.track
    QTest.mouseClick(track, click, pos=QPoint(round(track.place_of(cursor.last)), track.height() * 2 // 3))
    assert cursor.instant == cursor.last

    trends = board.trends
    whole = trends.window_of_time.span
    middle = trends.field.center()
    turn = QWheelEvent(
        QPointF(middle),
        QPointF(trends.mapToGlobal(middle)),
        QPoint(),
        QPoint(0, 240),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(trends, turn)
    assert trends.window_of_time.span < whole
    QTest.mouseClick(trends, click, pos=middle)
    assert trends.window_of_time.start < cursor.instant < trends.window_of_time.stop
    QTest.mouseDClick(trends, click, pos=middle)
    assert trends.window_of_time.span == whole

    QTest.mouseClick(board.replay._play, click)
    assert board.replay.clock.playing
    before = cursor.instant
    qtbot.waitUntil(lambda: cursor.instant > before, timeout=10_000)
    QTest.mouseClick(board.replay._play, click)
    assert not board.replay.clock.playing

    menu_click(window, "View", "Theme", "Dark")
    assert theme.current() == "dark"
    assert window.settings.theme == "dark"


@pytest.mark.parametrize("live", [False, True])
def test_every_widget_that_takes_keys_is_in_the_tab_order_and_says_what_it_is(open_window, ready, live):
    window = open_window(ready, (1440, 900))
    if live:
        show_live(window, ready)
    window.activateWindow()
    window.board.sentence.setFocus(Qt.FocusReason.TabFocusReason)
    order = [QApplication.focusWidget()]
    while True:
        key("Tab")
        if QApplication.focusWidget() in order:
            break
        order.append(QApplication.focusWidget())
        assert len(order) < 60
    takers = [
        each
        for each in window.findChildren(QWidget)
        if each.isVisible() and each.isEnabled() and each.focusPolicy() & Qt.FocusPolicy.TabFocus
    ]
    assert set(takers) == set(order)
    vague = {QAccessible.Role.NoRole, QAccessible.Role.Client, QAccessible.Role.Window, QAccessible.Role.Pane}
    for widget in order:
        spoken = QAccessible.queryAccessibleInterface(widget)
        assert spoken.role() not in vague, widget
        assert spoken.text(QAccessible.Text.Name), widget
        assert widget.accessibleName() or spoken.text(QAccessible.Text.Description), widget
    roles = {type(each).__name__: QAccessible.queryAccessibleInterface(each).role() for each in order}
    assert roles["DiagramView"] == QAccessible.Role.Graphic
    assert roles["TrendView"] == QAccessible.Role.Chart
    assert roles["ReplayTrack"] == QAccessible.Role.Slider


def show_live(window, ready) -> None:
    """The window as it is while it watches, with something that calls."""
    alarms = Alarms()
    alarms.look(ready.review.findings, 0, 0, 0.0)
    window.strip.show_watching(STATES["reading"])
    window.strip.alarms.show_alarms(alarms, UTC)
    window.strip.show_it(True)
    QApplication.processEvents()


def test_the_live_strip_comes_first_and_its_focus_can_be_seen(open_window, ready):
    window = open_window(ready, (1440, 900))
    show_live(window, ready)
    window.activateWindow()
    strip = window.strip
    strip.alarms.button.setFocus(Qt.FocusReason.TabFocusReason)
    for button in (strip.alarms.button, strip.live, strip.record, strip.stop, window.board.sentence):
        assert QApplication.focusWidget() is button
        with_focus = window.grab().toImage()
        key("Tab")
        assert window.grab().toImage() != with_focus, button


def test_the_tab_order_follows_the_page(open_window, ready):
    """From the sentence over diagram and trends to the right column and down to the replay bar."""
    window = open_window(ready, (1440, 900))
    board = window.board
    parts = (board.sentence, board.diagram, board.trends, board.findings.list, board.replay.track)
    window.activateWindow()
    board.sentence.setFocus(Qt.FocusReason.TabFocusReason)
    steps = []
    for number in range(30):
        if QApplication.focusWidget() in parts:
            steps.append((parts.index(QApplication.focusWidget()), number))
        key("Tab")
    first = [index for index, _ in steps][: len(parts)]
    assert first == [0, 1, 2, 3, 4]


def test_the_focus_can_be_seen_wherever_it_is(open_window, ready):
    window = open_window(ready, (1440, 900))
    window.activateWindow()
    window.board.sentence.setFocus(Qt.FocusReason.TabFocusReason)
    for _ in range(16):
        taker = QApplication.focusWidget()
        with_focus = window.grab().toImage()
        key("Tab")
        assert window.grab().toImage() != with_focus, taker


class Heard:
    """Stands where the screen reader's side would be: what is announced to it is kept."""

    Role = QAccessible.Role

    def __init__(self) -> None:
        self.said: list[str] = []

    def isActive(self) -> bool:
        return True

    def updateAccessibility(self, event) -> None:
        self.said.append(event.message())


def test_the_sentence_is_announced_when_it_says_something_new(open_window, ready, monkeypatch):
    heard = Heard()
    monkeypatch.setattr(sentence, "QAccessible", heard)
    window = open_window(ready)
    board = window.board
    for each in ready.review.findings:
        board.cursor_of_time.move(each.start)
        board.pace.now()
        assert heard.said[-1] == f"{board.sentence.headline.text()} {board.sentence.detail.text()}"
    assert all(one != other for one, other in pairwise(heard.said))
    count = len(heard.said)
    board.pace.now()
    assert len(heard.said) == count
