"""The window as a person uses it: open, drop, click, scrub, replay, change the view, leave."""

from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import (
    QAccessible,
    QAction,
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QImage,
    QPdfWriter,
)
from PySide6.QtPrintSupport import QPrintDialog
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog, QLineEdit, QWidget

from desktop.window.details import DetailsBox, how_read
from desktop.window.export import paint_on
from desktop.window.handover import ask_report, export_picture, print_picture, write_report
from desktop.window.opening import Ready, Wanted
from desktop.window.panels.finding_list import FINDING
from desktop.window.settings import Opened
from desktop.window.style import theme
from recordings.provenance import ColumnReading, Provenance, Repairs

SECOND = 1_000_000_000
CONTROL = Qt.KeyboardModifier.ControlModifier


def action(window, *path: str) -> QAction:
    """A menu's action by its words, without mnemonics and keys."""
    entries = window.menuBar().actions()
    for name in path[:-1]:
        entries = next(each.menu() for each in entries if plain(each) == name).actions()
    return next(each for each in entries if plain(each) == path[-1])


def plain(entry: QAction) -> str:
    return entry.text().replace("&", "").split("\t")[0]


def drop(window, *paths: Path) -> None:
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    where, buttons, keys = QPoint(50, 50), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(where, Qt.DropAction.CopyAction, mime, buttons, keys)
    QApplication.sendEvent(window, enter)
    assert enter.isAccepted()
    QApplication.sendEvent(window, QDropEvent(QPointF(where), Qt.DropAction.CopyAction, mime, buttons, keys))


def opened(window, qtbot) -> None:
    qtbot.waitUntil(lambda: window.ready is not None and not window.opener.busy, timeout=30_000)


def file_dialog(window) -> QFileDialog:
    return window.findChildren(QFileDialog)[-1]


# Opening


def test_without_a_recording_the_window_says_how_to_open_one(open_window, qtbot):
    window = open_window()
    assert window.stack.currentWidget() is window.empty
    assert not action(window, "File", "Export picture…").isEnabled()
    qtbot.mouseClick(window.empty.open, Qt.MouseButton.LeftButton)
    assert file_dialog(window).isVisible()
    file_dialog(window).reject()


def test_a_file_is_opened_by_the_menu_and_shown_at_its_most_urgent_finding(open_window, overload, qtbot):
    window = open_window()
    qtbot.keyClick(window, Qt.Key.Key_O, CONTROL)
    dialog = file_dialog(window)
    dialog.selectFile(str(overload))
    dialog.accept()
    assert window.notice.isVisible()
    assert "overload.csv" in window.notice.line.text()
    opened(window, qtbot)
    assert not window.notice.isVisible()
    assert window.stack.currentWidget() is window.board
    assert window.board.moment.severity == "act now"
    assert window.windowTitle() == "overload.csv – Headrace"
    assert [each.paths for each in window.settings.recent] == [(str(overload),)]


def test_a_dropped_file_is_opened(open_window, overload, qtbot):
    window = open_window()
    drop(window, overload)
    opened(window, qtbot)
    assert window.board.moment is not None


def test_a_sheet_dropped_on_a_recording_is_used_for_it(open_window, overload, tmp_path, qtbot):
    window = open_window()
    sheet = tmp_path / "other.toml"
    sheet.write_text('[site]\nname = "Another barn"\n')
    drop(window, sheet)
    assert "open the recording first" in window.notice.line.text()
    drop(window, overload)
    opened(window, qtbot)
    drop(window, sheet)
    qtbot.waitUntil(lambda: window.ready.review.site.site.name == "Another barn", timeout=30_000)
    assert window.settings.recent == [Opened((str(overload),), str(sheet))]
    assert "Another barn" in window.board.origin.text()


def test_what_was_opened_lately_is_a_key_away(open_window, overload, qtbot):
    window = open_window()
    window.settings.remember([overload], None)
    menu = window.menus.recent
    menu.aboutToShow.emit()
    assert plain(menu.actions()[0]) == "1  overload.csv"
    menu.actions()[0].trigger()
    opened(window, qtbot)
    menu.aboutToShow.emit()
    menu.actions()[-1].trigger()
    assert window.settings.recent == []


def test_a_demo_is_a_click_away_and_is_not_remembered_as_a_file(open_window, qtbot):
    window = open_window()
    assert len(window.empty.demos) == len(window.demos) > 0
    qtbot.mouseClick(window.empty.demos[0], Qt.MouseButton.LeftButton)
    opened(window, qtbot)
    assert window.settings.recent == []


def test_a_file_that_cannot_be_read_is_told_beside_what_is_shown(open_window, ready, tmp_path, qtbot):
    window = open_window(ready)
    (tmp_path / "words.csv").write_text("a,b\nc,d\n")
    drop(window, tmp_path / "words.csv")
    qtbot.waitUntil(lambda: window.notice.button.text() == "Dismiss", timeout=30_000)
    assert "words.csv" in window.notice.line.text()
    assert window.stack.currentWidget() is window.board
    assert not window.findChildren(QDialog)
    window.notice.button.setFocus()
    qtbot.keyClick(window.notice.button, Qt.Key.Key_Space)
    assert not window.notice.isVisible()


def test_opening_can_be_cancelled_with_escape(open_window, overload, qtbot):
    window = open_window()
    window.open_paths(Wanted((overload,)))
    qtbot.keyClick(window.notice.button, Qt.Key.Key_Escape)
    assert not window.notice.isVisible()
    with qtbot.assertNotEmitted(window.opener.ready):
        qtbot.waitUntil(lambda: not window.opener.busy, timeout=30_000)
        qtbot.wait(20)
    assert window.ready is None


def test_closing_while_something_is_opened_ends_the_thread(open_window, overload):
    window = open_window()
    window.open_paths(Wanted((overload,)))
    window.close()
    assert not window.opener.busy


# One cursor


def everything_shows(window, instant: int) -> None:
    board = window.board
    assert board.cursor_of_time.instant == instant
    assert board.moment.time == instant
    assert board.trends.cursor_instant == instant
    assert board.replay.instant == instant


@pytest.fixture
def window(open_window, ready: Ready):
    return open_window(ready)


def test_a_click_on_a_finding_moves_everything_there(window, qtbot):
    findings = window.board.findings
    for row in range(findings.sorted.rowCount()):
        index = findings.sorted.index(row, 0)
        findings.list.scrollTo(index)
        place = findings.list.visualRect(index).intersected(findings.list.viewport().rect()).center()
        qtbot.mouseClick(findings.list.viewport(), Qt.MouseButton.LeftButton, pos=place)
        qtbot.waitUntil(lambda: window.board.moment.time == window.board.cursor_of_time.instant)
        everything_shows(window, index.data(FINDING).start)


def test_a_click_in_the_trends_moves_everything_there(window, qtbot):
    trends = window.board.trends
    qtbot.mouseClick(trends, Qt.MouseButton.LeftButton, pos=trends.field.center())
    instant = trends.cursor_instant
    qtbot.waitUntil(lambda: window.board.moment.time == instant)
    everything_shows(window, instant)


def test_scrubbing_the_replay_bar_moves_everything_there(window, qtbot):
    track = window.board.replay.track
    for share in (0.2, 0.5, 0.8):
        place = QPoint(round(track.width() * share), track.height() - 12)
        qtbot.mouseClick(track, Qt.MouseButton.LeftButton, pos=place)
    qtbot.waitUntil(lambda: window.board.moment.time == window.board.replay.instant)
    everything_shows(window, window.board.replay.instant)


def test_keys_go_from_finding_to_finding(window, qtbot):
    board = window.board
    starts = sorted({each.start for each in window.ready.review.findings})
    board.cursor_of_time.move(board.cursor_of_time.first)
    seen = []
    for _ in range(len(starts)):
        qtbot.keyClick(window, Qt.Key.Key_F3)
        seen.append(board.cursor_of_time.instant)
    assert seen == [start for start in starts if start > board.cursor_of_time.first][: len(seen)]
    qtbot.keyClick(window, Qt.Key.Key_F3, Qt.KeyboardModifier.ShiftModifier)
    assert board.cursor_of_time.instant == starts[-2]


def test_a_time_can_be_typed(window, qtbot):
    qtbot.keyClick(window, Qt.Key.Key_G, CONTROL)
    field = QApplication.focusWidget()
    assert isinstance(field, QLineEdit)
    wanted = window.board.cursor_of_time.first + 600 * SECOND
    qtbot.keyClicks(field, window.board.sentence._times.clock(wanted))
    qtbot.keyClick(field, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: window.board.moment.time == window.board.cursor_of_time.instant)
    assert abs(window.board.cursor_of_time.instant - wanted) < SECOND


def test_the_space_bar_plays_and_pauses_but_not_where_a_button_wants_it(window, qtbot):
    window.board.trends.setFocus()
    qtbot.keyClick(window.board.trends, Qt.Key.Key_Space)
    assert window.board.replay.clock.playing
    assert plain(window.menus.play) == "Pause"
    qtbot.keyClick(window.board.trends, Qt.Key.Key_Space)
    assert not window.board.replay.clock.playing
    button = window.board.findings.filters["act now"]
    qtbot.keyClick(button, Qt.Key.Key_Space)
    assert not window.board.replay.clock.playing
    assert not button.isChecked()


def test_during_a_replay_shown_numbers_change_at_most_twice_a_second(window, qtbot, monkeypatch):
    board, bar = window.board, window.board.replay
    now = [100.0]
    bar.clock._now = lambda: now[0]
    monkeypatch.setattr(
        board.pace._since, "elapsed", lambda: round((now[0] - shown_at[-1]) * 1000), raising=False
    )
    shown_at = [now[0]]
    board.shown.connect(lambda _: shown_at.append(now[0]))
    bar.go(bar.clock.first)
    bar.toggle()
    bar._timer.stop()
    begun = len(shown_at)
    moved = []
    board.cursor_of_time.watch(moved.append)
    for _ in range(90):
        now[0] += 1 / 30
        bar.frame()
    assert len(moved) == 90
    assert len(shown_at) - begun <= 1
    bar.toggle()
    assert board.moment.time == board.cursor_of_time.instant


# The view


def test_the_theme_can_be_chosen_and_is_remembered(window, qtbot):
    for name, label in (("dark", "Dark"), ("light", "Light")):
        action(window, "View", "Theme", label).trigger()
        assert theme.current() == name
        assert window.settings.theme == name
        ground = theme.colour_in(name, "ground")
        assert window.board.limits.grab().toImage().pixelColor(5, 5) == ground
        assert action(window, "View", "Theme", label).isChecked()


def test_text_can_be_made_larger_and_smaller_by_key(window, qtbot):
    before = window.board.limits.rows[0].label.fontInfo().pointSizeF()
    qtbot.keyClick(window, Qt.Key.Key_Plus, CONTROL)
    larger = window.board.limits.rows[0].label.fontInfo().pointSizeF()
    assert larger == pytest.approx(1.25 * before, rel=0.1)
    assert window.settings.text_scale == 1.25
    for _ in range(3):
        qtbot.keyClick(window, Qt.Key.Key_Minus, CONTROL)
    assert window.settings.text_scale == 1.0


def test_motion_can_be_stopped(window):
    action(window, "View", "Motion").trigger()
    assert window.settings.motion is False
    action(window, "View", "Motion").trigger()
    assert window.settings.motion is True


def test_full_screen_is_left_with_escape(window, qtbot):
    action(window, "View", "Full screen").trigger()
    assert window.isFullScreen()
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    assert not window.isFullScreen()
    assert not window.menus.full.isChecked()


def test_the_layout_is_remembered(open_window, ready):
    window = open_window(ready, (1500, 850))
    window.board.columns.setSizes([900, 600])
    left = window.board.columns.sizes()
    window.close()
    again = open_window(ready, (1500, 850))
    assert again.board.columns.sizes() == pytest.approx(left, abs=12)
    assert again.size().width() == 1500
    action(again, "View", "Usual layout").trigger()
    assert again.board.columns.sizes()[1] == pytest.approx(0.32 * again.board.columns.width(), abs=20)


# Pictures, help, and keyboard


def test_the_picture_can_be_exported_and_copied(window, tmp_path, qtbot):
    qtbot.keyClick(window, Qt.Key.Key_E, CONTROL)
    dialog = file_dialog(window)
    dialog.selectFile(str(tmp_path / "shown.png"))
    dialog.accept()
    assert QImage(str(tmp_path / "shown.png")).size() == window.board.size()
    action(window, "File", "Copy picture").trigger()
    assert QGuiApplication.clipboard().image().size() == window.board.size()


def test_a_picture_that_cannot_be_written_is_told_in_one_line(window, tmp_path):
    export_picture(window, str(tmp_path / "none" / "shown.png"))
    assert window.notice.isVisible()
    assert "can't be written" in window.notice.line.text()


def test_about_names_the_versions_and_the_cautions_stand_in_the_menu(window):
    about = window.show_about()
    assert "Qt 6." in about.versions.text()
    about.reject()
    cautions = window.show_cautions()
    assert cautions.isVisible()
    cautions.reject()


def test_the_review_can_be_read_and_copied_as_text(window, qtbot):
    qtbot.keyClick(window, Qt.Key.Key_I, CONTROL)
    (box,) = window.findChildren(DetailsBox)
    text = box.text.toPlainText()
    assert window.ready.review.as_text() in text
    assert "generator power: “generator_power [W]” (W" in text
    qtbot.mouseClick(box.copy, Qt.MouseButton.LeftButton)
    assert QGuiApplication.clipboard().text() == text
    box.reject()


def test_what_was_mended_while_reading_is_told():
    repairs = Repairs(duplicates=3, bad_cells=2, notes=["No time zone is named: UTC is assumed."])
    columns = {"battery_power": ColumnReading("P_bat", "kW", -1, "by its name")}
    assert how_read(Provenance(columns=columns, ignored=["x", "y"], repairs=repairs)).splitlines() == [
        "How the recording was read",
        "  battery power: “P_bat” (kW, counted the other way round, by its name)",
        "  3 rows were there twice.",
        "  2 cells could not be read.",
        "  No time zone is named: UTC is assumed.",
        "  Left out: x, y.",
    ]


def test_the_picture_is_printed_on_one_page(window, tmp_path):
    paper = QPdfWriter(str(tmp_path / "page.pdf"))
    paint_on(paper, window.board.grab())
    del paper
    page = (tmp_path / "page.pdf").read_bytes()
    assert page.startswith(b"%PDF")
    assert page.count(b"/Type /Page\n") == 1
    assert len(page) > 20_000


def test_every_control_is_reached_by_tab_and_has_a_name(window, qtbot):
    window.activateWindow()
    window.board.sentence.setFocus()
    seen: list[QWidget] = []
    while QApplication.focusWidget() not in seen:
        seen.append(QApplication.focusWidget())
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        assert len(seen) < 60
    board = window.board
    wanted = {board.sentence, board.trends, board.findings.list, board.findings.sorting, board.replay.track}
    assert wanted <= set(seen)
    for widget in seen:
        spoken = QAccessible.queryAccessibleInterface(widget)
        assert spoken.text(QAccessible.Text.Name), widget


def test_commands_that_need_a_recording_work_as_soon_as_there_is_one(open_window, ready):
    window = open_window()
    assert not any(each.isEnabled() for each in window.menus.needing_review)
    window.show_ready(ready)
    assert all(each.isEnabled() for each in window.menus.needing_review)


def test_every_shortcut_is_used_once(window):
    keys = [
        each.shortcut().toString() for each in window.findChildren(QAction) if not each.shortcut().isEmpty()
    ]
    assert len(keys) == len(set(keys)) > 8


def test_printing_asks_for_a_printer(window):
    print_picture(window)
    (dialog,) = window.findChildren(QPrintDialog)
    assert dialog.isVisible()
    dialog.reject()


@pytest.mark.parametrize(("ending", "begins"), [("html", b"<!doctype html>"), ("pdf", b"%PDF")])
def test_a_report_is_written_to_where_the_user_says(window, tmp_path, ending, begins):
    write_report(window, str(tmp_path / f"report.{ending}"))
    assert (tmp_path / f"report.{ending}").read_bytes()[:15].lower().startswith(begins.lower())


def test_a_report_that_cannot_be_written_is_told(window, tmp_path):
    write_report(window, str(tmp_path / "missing" / "report.html"))
    assert "missing" in window.notice.line.text()


def test_the_menu_asks_where_the_report_goes(window):
    ask_report(window)
    (dialog,) = window.findChildren(QFileDialog)
    assert dialog.isVisible()
    dialog.reject()
