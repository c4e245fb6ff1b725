"""What one thing brought about is told together."""

from report_reviews import figures, often

from desktop.report.incidents import incidents_of
from desktop.review import review
from desktop.review.corrected import figures_of


def test_an_overload_and_the_trip_that_came_of_it_are_one():
    (one,) = incidents_of(figures("limit-too-high"))
    assert one.kind == ("generator_over_rating", "generator_stopped_under_load")
    assert [each.kind for each in one.beside] == ["limit_above_rating"]
    assert one.title == "Generator overloaded → Generator stopped under load"
    assert one.main.kind == "generator_stopped_under_load"
    assert one.severity == "act now"
    assert one.chain is not None


def test_the_same_on_another_day_is_another():
    every = incidents_of(figures("two-overcast-days"))
    assert [one.kind for one in every] == [("battery_low",), ("battery_low",)]


def test_each_limit_goes_with_what_came_of_it():
    every = incidents_of(figures_of(often("limit-too-high", 3), review))
    assert len(every) == 3
    for one in every:
        (limit,) = one.beside
        assert limit.start <= one.first.start <= limit.end


def test_every_finding_is_in_one_incident():
    for name in ("limit-too-high", "load-step", "unequal-legs", "healthy-charge"):
        told = [each for one in incidents_of(figures(name)) for each in (*one.findings, *one.beside)]
        assert sorted(map(id, told)) == sorted(map(id, figures(name).findings))
