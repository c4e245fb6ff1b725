"""What was forecast beside what came: how far it was off, and whether the range held."""

from __future__ import annotations

import pytest

from desktop.charging.forecast.forecast import Span
from desktop.opening import demos, open_recording
from desktop.review import Review, review
from desktop.review.foretold import Foretold, foretold, held_phrase

MINUTE = 60_000_000_000
END = 600 * MINUTE


def said(at: int | None, low: int | None, high: int | None, came: int | None, end: int = END) -> Foretold:
    """Instants in minutes."""
    when = Span(*(None if each is None else each * MINUTE for each in (at, low, high)))
    return Foretold(0, 80.0, when, None if came is None else came * MINUTE, end)


@pytest.mark.parametrize(
    ("told", "held", "off"),
    [
        (said(100, 90, 110, 100), True, "as said"),
        (said(100, 90, 110, 107), True, "7 min later"),
        (said(100, 90, 110, 92), True, "8 min earlier"),
        (said(100, 90, 110, 111), False, "11 min later"),
        (said(100, 90, 110, 80), False, "20 min earlier"),
        (said(100, 90, None, 500), True, "6 h 40 min later"),
        (said(100, 90, 110, None), False, ""),
        (said(100, 90, 110, None, end=105 * MINUTE), None, ""),
        (said(100, 90, None, None), None, ""),
        (said(None, None, None, 50), True, ""),
    ],
)
def test_the_range_holds_or_not_or_the_session_ended_too_early_to_tell(told, held, off):
    assert told.held is held
    assert str(told.off) == off


def test_how_often_it_held_is_told_of_what_could_be_seen():
    told = [said(100, 90, 110, 100), said(100, 90, 110, 130), said(100, 90, None, None)]
    assert str(held_phrase(told)) == "1 of 2 came within the range that was said; four of five should."
    assert not held_phrase([])
    assert not held_phrase(told[2:])


@pytest.fixture(scope="module")
def charged() -> Review:
    return review(*open_recording(next(each.path for each in demos() if each.path.stem == "healthy-charge")))


def test_what_was_said_in_a_session_is_held_against_the_gauge(charged):
    told = foretold(charged)
    (session,) = charged.sessions
    assert len(told) == 3
    soc = charged.recording.column("battery_soc")
    for each in told:
        assert session.start < each.at < session.end
        if each.came is not None:
            row = charged.recording.row_at(each.came)
            assert each.at <= each.came <= session.end
            assert soc[row] >= min(each.soc, 99.0) > soc[row - 1]


def test_of_a_session_that_still_runs_nothing_is_held_against_anything(charged):
    (session,) = charged.sessions
    stop = charged.recording.row_at((session.start + session.end) // 2)
    begun = review(charged.recording.rows(0, stop), charged.site)
    assert begun.sessions[0].stop == "still running"
    assert foretold(begun) == ()
