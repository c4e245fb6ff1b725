"""The cursor and the window of time, while what they move in grows; and the rows of findings that stay."""

from hypothesis import given
from hypothesis import strategies as some

from desktop.diagnosis.finding import SEVERITIES, SEVERITY_OF, Finding
from desktop.picture.trends.window import TimeWindow
from desktop.window.cursor import Cursor
from desktop.window.panels.finding_list import FindingModel
from desktop.window.parts.times import Times
from desktop.words import Phrase

S = 1_000_000_000


def live(first: int = 0, last: int = 100) -> tuple[Cursor, list[tuple[int, bool]]]:
    cursor = Cursor()
    cursor.set_range(first, last)
    cursor.set_live(True)
    told: list[tuple[int, bool]] = []
    cursor.watch(lambda instant: told.append((instant, cursor.pinned)))
    return cursor, told


def test_at_the_end_of_what_grows_the_cursor_is_pinned_and_goes_with_it():
    cursor, told = live()
    cursor.move(100)
    cursor.set_range(0, 120)
    assert (cursor.instant, cursor.pinned) == (120, True)
    cursor.move(60)
    cursor.set_range(0, 140)
    assert (cursor.instant, cursor.pinned) == (60, False)
    assert told == [(100, True), (60, False)]


def test_released_it_stays_where_it_is_and_says_so():
    cursor, told = live()
    cursor.move(100)
    cursor.release()
    cursor.release()
    cursor.set_range(0, 120)
    assert cursor.instant == 100
    cursor.move(500)
    assert cursor.pinned
    assert told == [(100, True), (100, False), (120, True)]


def test_what_does_not_grow_pins_nothing():
    cursor = Cursor()
    cursor.set_range(0, 100)
    cursor.move(100)
    assert not cursor.pinned
    cursor.set_live(True)
    cursor.place(100)
    assert cursor.pinned
    cursor.set_live(False)
    assert not cursor.pinned


def test_all_that_is_seen_is_at_most_the_last_stretch():
    window = TimeWindow.fitted(0, 600 * S)
    assert window.grown(0, 700 * S, most=900 * S) == TimeWindow.fitted(0, 700 * S)
    later = window.grown(0, 2000 * S, most=900 * S)
    assert later.span == 900 * S
    assert later.follows
    assert later.grown(0, 2100 * S, most=900 * S).span == 900 * S
    assert later.grown(0, 2100 * S, most=900 * S).stop - later.stop == 100 * S
    assert window.grown(0, 2000 * S).fits


def test_what_is_not_followed_stays_in_sight():
    window = TimeWindow.fitted(0, 600 * S).between(100 * S, 200 * S)
    for seen in (window, TimeWindow.fitted(0, 600 * S)):
        stayed = seen.grown(0, 900 * S, follow=False)
        assert (stayed.start, stayed.stop) == (seen.start, seen.stop)
        assert stayed.last == 900 * S


findings = some.lists(
    some.builds(
        lambda kind, start, length: Finding(
            kind,
            start * S,
            None if length is None else (start + length) * S,
            "load_power",
            1.0,
            1.0,
            "W",
            *4 * [Phrase("")],
        ),
        some.sampled_from(sorted(SEVERITY_OF)),
        some.integers(0, 12),
        some.one_of(some.none(), some.integers(0, 9)),
    ),
    max_size=12,
).map(lambda many: tuple(sorted(many, key=lambda each: (each.start, SEVERITIES.index(each.severity)))))


@given(findings, findings)
def test_the_rows_of_findings_become_the_new_ones_whatever_they_were(before, after):
    model = FindingModel()
    model.set_findings(before, Times())
    model.set_standing(5 * S)
    model.update(after, Times())
    assert tuple(model.findings) == after
    model.set_standing(5 * S)
    standing = [row for row, each in enumerate(after) if each.stands_at(5 * S)]
    assert sorted(model._standing) == standing
