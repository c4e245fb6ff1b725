"""The procedure driven by replayed recordings of simulated plants."""

from pathlib import Path

import pytest

from desktop.opening import open_recording
from desktop.procedure.course import Course, headline, said
from desktop.procedure.steps import STEPS
from desktop.review import Review, review
from recordings.recording import Recording

DEMOS = Path(__file__).parents[2] / "recordings" / "demo"

SEEN = ("dead", "start", "close", "seen", "carried", "charging", "target", "unload", "cool", "stop")


@pytest.fixture(scope="module")
def healthy() -> Review:
    return review(*open_recording(DEMOS / "healthy-charge.csv"))


@pytest.fixture(scope="module")
def too_high() -> Review:
    return review(*open_recording(DEMOS / "limit-too-high.csv"))


def replayed(course: Course, told: Review, every: int):
    """How it stands, row after row."""
    for instant in told.recording.time[::every].tolist():
        yield course.at(told.moment(instant))


def test_a_healthy_charge_ticks_every_step_in_order_as_it_comes(healthy):
    order: list[str] = []
    standing = None
    for standing in replayed(Course(healthy), healthy, 20):
        for each in standing.steps:
            assert not each.slipped, said(each)
            if each.state == "done" and each.step.key not in order:
                order.append(each.step.key)
    assert standing is not None
    assert [key for key in order if key in SEEN] == list(SEEN)
    times = [standing.of(key).at for key in SEEN]
    assert times == sorted(times)
    assert standing.of("warm").state == "done"
    assert standing.of("within").state == "done"
    assert standing.of("limit").state == "can't tell"
    assert str(standing.of("limit").told).startswith("The site sheet says 24.0 A")


def test_who_ticks_beside_a_healthy_charge_hears_nothing_wrong_and_gets_to_the_end(healthy):
    course = Course(healthy)
    time = healthy.recording.time
    stopped = course.at(healthy.moment(int(time[-1]))).of("stop").at
    order = [
        step.key for step in STEPS if not step.by_readings or step.key in ("limit", "charger", "battery")
    ]
    first = ("outdoors", "alarms", "fuel", "interlock", "limit", "charger", "battery", "loads", "breaker")
    when = dict.fromkeys((*first, "house_end", "source_end"), int(time[100]))
    when |= dict.fromkeys(("transfer",), int(time[190]))
    when |= dict.fromkeys(("look", "loads_off"), int(time[3000]))
    assert stopped is not None
    for key in order:
        instant = when.get(key, stopped + 10_000_000_000)
        course.toggle(key, course.at(healthy.moment(instant)))
    for standing in replayed(course, healthy, 15):
        assert not standing.alarms, str(headline(standing))
        assert not any(each.slipped for each in standing.steps)
    assert standing.over


def test_a_limit_above_the_rating_is_told_from_the_first_row_on(too_high):
    standing = Course(too_high).at(too_high.moment(int(too_high.recording.time[5])))
    assert standing.of("limit").state == "not met"
    assert standing.foremost == "limit"
    assert standing.next.step.key == "outdoors"
    assert str(headline(standing)) == (
        "The input limit of 42.0 A is above the 33.3 A per leg that the generator can carry here. Set it lower "
        "before the generator is connected."
    )


def test_closing_the_breaker_on_that_limit_is_out_of_order(too_high):
    standing = Course(too_high).at(too_high.moment(int(too_high.recording.time[600])))
    close = standing.of("close")
    assert close.state == "done"
    assert close.early is not None
    assert close.early.key == "limit"
    assert str(said(close)).startswith(
        "Power flows from the generator. Out of order. Before it comes: Set the AC input limit"
    )


def test_a_trip_is_told_first_and_nothing_is_commanded_that_is_too_late(too_high):
    standing = Course(too_high).at(too_high.moment(int(too_high.recording.time[1180])))
    assert standing.of("cool").state == standing.of("unload").state == "not met"
    assert standing.of("stop").early is not None
    assert str(headline(standing)).startswith("The generator stopped under load at 17:24:18. Switch off its")


def test_an_overload_is_told_without_what_is_yet_to_come(too_high):
    course, time = Course(too_high), too_high.recording.time
    first = course.at(too_high.moment(int(time[1141]))).of("within")
    later = course.at(too_high.moment(int(time[1150]))).of("within")
    after = course.at(too_high.moment(int(time[1180]))).of("within")
    for during in (first, later):
        assert during.alarm
        assert str(during.told).startswith("Generator overloaded since 17:24:00. Generator load 1")
        assert "5.86" not in str(during.told)
        assert "18 s" not in str(during.told)
    assert str(first.told) != str(later.told)
    assert after.state == "done"
    assert str(after.told).startswith("Not all the time: The generator")


def test_a_battery_meter_the_wrong_way_round_doesnt_hold_the_headline():
    told = review(*open_recording(DEMOS / "reversed-battery-meter.csv"))
    course = Course(told)
    session = told.sessions[0]
    for share in (0.1, 0.3, 0.6, 0.9):
        standing = course.at(told.moment(round(session.start + share * (session.end - session.start))))
        assert str(headline(standing)).startswith("Next, step ")
        assert not any(each.early for each in standing.steps)


def test_a_recording_that_begins_with_a_live_line_says_so_at_once(healthy):
    # From the set's warm-up on: nobody saw the line dead.
    rows = healthy.recording.rows(124, 400)
    told = review(Recording.from_columns(rows.time, {n: rows.column(n) for n in rows.channels}), healthy.site)
    course = Course(told)
    standing = course.at(told.moment(int(rows.time[0])))
    assert standing.of("dead").state == "not met"
    assert str(headline(standing)).startswith("The line is live: 230 V")
    assert {standing.of(key).state for key in ("house_end", "source_end")} == {"not now"}
    later = course.at(told.moment(int(rows.time[100])))
    assert later.of("dead").state == "can't tell"
    assert later.of("house_end").state == "not seen"
    assert not later.alarms


@pytest.mark.parametrize("name", ["two-overcast-days", "grid-failure", "load-step", "lead-acid-absorption"])
def test_charges_of_other_plants_are_in_order_too(name):
    told = review(*open_recording(DEMOS / f"{name}.csv"))
    course = Course(told)
    assert told.sessions
    for session in told.sessions:
        standing = course.at(told.moment(session.end + 240_000_000_000))
        times = [standing.of(key).at for key in SEEN if standing.of(key).state == "done" and key != "target"]
        assert len(times) >= 8
        assert times == sorted(times)
        assert [each.step.key for each in standing.steps if each.early] == []
