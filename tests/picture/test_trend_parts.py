"""The Qt-free parts of trends: windows of time, value axes, bands, and what a review gives to draw."""

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.diagnosis.finding import SEVERITY_OF, Finding
from desktop.flow.learned import learn
from desktop.picture.trends.bands import BandTable
from desktop.picture.trends.columns import Columns, Spans
from desktop.picture.trends.of_review import trends_of
from desktop.picture.trends.source import Band, Pane
from desktop.picture.trends.store import LevelStore
from desktop.picture.trends.value_axis import value_axis
from desktop.picture.trends.window import NARROWEST, TimeWindow
from desktop.review.reviewing import review
from desktop.site import Site
from desktop.words import Phrase
from recordings.recording import Recording

S = 1_000_000_000
DAY = 86_400 * S


@settings(deadline=None)
@given(
    st.lists(
        st.one_of(
            st.tuples(st.just("move"), st.floats(-3, 3)),
            st.tuples(st.just("zoom"), st.floats(0.01, 100)),
            st.tuples(st.just("show"), st.floats(-1, 2)),
        ),
        max_size=20,
    )
)
def test_a_window_never_leaves_what_there_is(steps: list[tuple[str, float]]) -> None:
    whole = window = TimeWindow.fitted(0, DAY)
    for what, amount in steps:
        if what == "move":
            window = window.moved(amount * window.span)
        elif what == "zoom":
            window = window.zoomed(amount, window.start + window.span // 3)
        else:
            window = window.showing(round(amount * DAY))
        assert whole.start <= window.start < window.stop <= whole.stop
        assert window.span >= NARROWEST


def test_zoom_keeps_the_instant_that_is_pointed_at_in_place() -> None:
    window = TimeWindow.fitted(0, DAY)
    about = window.start + window.span // 4
    zoomed = window.zoomed(0.1, about)
    assert (about - zoomed.start) / zoomed.span == pytest.approx(0.25, abs=1e-6)


def test_a_window_at_the_end_goes_with_a_growing_recording() -> None:
    at_end = TimeWindow.fitted(0, DAY).zoomed(0.1, DAY).at_last()
    grown = at_end.grown(0, DAY + 600 * S)
    assert grown.start == pytest.approx(at_end.start + 600 * S, abs=0.01 * DAY)
    assert grown.span == at_end.span
    assert grown.follows
    looking_back = TimeWindow.fitted(0, DAY).zoomed(0.1, 0)
    assert looking_back.grown(0, 2 * DAY).start == looking_back.start
    assert TimeWindow.fitted(0, DAY).grown(0, 2 * DAY).fits


def spans(*ends: tuple[float, float]) -> Spans:
    return Spans(np.array([low for low, _ in ends]), np.array([high for _, high in ends]))


@settings(deadline=None)
@given(
    st.lists(st.floats(-1e5, 1e5), min_size=1, max_size=9),
    st.sampled_from(["zero", "running", "free"]),
    st.integers(1, 4),
)
def test_a_value_axis_holds_all_that_is_drawn(values: list[float], base: str, lines: int) -> None:
    pane = Pane("p", Phrase("P"), "kW", 1e-3, base)
    axis = value_axis(pane, [spans(*[(value, value) for value in values])], [7000.0], lines)
    unseen = 1e-5 * axis.step
    assert axis.high >= max(*values, 7000.0) * 1e-3 - unseen
    if not axis.shelf:
        assert axis.low <= min(*values, 7000.0) * 1e-3 + unseen
    assert 2 <= len(axis.ticks) <= lines + 4 or axis.shelf
    if base == "zero":
        assert axis.low <= 0 <= axis.high


def test_a_standing_machine_does_not_flatten_its_curve() -> None:
    pane = Pane("f", Phrase("F"), "Hz", base="running")
    axis = value_axis(pane, [spans((0.0, 0.0), (0.0, 49.3), (49.1, 49.6))], [], 3)
    assert axis.low >= 48
    assert axis.shelf
    assert axis.shelf_label.startswith("<4")


def test_a_percentage_ends_at_its_ends() -> None:
    axis = value_axis(Pane("s", Phrase("S"), "%", most=(0.0, 100.0)), [spans((3.0, 100.0))], [], 2)
    assert (axis.low, axis.high) == (0.0, 100.0)


def band(start: int, end: int | None, severity: str = "note") -> Band:
    return Band(start * S, None if end is None else end * S, severity, Phrase(severity))


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 5000), st.integers(0, 400), st.sampled_from(["act now", "attend", "note"]))
    ),
    st.floats(4.0, 30.0),
)
def test_marks_keep_apart_count_all_and_hide_no_urgent_one(
    given_bands: list[tuple[int, int, str]], apart: float
) -> None:
    bands = sorted((band(a, a + n, s) for a, n, s in given_bands), key=lambda each: each.start)
    marks = BandTable(bands).marks(0, 10 * S, 500, apart)
    assert sum(mark.count for mark in marks) == len(bands)
    assert all(later.at - earlier.at >= apart * 0.999 for earlier, later in pairwise(marks))
    assert any(m.severity == "act now" for m in marks) == any(b.severity == "act now" for b in bands)


def test_overlapping_bands_of_a_severity_are_one_and_open_ones_end_with_the_recording() -> None:
    table = BandTable([band(0, 100), band(50, 150), band(300, None, "act now")])
    stretches = table.stretches(0, S, 1000, 700 * S)
    assert [(each.left, each.right, each.severity) for each in stretches] == [
        (0.0, 150.0, "note"),
        (300.0, 700.0, "act now"),
    ]


@dataclass
class ReviewForTrends:
    recording: Recording
    site: Site
    findings: list[Finding] = field(default_factory=list)
    gaps: list[tuple[int, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.learned = learn(self.recording, self.site)

    def stream(self, name: str) -> np.ndarray:
        rows = len(self.recording)
        if name == "load":
            return np.full(rows, 800.0, np.float32)
        return np.full(rows, np.nan if name == "converter_ac" else 0.0, np.float32)

    def unaccounted(self, place: str) -> np.ndarray:
        return np.full(len(self.recording), 20.0 if place == "ac" else np.nan, np.float32)


def reviewed(rows: int = 600) -> ReviewForTrends:
    recording = Recording.from_columns(
        np.arange(rows, dtype=np.int64) * S,
        {
            "load_power": np.full(rows, 810.0),
            "battery_soc": np.full(rows, 63.0),
            "generator_current_l1": np.full(rows, 12.0),
            "generator_current_l2": np.full(rows, 13.0),
        },
    )
    site = Site.parse("[generator]\nvolts = 120\nlegs = 2\n[input]\nlimit_a = 30\n")
    finding = Finding(
        *("battery_low", 5 * S, None, "battery_soc", 12.0, 20.0, "%"),
        *(Phrase("Battery low"), Phrase(""), Phrase(""), Phrase("")),
    )
    return ReviewForTrends(recording, site, [finding], [(100 * S, 200 * S)])


def test_a_review_gives_its_curves_limits_findings_and_gaps() -> None:
    source = trends_of(reviewed())
    keys = [(series.key, series.pane, series.kind) for series in source.series]
    assert ("load", "power", "reconciled") in keys
    assert ("load_power", "power", "measured") in keys
    assert ("at_ac", "unaccounted", "reconciled") in keys
    # Streams that the plant doesn't have or that nothing tells are no curves.
    assert not {"solar", "converter_ac", "at_dc"} & {key for key, _, _ in keys}
    limits = {(limit.pane, limit.value, limit.assumed) for limit in source.limits}
    assert ("power", 7200.0, False) in limits
    assert ("generator_current", 30.0, False) in limits
    assert ("soc", 80.0, True) in limits
    assert all(np.isfinite(value) for _, value, _ in limits)
    assert [each.severity for each in source.bands] == [SEVERITY_OF["battery_low"]]
    assert source.gaps.tolist() == [[100 * S, 200 * S]]
    assert source.bridge == 60 * S


def test_without_a_known_generator_power_its_current_is_shown() -> None:
    shown = {series.key for series in trends_of(reviewed()).series if series.shown}
    assert "generator_current_l1" in shown
    assert "load_power" not in shown


def test_levels_follow_a_growing_review_and_are_made_anew_when_the_past_changes() -> None:
    review = reviewed()
    source = trends_of(review)
    store = LevelStore(source)
    load = next(series for series in source.series if series.key == "load")
    store.prepare([load])
    review.recording.append(np.arange(600, 900, dtype=np.int64) * S, {"battery_soc": np.full(300, 64.0)})
    source.refresh(review)
    values, levels = store.levels(load)
    assert len(values) == len(levels) == 900
    review.learned = learn(review.recording, review.site)
    source.refresh(review)
    _, anew = store.levels(load)
    assert anew is not levels


def test_a_whole_review_can_be_drawn_and_grown() -> None:
    rows = 3000
    at = np.arange(rows)
    load = 700.0 + 50 * np.sin(at / 40)
    columns = {"generator_power": load + 2000, "load_power": load, "battery_power": np.full(rows, 1850.0)}
    whole = review(Recording.from_columns(at * S, columns), Site.parse("[generator]\nrated_w = 6000\n"))
    source = trends_of(whole)
    store = LevelStore(source)
    shown = [series for series in source.series if series.shown]
    assert {"generator", "load", "battery"} <= {series.key for series in shown}
    assert ("power", 6000.0) in {(limit.pane, limit.value) for limit in source.limits}
    whole.extend((at[:500] + rows) * S, {name: values[:500] for name, values in columns.items()})
    source.refresh(whole)
    drawn = store.drawn(shown[0], Columns(source.time, 0, 3500 * S, 400, source.bridge, source.gaps))
    assert isinstance(drawn, Spans)
    assert np.isfinite(drawn.high[:399]).all()
