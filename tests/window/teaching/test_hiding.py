"""What is hidden can't be seen: with another future everything looks the same, to the last pixel."""

import numpy as np
import pytest
from lesson_driving import demo_path
from PySide6.QtCore import QPointF, QSize
from PySide6.QtGui import QImage
from trend_source import BERLIN, NOON, S, SmallSource

from desktop.opening import open_recording
from desktop.picture.trends.source import Band
from desktop.review import review
from desktop.teaching.hiding import begun_by, unjudged
from desktop.window.panels.findings import FindingsPanel
from desktop.window.panels.session import SessionPanel
from desktop.window.parts.times import Times
from desktop.window.replay.bar import ReplayBar
from desktop.window.replay.track import Note
from desktop.window.trends.view import TrendView
from desktop.words import Phrase

BANDS = (
    Band(NOON + 1800 * S, NOON + 1900 * S, "attend", Phrase("Generator frequency low")),
    Band(NOON + 2500 * S, NOON + 4800 * S, "act now", Phrase("It lasts")),
    Band(NOON + 2600 * S, None, "note", Phrase("It still lasts")),
)
LATER = Band(NOON + 4000 * S, NOON + 4014 * S, "act now", Phrase("Charging above the input limit"))
MOMENTS = [NOON + 2700 * S, NOON + 3100 * S, NOON + 3400 * S + S // 2, NOON + 1800 * S]


def other_future(instant, rows=7200):
    """The same source up to an instant; wilder and with other gaps from there on."""
    source = SmallSource(rows, bands=BANDS)
    later = source.time > instant
    for number, (name, values) in enumerate(source.columns.items()):
        source.columns[name] = np.where(later, values * (3 + number) + 9000, values).astype(np.float32)
        source.columns[name][np.flatnonzero(later)[50:90]] = np.nan
    known = [gap for gap in source.gaps.tolist() if gap[1] <= instant]
    source.gaps = np.array([*known, [instant + 600 * S, instant + 700 * S]])
    source.bands = (*(band for band in BANDS if band.start <= instant), LATER)
    return source


def shown(qtbot, source, instant, theme="light", between=None, size=(900, 420)):
    view = TrendView()
    qtbot.addWidget(view)
    view.set_theme(theme)
    view.resize(QSize(*size))
    view.set_source(source)
    view.hide_after(instant)
    view.set_cursor(instant)
    if between is not None:
        view.show_between(*between)
    return view


def picture(widget):
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    return np.array(image.constBits()).reshape(image.height(), image.width(), 4)[:, :, :3]


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("instant", MOMENTS)
@pytest.mark.parametrize("span", [None, 120, 900, 3000])
def test_trends_look_the_same_whatever_comes_next(qtbot, instant, theme, span):
    between = None if span is None else (instant - span * S // 2, instant + span * S // 2)
    one = shown(qtbot, SmallSource(bands=(*BANDS, LATER)), instant, theme, between)
    other = shown(qtbot, other_future(instant), instant, theme, between)
    assert np.array_equal(picture(one), picture(other))
    assert one.status == other.status


def test_what_is_hidden_is_drawn_again_afterwards(qtbot):
    source, instant = SmallSource(bands=(*BANDS, LATER)), NOON + 3400 * S
    view = shown(qtbot, source, instant)
    hidden = picture(view)
    view.hide_after(None)
    whole = TrendView()
    qtbot.addWidget(whole)
    whole.resize(view.size())
    whole.set_source(source)
    whole.set_cursor(instant)
    assert np.array_equal(picture(view), picture(whole))
    assert not np.array_equal(hidden, picture(view))


def test_pointing_beyond_the_moment_tells_nothing(qtbot):
    instant = NOON + 3400 * S
    view = shown(qtbot, SmallSource(), instant)
    view.grab()
    assert set(view.values_at(instant + 10 * S).values()) == {"not known"}
    assert view.values_at(instant)["load"] != "not known"
    told = []
    view.cursor_moved.connect(told.append)
    view.put_cursor(instant + 500 * S)
    view.step_cursor(400)
    assert told == [instant, instant]


def test_the_replay_bar_looks_the_same_whatever_comes_next(qtbot):
    instant, first, last = NOON + 2700 * S, NOON, NOON + 7199 * S
    pictures = []
    for later in ([], [LATER]):
        bar = ReplayBar()
        qtbot.addWidget(bar)
        bar.resize(900, 50)
        bar.set_recording(first, last, BERLIN)
        notes = [Note(NOON + 600 * S, "Seen."), *([Note(NOON + 5000 * S, "Not yet.")] if later else [])]
        bar.set_findings([*BANDS, *later], notes)
        bar.set_instant(instant)
        bar.hide_after(instant)
        bar.set_findings([*BANDS, *later], notes)
        bar.set_recording(first, last, BERLIN)
        pictures.append(picture(bar))
        bar.go(last)
        assert bar.instant == instant
        bar.next_finding()
        assert bar.instant == instant
        place = QPointF(bar.track.place_of(NOON + 5000 * S), bar.track.height() - 4)
        assert bar.track.told_at(place) == ""
        assert bar.track.marks() == []
        bar.hide_after(None)
        assert sum(mark.count for mark in bar.track.marks()) == 3 + len(later)
        bar.go(last)
        assert bar.instant == last
    assert np.array_equal(*pictures)


@pytest.fixture(scope="module")
def overload():
    return review(*open_recording(demo_path("limit-too-high")))


def test_findings_have_no_row_while_anything_is_hidden(qtbot, overload):
    panel = FindingsPanel()
    qtbot.addWidget(panel)
    time, findings = overload.recording.time, overload.findings
    panel.set_findings(findings, Times(int(time[0]), int(time[-1]), overload.site.zone))
    assert panel.model.rowCount() == 3
    for instant in (int(time[0]), findings[0].start, findings[1].end, int(time[-1])):
        panel.hide_after(instant, "Not yet.")
        panel.update_findings(findings, panel.model.times)
        assert panel.model.rowCount() == 0
        assert panel.selected_text() == ""
        assert panel.nothing.text() == "Not yet."
        assert not panel.look.isVisibleTo(panel)
    panel.hide_after(None)
    assert panel.model.rowCount() == 3


def test_a_session_that_is_still_to_come_is_not_told(qtbot, overload):
    panel = SessionPanel()
    qtbot.addWidget(panel)
    time, session = overload.recording.time, overload.sessions[0]
    times = Times(int(time[0]), int(time[-1]), overload.site.zone)
    before, after = overload.moment(session.start - S), overload.moment(int(time[-1]))
    panel.set_sessions(begun_by(overload.sessions, before.time), times, whole=False)
    panel.show_moment(before)
    assert panel.span.text() == "Up to this time the generator has carried no load."
    panel.set_sessions((), times)
    panel.show_moment(before)
    assert panel.span.text() == "In this recording the generator carries no load."
    panel.set_sessions(overload.sessions, times)
    panel.show_moment(after)
    assert panel.span.text().startswith("At this time the generator carries no load. The last session, ")
    assert ("End", "Stopped under load") in [(one.text(), other.text()) for one, other in panel.lines]


def test_the_sentence_says_nothing_of_what_will_have_been(overload):
    start = overload.findings[1].start
    moment = overload.moment(start + 2 * S)
    bare = unjudged(moment, begun_by(overload.sessions, start), overload.site.zone)
    assert "5.86" in str(moment.headline)
    assert bare.findings == ()
    assert bare.severity is None
    assert "5.86" not in f"{bare.headline} {bare.detail}"
    assert bare.streams == moment.streams
    assert begun_by(overload.sessions, int(overload.recording.time[0])) == ()


def test_before_it_was_relieved_a_set_warms_up_and_afterwards_it_cools_down():
    healthy = review(*open_recording(demo_path("healthy-charge")))
    zone, (session,) = healthy.site.zone, healthy.sessions
    before = unjudged(healthy.moment(session.start - 5 * S), healthy.sessions, zone)
    after = unjudged(healthy.moment(session.end + 20 * S), healthy.sessions, zone)
    assert "warm up" in str(before.detail)
    assert "cool down" in str(after.detail)
