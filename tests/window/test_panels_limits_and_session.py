"""The limits as bullet graphs, and this charge session."""

import math
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QColor
from pytestqt.qtbot import QtBot
from shown_moment import LIMITS, SESSION, at, moment

from desktop.picture.palette import THEMES
from desktop.review.moment import LimitNow
from desktop.window.panels.limits import LimitsPanel, bound_text
from desktop.window.panels.session import SessionPanel
from desktop.window.parts.bullet import Bullet
from desktop.window.parts.times import Times
from desktop.window.style import theme
from desktop.words import Phrase

TIMES = Times(at(0), at(600))


@pytest.fixture
def limits(qtbot: QtBot) -> LimitsPanel:
    theme.apply("light")
    panel = LimitsPanel()
    qtbot.addWidget(panel)
    panel.resize(460, 300)
    panel.show_moment(moment())
    panel.show()
    return panel


def test_each_limit_has_label_value_and_what_it_is_held_against(limits: LimitsPanel):
    told = [(row.label.text(), row.value.text(), row.bound.text()) for row in limits.rows]
    assert told == [
        ("Input current", "27.1 A", "▲ above 25.0 A"),
        ("Generator load", "95 %", "near 100 % *"),
        ("Battery voltage", "53.1 V", "44.0 to 56.8 V"),
        ("Frequency", "47.1 Hz", "▼ below 48.0 Hz"),
        ("Charge current", "not known", "of 100 A"),
    ]


def test_only_what_is_abnormal_has_a_colour(limits: LimitsPanel):
    assert [row.value.tone for row in limits.rows] == ["act now", "text", "text", "attend", "text"]


def test_assumed_limits_are_explained_where_there_are_any(limits: LimitsPanel):
    assert limits.footnote.isVisibleTo(limits)
    limits.show_moment(moment(limits=LIMITS[:1]))
    assert not limits.footnote.isVisibleTo(limits)
    assert [row.label.isVisibleTo(limits) for row in limits.rows] == [True, False, False, False, False]


def test_a_screen_reader_is_told_value_and_state(limits: LimitsPanel):
    spoken = QAccessible.queryAccessibleInterface(limits.rows[0].graph)
    assert spoken.role() == QAccessible.Role.ProgressBar
    assert spoken.text(QAccessible.Text.Name) == "Input current"
    assert spoken.text(QAccessible.Text.Description) == "27.1 A ▲ above 25.0 A"


def test_numbers_that_get_shorter_do_not_move_the_graphs(limits: LimitsPanel):
    before = limits.rows[0].graph.geometry()
    limits.show_moment(moment(limits=(replace(LIMITS[0], value=0.0, state="ok"), *LIMITS[1:])))
    limits.layout().activate()
    assert limits.rows[0].graph.geometry() == before


def test_where_it_is_narrow_the_graph_stands_below_its_label(limits: LimitsPanel, qtbot: QtBot):
    row = limits.rows[0]
    assert row.graph.geometry().top() < row.label.geometry().bottom()
    limits.resize(300, 400)
    qtbot.waitUntil(lambda: row.graph.geometry().top() >= row.label.geometry().bottom())
    assert not row.graph.geometry().intersects(row.bound.geometry())


def test_without_limits_it_says_so(limits: LimitsPanel):
    limits.show_moment(moment(limits=()))
    assert not limits.rows[0].label.isVisibleTo(limits)
    limits.show_moment(moment())
    assert limits.rows[0].label.isVisibleTo(limits)


@pytest.mark.parametrize(
    ("lower", "upper", "state", "value", "says"),
    [
        (None, 25.0, "ok", 3.0, "of 25.0 A"),
        (10.0, None, "ok", 20.0, "at least 10.0 A"),
        (10.0, None, "over", 5.0, "▼ below 10.0 A"),
        (10.0, 30.0, "near", 29.0, "near 30.0 A"),
        (None, 30.0, "near", 30.2, "at limit 30.0 A"),
        (10.0, 30.0, "near", 11.0, "near 10.0 A"),
        (10.0, 30.0, "not known", math.nan, "10.0 to 30.0 A"),
        (None, None, "ok", 5.0, ""),
    ],
)
def test_what_a_value_is_held_against_in_words(lower, upper, state, value, says):
    limit = LimitNow("x", Phrase("x"), value, lower, upper, 0.0, 40.0, "A", state)
    assert bound_text(limit) == says


@pytest.mark.parametrize(("value", "share"), [(0.0, 0.01), (15.625, 0.5), (31.25, 1.0), (99.0, 1.0)])
def test_the_bar_is_as_long_as_the_value_on_its_scale(value, share, qtbot: QtBot):
    theme.apply("light")
    graph = Bullet()
    qtbot.addWidget(graph)
    graph.resize(200, 20)
    graph.show_limit(replace(LIMITS[0], value=value, state="ok"))
    line = graph.grab().toImage()
    bar = QColor(THEMES["light"]["muted"])
    length = sum(line.pixelColor(x, 10) == bar for x in range(200))
    marks = 2 * (share > 0.8)
    assert length + marks == pytest.approx(200 * share, abs=2)


def test_no_bar_where_the_value_is_not_known(qtbot: QtBot):
    graph = Bullet()
    qtbot.addWidget(graph)
    graph.resize(200, 20)
    graph.show_limit(LIMITS[-1])
    line = graph.grab().toImage()
    assert line.pixelColor(1, 10) == theme.colour("track")
    graph.show_limit(replace(LIMITS[-1], upper=math.nan, highest=math.nan))
    assert graph.grab().toImage().pixelColor(1, 10) == theme.colour("track")


@pytest.fixture
def session(qtbot: QtBot) -> SessionPanel:
    panel = SessionPanel()
    qtbot.addWidget(panel)
    panel.set_sessions([SESSION], TIMES)
    return panel


def lines(panel: SessionPanel) -> dict[str, str]:
    return {label.text().strip(): value.text() for label, value in panel.lines if label.isVisibleTo(panel)}


def test_a_session_tells_where_its_energy_went(session: SessionPanel):
    session.show_moment(moment())
    assert session.span.text() == "00:01 to 00:03, 2 min"
    assert lines(session) == {
        "From the generator": "3.91 kWh",
        "to the house": "0.97 kWh",
        "into the battery": "2.67 kWh",
        "lost": "0.27 kWh",
        "From solar into the battery": "0.44 kWh",
        "Battery": "51 % → 63 %",
        "Mean load of its rating": "81 %",
        "Highest input current": "27.1 A",
        "End": "Stopped after unloading",
    }
    assert not session.go.isVisibleTo(session)


def test_what_is_not_known_of_a_session_is_not_told_as_zero(session: SessionPanel):
    nan = math.nan
    bare = replace(
        SESSION,
        to_load_wh=nan,
        soc_start=nan,
        mean_load_share=nan,
        peak_input_a=nan,
    )
    session.show_moment(moment(session=bare))
    assert lines(session)["to the house"] == "not known"
    assert {"Battery", "Mean load of its rating", "Highest input current"}.isdisjoint(lines(session))


def test_a_plant_without_solar_has_no_line_for_it(session: SessionPanel):
    dark = moment()
    streams = {**dark.streams, "solar": replace(dark.streams["solar"], knowledge="absent")}
    session.show_moment(replace(dark, streams=streams))
    assert "From solar into the battery" not in lines(session)


def test_outside_a_session_the_nearest_one_is_a_click_away(session: SessionPanel, qtbot: QtBot):
    session.show_moment(moment(session=None, time=at(10)))
    assert lines(session) == {}
    assert session.go.text() == "Go to the session at 00:01"
    with qtbot.waitSignal(session.asked) as asked:
        qtbot.mouseClick(session.go, Qt.MouseButton.LeftButton)
    assert asked.args == [SESSION.start]


def test_a_recording_without_sessions_says_so(session: SessionPanel):
    session.set_sessions([], TIMES)
    session.show_moment(moment(session=None))
    assert session.span.text() == "In this recording the generator carries no load."
    assert not session.go.isVisibleTo(session)


def test_times_name_the_day_where_there_are_several():
    assert Times(at(0), at(600))(at(61)) == "00:01:01"
    assert Times(at(0), at(100_000))(at(61), seconds=False) == "2026-01-01 00:01"
