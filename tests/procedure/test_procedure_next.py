"""What comes next, what is wrong now, and in which words it is said."""

import numpy as np
import pytest
from procedure_charges import at, columns, recorded, reviewed, states

from desktop.procedure.as_text import unseen_text
from desktop.procedure.course import Course, headline, said
from desktop.procedure.steps import NUMBER, STEPS
from desktop.review import review

FIRST = ("outdoors", "alarms", "fuel", "interlock", "loads", "breaker", "house_end", "source_end")
COMMANDS = {str(step.text) for step in STEPS}


@pytest.fixture(scope="module")
def plain():
    return reviewed(columns())


def test_readings_never_jump_a_step_of_a_person_while_the_set_stands(plain):
    course = Course(plain)
    for key in FIRST:
        standing = at(course, plain, 50)
        assert standing.next.step.key == key
        assert str(headline(standing)) == (f"Next, step {NUMBER[key]}: {standing.next.step.text}")
        course.toggle(key, standing)
    assert at(course, plain, 50).next.step.key == "start"


def test_a_step_that_was_left_out_stays_the_next_one(plain):
    course = Course(plain)
    for key in FIRST[2:]:
        course.toggle(key, at(course, plain, 40))
    assert at(course, plain, 50).next.step.key == "outdoors"


def test_a_tick_far_ahead_jumps_nothing_while_the_set_stands(plain):
    course = Course(plain)
    for key in ("target", "transfer_back", "look"):
        course.toggle(key, at(course, plain, 20))
    assert at(course, plain, 30).next.step.key == "outdoors"
    alone = Course()
    alone.toggle("target", alone.alone(5))
    assert alone.alone(6).next.step.key == "outdoors"


def test_a_charge_is_led_through_to_its_end(plain):
    course = Course(plain)
    for key in FIRST:
        course.toggle(key, at(course, plain, 40))
    led = [(50, "start"), (70, "warm"), (185, "transfer"), (210, "target"), (460, "loads_off"), (510, "cool")]
    led += [(630, "stop"), (650, "transfer_back")]
    for second, key in led:
        standing = at(course, plain, second)
        assert standing.next.step.key == key, second
        assert not standing.alarms
    course.toggle("transfer", at(course, plain, 186))
    assert at(course, plain, 187).next.step.key == "close"
    for key in ("transfer_back", "part_source", "part_house", "refuel"):
        assert not at(course, plain, 700).over
        course.toggle(key, at(course, plain, 700))
    done = at(course, plain, 701)
    assert done.over
    assert str(headline(done)) == (
        "The charge is over. Neither ticked nor seen: steps 21, 23. The next charge begins with step 1."
    )


def test_who_takes_loads_off_doesnt_wait_for_the_target(plain):
    course = Course(plain)
    course.toggle("loads_off", at(course, plain, 300))
    assert at(course, plain, 301).next.step.key == "unload"


def test_a_recording_that_begins_in_the_middle_goes_on_from_there():
    rows = {name: column[300:] for name, column in columns().items()}
    told = review(recorded(rows), reviewed(columns()).site)
    standing = Course(told).at(told.moment(int(told.recording.time[5])))
    assert standing.next.step.key == "target"
    assert {standing.of(key).state for key in ("outdoors", "alarms", "fuel", "house_end")} == {"not seen"}
    assert unseen_text(standing) == (
        "The generator runs already. Not seen before it ran: steps 1–4, 8, 9, 11, 12. Tick those that you know to "
        "be done."
    )
    assert not standing.alarms


def test_a_charge_that_nobody_ticked_names_what_it_didnt_see_as_long_as_the_set_runs(plain):
    course = Course(plain)
    assert unseen_text(at(course, plain, 50)) == ""
    assert "steps 1–4, 8, 9, 11, 12" in unseen_text(at(course, plain, 300))
    assert unseen_text(at(course, plain, 700)) == ""


# The fact first, then what to do


def everywhere(course, told, rows=760, every=7):
    return [at(course, told, second) for second in range(0, rows, every)]


@pytest.mark.parametrize(
    "changed", [{}, {"relief": 640}, {"load": 63}, {"start": -1}, {"relief": 625}], ids=str
)
def test_no_headline_commands_what_is_wrong_now(changed):
    told = reviewed(columns(**changed))
    course = Course(told)
    for standing in everywhere(course, told):
        if standing.alarm is not None:
            words = str(headline(standing))
            assert not any(command in words for command in COMMANDS)
            assert words.startswith(str(standing.alarm.fact))


def test_a_live_line_is_told_first_and_holds_everything_else(plain):
    course = Course(plain)
    live = at(course, plain, 65)
    assert live.held
    assert live.next is None
    assert str(headline(live)) == (
        "The line is live: 230 V. Touch nothing. If the cable isn't connected yet, stop the generator, and wait "
        "until the line is dead. If it was connected while the line was dead, say so: steps 11 and 12 are "
        "done then."
    )
    assert {live.severity_of(live.of(key)) for key in ("dead", "house_end", "source_end")} == {"act now"}
    course.connected_before(live)
    after = at(course, plain, 66)
    assert not after.alarms
    assert not after.of("house_end").slipped
    assert not at(course, plain, 300).of("start").slipped
    assert after.next.step.key == "warm"


def test_after_a_trip_the_stop_is_told_and_what_to_do_now():
    told = reviewed(columns(relief=640))
    course = Course(told)
    tripped = at(course, told, 660)
    assert str(headline(tripped)) == (
        "The generator stopped under load at 00:10:40. Switch off its breaker and all large loads. Before it is "
        "started again, find out what stopped it, and let it cool down."
    )
    assert tripped.next.step.key == "transfer_back"
    course.toggle("transfer_back", tripped)
    went_on = at(course, told, 661)
    assert not went_on.alarms
    assert went_on.of("unload").slip


def test_while_it_cools_down_cooling_down_is_what_comes_next():
    told = reviewed(columns(load=63))
    standing = at(Course(told), told, 560)
    assert standing.of("close").early is standing.of("warm").step
    assert standing.next.step.key == "cool"
    assert str(headline(standing)).startswith("Next, step 25: Let the generator run on without load")


def test_a_line_that_stays_live_after_the_stop_is_fed_from_elsewhere():
    rows = columns()
    rows["generator_voltage"][640:] = 230
    told = reviewed(rows)
    course = Course(told)
    assert str(at(course, told, 645).of("stop").told) == "The line is still live: 230 V."
    fed = at(course, told, 680)
    assert fed.held
    assert str(headline(fed)).startswith(
        "The line is live: 230 V. Touch nothing. The generator stands: something"
    )


@pytest.mark.parametrize("key", ["part_source", "part_house", "refuel"])
def test_what_hurts_while_it_runs_calls_at_once(plain, key):
    course = Course(plain)
    course.toggle(key, at(course, plain, 550))
    called = at(course, plain, 551)
    assert called.alarm.key == key
    assert called.held
    assert not at(course, plain, 700).alarms


def test_what_is_claimed_and_not_shown_is_told_by_its_number(plain):
    course = Course(plain)
    course.toggle("start", at(course, plain, 50))
    assert str(headline(at(course, plain, 55))) == (
        "Step 13 was ticked, and the readings don't show it. Look once more, or take the tick back."
    )


# Order


def test_load_before_the_set_is_in_band_is_told_in_its_row():
    rows = columns(load=64)
    rows["generator_frequency"][60:80] = 44
    told = reviewed(rows)
    standing = at(Course(told), told, 200)
    assert standing.of("warm").state == "not met"
    assert standing.of("close").early is standing.of("warm").step
    assert not standing.alarms


def test_the_source_before_the_house_end_is_out_of_order(plain):
    course = Course(plain)
    course.toggle("source_end", at(course, plain, 20))
    early = at(course, plain, 30)
    assert early.of("source_end").early is early.of("house_end").step
    assert str(said(early.of("source_end"))).startswith(
        "Out of order. Before it comes: Connect the cable at the house"
    )
    assert not early.alarms
    course.toggle("house_end", at(course, plain, 40))
    assert at(course, plain, 45).of("source_end").early is not None


def test_where_nobody_ticks_nobody_is_told_of_steps_that_only_a_person_can_tick(plain):
    assert all(each.early is None for each in at(Course(plain), plain, 300).steps)
    course = Course(plain)
    course.toggle("outdoors", at(course, plain, 10))
    start = at(course, plain, 300).of("start")
    assert start.early is not None
    assert start.early.key == "alarms"
    assert not at(course, plain, 300).alarms


@pytest.mark.parametrize("key", ["transfer_back", "part_source", "refuel", "outdoors"])
def test_a_tick_at_the_end_reproaches_nobody_who_ticked_nothing_before(plain, key):
    course = Course(plain)
    course.toggle(key, at(course, plain, 700))
    standing = at(course, plain, 701)
    assert not any(each.slipped for each in standing.steps)
    assert not standing.alarms


# What stands is told as it is


def test_an_overload_is_told_as_it_is_at_each_instant():
    rows = columns()
    second = np.arange(760)
    rising = np.clip(6500.0 + 40.0 * (second - 300), 6500.0, 8000.0)
    over = (second >= 300) & (second < 340)
    rows["load_power"] = np.where(over, rising - 3000.0, rows["load_power"])
    rows["generator_power"] = np.where(over, rising, rows["generator_power"])
    told = reviewed(rows)
    course = Course(told)
    for instant in (302, 310, 330):
        within = at(course, told, instant).of("within")
        assert within.alarm
        amperes = f"{rising[instant] / 230:.1f} A"
        assert (
            str(within.told)
            == f"Input current over the limit since 00:05:00. Input current {amperes}, limit 20.0 A."
        )
    assert "now" in str(headline(at(course, told, 310)))
    assert at(course, told, 310).next.step.key == "target"
    after = at(course, told, 400).of("within")
    assert after.state == "lasting"
    assert after.slip
    assert str(after.told).startswith("Not all the time: ")


def test_what_the_readings_show_stands_beside(plain):
    course = Course(plain)
    assert str(at(course, plain, 30).shown) == "The meter reads no voltage on the line. Battery at 50 %."
    assert str(at(course, plain, 300).shown) == (
        "The line is live: 230 V. 50.5 Hz. The generator gives 3.40 kW. Battery at 50 %."
    )
    assert states(at(course, plain, 300))["target"] == "open"
