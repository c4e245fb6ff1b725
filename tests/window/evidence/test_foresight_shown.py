"""The forecast at the cursor: in the sentence, as a fan in the trends, and what the tank does."""

import numpy as np
import pytest
from painted_words import words_of
from PySide6.QtTest import QTest

from desktop.review import review
from desktop.window.board.board import FORETOLD_MS
from desktop.window.opening import prepared
from desktop.window.replay.pace import Pace
from recordings.recording import Recording

MINUTE = 60_000_000_000


def charging(window) -> int:
    """The middle of the first session."""
    session = window.ready.review.sessions[0]
    return (session.start + session.end) // 2


@pytest.fixture
def window(open_window, demo):
    window = open_window(demo("load-step"), (1440, 900))
    window.board.cursor_of_time.move(charging(window))
    window.board.pace.now()
    window.board.foretelling.now()
    return window


def test_the_sentence_says_when_the_battery_will_be_charged(window):
    line = window.board.sentence.ahead.text().replace("\u00a0", " ")
    assert line.startswith("Forecast: 80 % at 14:3")
    assert "give or take" in line
    assert "limit holds the charge" in line
    assert line in window.board.sentence.accessibleDescription().replace("\u00a0", " ")


def test_the_fan_begins_at_the_cursor_and_is_no_measurement(window, demo):
    view = window.board.trends
    window.grab()
    fan = view._fan
    assert fan is window.ready.review.forecast_at(charging(window)).fan
    assert any(word.text == "forecast" for word in words_of(window))
    before = np.array(_pixels(view, window))
    view.set_fan(None)
    after = np.array(_pixels(view, window))
    changed = np.flatnonzero((before != after).any(axis=0))
    x = view.place_of(charging(window))
    plot = next(box.plot for box in view.parts().panes if box.pane.key == "soc")
    legend = changed[changed < x - 2]
    rows = (before != after)[plot.top() : plot.bottom()]
    assert np.flatnonzero(rows.any(axis=0)).min() >= x - 2
    assert len(legend) > 0
    assert rows.any()


def _pixels(view, window):
    picture = view.grab().toImage()
    buffer = np.frombuffer(picture.constBits(), np.uint32)
    return buffer.reshape(picture.height(), picture.bytesPerLine() // 4)[:, : picture.width()]


def test_nothing_is_foretold_where_nothing_is_charged(window):
    cursor = window.board.cursor_of_time
    cursor.move(cursor.first)
    window.board.pace.now()
    assert window.board.sentence.ahead.text() == ""
    assert window.board.trends._fan is None
    assert "Fuel burnt" not in session_lines(window)


def session_lines(window) -> dict[str, str]:
    return {
        label.text().strip(): value.text() for label, value in window.board.session.lines if label.isVisible()
    }


def test_the_session_tells_what_was_burnt_so_far(window):
    assert session_lines(window)["Fuel burnt"].endswith(" L")


def test_the_tank_is_told_as_left_and_as_empty_at(open_window, demo):
    plain = demo("load-step")
    site = plain.review.site
    recording = plain.review.recording
    columns = {name: recording.column(name) for name in recording.channels}
    columns["fuel_level"] = np.full(len(recording), 30.0, np.float32)
    with_gauge = Recording.from_columns(recording.time, columns, recording.provenance)
    generator = site.generator.model_copy(update={"tank": 10.0})
    window = open_window(
        prepared(review(with_gauge, site.model_copy(update={"generator": generator}))), (1440, 900)
    )
    window.board.cursor_of_time.move(charging(window))
    window.board.pace.now()
    window.board.foretelling.now()
    lines = session_lines(window)
    assert lines["Left in the tank"] == "3 L"
    assert ":" in lines["Tank empty at"]
    assert "The tank may not do: it is empty at 14:" in window.board.sentence.ahead.text().replace(
        "\u00a0", " "
    )


def test_a_recording_that_ends_while_charging_leaves_room_for_the_fan(open_window, demo):
    whole = demo("load-step").review
    stop = int(np.searchsorted(whole.recording.time, charging_of(whole)))
    cut = review(whole.recording.rows(0, stop), whole.site)
    window = open_window(prepared(cut), (1440, 900))
    last = int(cut.recording.time[-1])
    assert window.board.trends.window_of_time.stop > last + 5 * MINUTE
    healthy = open_window(demo("healthy-charge"), (1440, 900))
    end = int(demo("healthy-charge").review.recording.time[-1])
    assert healthy.board.trends.window_of_time.stop < end + 5 * MINUTE


def charging_of(found) -> int:
    session = found.sessions[0]
    return (session.start + session.end) // 2


def test_it_looks_ahead_at_once_and_then_no_oftener_than_once_a_second(qtbot):
    foretelling = Pace(quick_ms=FORETOLD_MS)
    seen: list[int] = []
    foretelling.due.connect(lambda: seen.append(1))
    for _ in range(50):
        foretelling.ask()
    assert len(seen) == 1
    QTest.qWait(FORETOLD_MS // 2)
    assert len(seen) == 1
    qtbot.waitUntil(lambda: len(seen) == 2, timeout=5_000)
    foretelling.ask()
    foretelling.stop()
    QTest.qWait(FORETOLD_MS + 200)
    assert len(seen) == 2
