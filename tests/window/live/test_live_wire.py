"""A window on a simulated plant that answers on a real wire: its states, its loss and return, its recording."""

import pytest
from live_threads import threads
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog
from wire_plant import WirePlant

from desktop.opening import open_recording
from desktop.review import review
from desktop.window.live.connect.dialog import ConnectDialog
from desktop.window.live.wish import Wish

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def plant():
    with WirePlant() as plant:
        yield plant


@pytest.fixture
def live(watching_window, plant, tmp_path, qtbot):
    """A window that reads the plant."""
    window = watching_window()
    window.live.watch(Wish(str(plant.sheet(tmp_path)), interval_s=0.2))
    qtbot.waitUntil(lambda: window.live.growing, timeout=20_000)
    return window


def words(window) -> tuple[str, str]:
    return window.strip.word.text(), window.strip.line.text()


def test_it_says_that_it_reads_and_shows_what_the_plant_says(live, plant, qtbot):
    assert live.stack.currentWidget() is live.board
    qtbot.waitUntil(lambda: words(live)[0] == "Reading", timeout=5000)
    assert "ago" in live.strip.age.text()
    assert plant.scenario.place.name in words(live)[1]
    rows = len(live.ready.review.recording)
    qtbot.waitUntil(lambda: len(live.ready.review.recording) > rows + 5, timeout=10_000)
    qtbot.waitUntil(lambda: live.board.moment.streams["load"].value > 0, timeout=5000)
    assert live.board.cursor_of_time.pinned
    assert [wish.source for wish in live.settings.sources] == [live.live.watching.wish.source]


def test_a_plant_that_vanishes_is_told_as_stale_and_comes_back_by_itself(live, plant, qtbot):
    board = live.board
    plant.stop()
    qtbot.waitUntil(lambda: board.moment is not None and board.moment.stale, timeout=10_000)
    assert "stopped coming" in board.sentence.headline.text()
    assert board.sentence.word.text() == "Attend"
    assert all(word.isVisible() for word in board.stale_words)
    assert all(row.value.text() == "not known" for row in board.limits.rows if row.shown)
    qtbot.waitUntil(lambda: words(live)[0] == "Waiting", timeout=10_000)
    assert "next try in" in words(live)[1]
    assert live.strip.mark._phase == "waiting"
    # What is shown as the last is what was read last, not the row that says that all is missing.
    assert board.moment.streams["load"].value > 0
    plant.start()
    qtbot.waitUntil(lambda: words(live)[0] == "Reading", timeout=20_000)
    qtbot.waitUntil(lambda: not board.moment.stale, timeout=10_000)
    assert not any(word.isVisible() for word in board.stale_words)


def test_looking_back_while_the_plant_is_away_shows_that_time_as_it_was(live, plant, qtbot):
    qtbot.waitUntil(lambda: len(live.ready.review.recording) > 8, timeout=10_000)
    plant.stop()
    qtbot.waitUntil(lambda: live.board.moment.stale, timeout=10_000)
    live.board.cursor_of_time.move(int(live.ready.review.recording.time[4]))
    live.board.pace.now()
    assert not live.board.moment.stale
    assert "stopped coming" not in live.board.sentence.headline.text()


def test_recording_by_its_button_writes_all_that_was_watched(live, tmp_path, qtbot):
    strip, path = live.strip, tmp_path / "kept.csv"
    qtbot.waitUntil(lambda: len(live.ready.review.recording) > 5, timeout=10_000)
    first = int(live.ready.review.recording.time[0])
    QTest.mouseClick(strip.record, LEFT)
    dialog = live.findChildren(QFileDialog)[-1]
    dialog.findChildren(type(live.board.replay._time))[0].setText(str(path))
    QTest.keyClick(dialog.focusWidget(), Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: "kept.csv" in strip.recorded.text(), timeout=10_000)
    assert strip.record.accessibleName() == "Stop recording"
    rows = live.live.watching.recorded.rows
    qtbot.waitUntil(lambda: live.live.watching.recorded.rows > rows + 5, timeout=10_000)
    QTest.mouseClick(strip.record, LEFT)
    qtbot.waitUntil(lambda: "closed" in strip.recorded.text(), timeout=10_000)
    written, _ = open_recording(path)
    assert int(written.time[0]) == first
    assert len(written) == live.live.watching.recorded.rows
    count = len(written)
    qtbot.waitUntil(lambda: len(live.ready.review.recording) > count + 5, timeout=10_000)
    assert len(open_recording(path)[0]) == count


def test_a_recording_that_cannot_be_written_is_told(live, tmp_path, qtbot):
    blocked = tmp_path / "file"
    blocked.write_text("")
    live.live.watching.record(blocked / "in" / "it.csv")
    qtbot.waitUntil(lambda: live.strip.recorded.text().startswith("▲"), timeout=10_000)
    assert live.strip.recorded.tone == "act now"
    assert live.strip.record.accessibleName() == "Record"
    assert live.board.isVisible()


def test_closing_the_window_ends_every_thread_whatever_they_wait_for(live, plant, qtbot):
    assert threads()
    plant.stop()
    qtbot.waitUntil(lambda: words(live)[0] == "Waiting", timeout=10_000)
    live.close()
    assert not threads()


def test_what_is_shown_live_is_what_a_review_of_its_recording_shows(live, plant, tmp_path, qtbot):
    path = tmp_path / "meanwhile.csv"
    live.live.watching.record(path)
    qtbot.waitUntil(lambda: len(live.ready.review.recording) > 20, timeout=15_000)
    shown = live.ready.review
    live.live.stop()
    shown.settle()
    written, _ = open_recording(path)
    again = review(written.rows(0, len(shown.recording)), shown.site)
    one, other = again.as_json(), shown.as_json()
    told = {key: value for key, value in one["energy_kwh"].items() if key != "source_to_sink"}
    # The file's stamps are rounded.
    assert told == {key: pytest.approx(other["energy_kwh"][key], rel=1e-6) for key in told}
    assert sum(value is not None for value in told.values()) > 4
    assert [each["kind"] for each in one["findings"]] == [each["kind"] for each in other["findings"]]


def test_before_readings_come_the_window_says_what_it_waits_for(watching_window, qtbot):
    with WirePlant() as plant:
        address = plant.address
    window = watching_window()
    window.live.watch(Wish(address))
    qtbot.waitUntil(lambda: window.live.on, timeout=10_000)
    assert window.stack.currentWidget() is window.first
    qtbot.waitUntil(lambda: "Waiting" in window.first.line.text(), timeout=10_000)
    assert window.strip.isVisible()
    QTest.mouseClick(window.strip.stop, LEFT)
    assert window.stack.currentWidget() is window.empty


def test_what_cannot_be_watched_is_told_beside_what_is_shown(watching_window, qtbot):
    window = watching_window()
    window.live.watch(Wish("modbus-tcp://host?nuit=1"))
    qtbot.waitUntil(window.notice.isVisible, timeout=10_000)
    assert "nuit" in window.notice.line.text()
    assert window.stack.currentWidget() is window.empty
    assert not window.settings.sources


def test_from_an_address_to_watching_by_keys_alone(watching_window, plant, tmp_path, qtbot):
    window = watching_window()
    window.activateWindow()
    QTest.keyClick(window, Qt.Key.Key_K, Qt.KeyboardModifier.ControlModifier)
    dialog = window.findChildren(ConnectDialog)[-1]
    dialog.activateWindow()
    QApplication.processEvents()
    assert QApplication.focusWidget() is dialog.form.host
    write(f"127.0.0.1:{plant.port}")
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: len(dialog.cards) == len(plant.served.devices) + 1, timeout=20_000)
    roles = {each.unit: each.role for each in plant.served.devices}
    assert not dialog.watch.isEnabled()
    for card in dialog.cards:
        wanted = roles.get(card.device.unit)
        if wanted is None:
            assert not card.use.isEnabled()
            assert "register map" in card.problem.text()
            continue
        assert card.use.isChecked()
        while card.chosen_role != wanted:
            tab_to(card.role)
            press(Qt.Key.Key_Down)
    tab_to(dialog.test)
    press(Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: "Read again" in dialog.told.text(), timeout=20_000)
    meter = next(card for card in dialog.cards if roles.get(card.device.unit) == "generator")
    assert "generator_power" in [reading.channel for reading in meter.device.readings]
    tab_to(dialog.sheet)
    dialog.sheet.selectAll()
    write(str(tmp_path / "mine.toml"))
    tab_to(dialog.watch)
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: window.live.growing, timeout=20_000)
    sheet = (tmp_path / "mine.toml").read_text()
    assert sheet.count("[[device]]") == len(roles)
    assert 'role = "generator"' in sheet
    assert window.live.watching.watch.site.device


def write(text: str) -> None:
    QTest.keyClicks(QApplication.focusWidget(), text)


def press(key: Qt.Key) -> None:
    QTest.keyClick(QApplication.focusWidget(), key)
    QApplication.processEvents()


def tab_to(widget) -> None:
    for _ in range(60):
        if QApplication.focusWidget() is widget:
            return
        press(Qt.Key.Key_Tab)
    pytest.fail(f"{widget} isn't reached by Tab")
