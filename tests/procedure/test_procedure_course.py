"""How steps stand: what readings tick, contradictions, clocks, missing channels, one charge after another."""

import copy
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from procedure_charges import SECOND, SITE, START, at, columns, done_at, recorded, reviewed, states

from desktop.diagnosis.plant import Plant
from desktop.procedure.as_text import lines_of
from desktop.procedure.course import Course
from desktop.procedure.follower import Follower
from desktop.procedure.progress import Progress
from desktop.procedure.signs import signs_of
from desktop.review import review
from desktop.review.growing import GrowingReview
from desktop.site import Site


def together(*charges: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    return {name: np.concatenate([one[name] for one in charges]) for name in charges[0]}


@pytest.fixture(scope="module")
def plain():
    return reviewed(columns())


def test_every_step_that_readings_tell_is_ticked_when_it_comes(plain):
    standing = at(Course(plain), plain, 759)
    assert {key: done_at(standing, key) for key, state in states(standing).items() if state == "done"} == {
        "limit": 0, "charger": 0, "battery": 0, "dead": 0, "start": 60, "warm": 180, "close": 200, "seen": 200,
        "carried": 200, "charging": 200, "within": 500, "target": 450, "unload": 500, "cool": 620, "stop": 640,
    }  # fmt: skip
    assert not standing.alarms
    assert not any(each.slipped for each in standing.steps)


def test_nothing_is_ticked_ahead_of_the_cursor(plain):
    course = Course(plain)
    at(course, plain, 759)
    before = at(course, plain, 65)
    assert {key for key, state in states(before).items() if state == "done"} == {
        "limit", "charger", "battery", "start",
    }  # fmt: skip
    assert at(course, plain, 59).of("start").state == "open"


@settings(deadline=None, max_examples=25)
@given(st.lists(st.integers(0, 759), min_size=1, max_size=12))
def test_it_doesnt_matter_which_way_the_cursor_came(plain, seconds):
    course = Course(plain)
    for second in seconds:
        standing = at(course, plain, second)
    assert standing == at(Course(plain), plain, seconds[-1])


@settings(deadline=None, max_examples=25)
@given(st.sets(st.integers(1, 1499), max_size=20), st.integers(0, 2**16))
def test_it_doesnt_matter_how_rows_were_cut(cuts, seed):
    random = np.random.default_rng(seed)
    short = columns(start=5, load=11, relief=300, stop=305, rows=600)
    rows = together(columns(rows=600, relief=400, stop=500), short, columns(rows=600))
    rows = {name: np.where(random.random(1800) < 0.1, np.nan, column) for name, column in rows.items()}
    recording = recorded(rows)
    stamps = recording.time + np.where(np.arange(1800) > 900, 400, 0) * SECOND
    told = review(type(recording).from_columns(stamps, rows), SITE)
    plant = Plant.of(told.learned, told.site)
    anew = (START + 1300 * SECOND + 5,)

    def progressed(edges):
        progress = Progress(told.gap_s)
        for start, stop in pairwise(edges):
            progress.extend(signs_of(told, plant, start, stop), anew)
        return progress

    cut, whole = progressed([0, *sorted(cuts), 1800]), progressed([0, 1800])
    assert cut.charge == whole.charge
    assert (cut.levels, cut.known, cut.values) == (whole.levels, whole.known, whole.values)


def test_marks_on_the_way_give_the_same(monkeypatch):
    monkeypatch.setattr("desktop.procedure.follower.MARK_ROWS", 64)
    told = reviewed(together(columns(), columns()))
    jumping = Follower(told)
    for row in (1100, 3, 640, 639, 64, 63, 1399, 500):
        straight = Follower(told).at(row)
        assert jumping.at(row).charge == straight.charge
        assert jumping.at(row).levels == straight.levels


def test_a_review_that_grows_says_the_same_as_one_made_at_once():
    rows = columns()
    first = {name: column[:30] for name, column in rows.items()}
    growing = GrowingReview(recorded(first), SITE)
    course = Course(growing)
    for start in range(30, 760, 73):
        part = {name: column[start : start + 73] for name, column in rows.items()}
        stamps = START + np.arange(start, start + len(part["load_power"])) * SECOND
        growing.extend(stamps, part)
        standing = course.at(growing.moment(int(stamps[-1])))
        whole = reviewed({name: column[: len(growing)] for name, column in rows.items()})
        assert states(standing) == states(Course(whole).at(whole.moment(int(stamps[-1]))))
    growing.close()
    assert done_at(standing, "cool") == 620


def test_ticks_count_from_their_time_on(plain):
    course = Course(plain)
    course.toggle("outdoors", at(course, plain, 30))
    assert at(course, plain, 29).of("outdoors").state == "open"
    assert at(course, plain, 31).of("outdoors").state == "ticked"
    assert done_at(at(course, plain, 759), "outdoors") == 30
    course.toggle("outdoors", at(course, plain, 40))
    assert not at(course, plain, 759).of("outdoors").done


# What readings say against a person


def test_a_tick_while_the_line_was_live_is_told_in_its_row_alone(plain):
    course = Course(plain)
    for key in ("house_end", "source_end"):
        course.toggle(key, at(course, plain, 65))
    later = at(course, plain, 300)
    ticked = later.of("house_end")
    assert (ticked.state, ticked.slip, ticked.alarm) == ("ticked", True, False)
    assert str(ticked.told) == "The line was live when this was ticked at 00:01:05."
    assert not later.alarms


def test_connecting_a_dead_line_stays_ticked_while_it_is_live_later(plain):
    course = Course(plain)
    for key in ("house_end", "source_end"):
        course.toggle(key, at(course, plain, 50))
    for second in (65, 300, 550, 759):
        state = at(course, plain, second).of("source_end")
        assert (state.state, state.slip) == ("ticked", False)


def test_a_dead_line_that_was_ticked_is_contradicted_by_a_live_one():
    told = reviewed(columns(start=-1))
    course = Course(told)
    course.toggle("dead", at(course, told, 10))
    assert at(course, told, 11).of("dead").state == "contradicted"


def test_what_nobody_claimed_isnt_called_contradicted(plain):
    for second in (5, 65, 300, 550, 759):
        assert "contradicted" not in states(at(Course(plain), plain, second)).values()


def test_parting_and_refuelling_a_running_set_are_contradicted_while_it_runs(plain):
    course = Course(plain)
    assert str(at(course, plain, 550).of("part_source").told) == (
        "The line is live: 230 V. Disconnect nothing before the generator stands."
    )
    for key in ("part_source", "refuel"):
        course.toggle(key, at(course, plain, 550))
    running = at(course, plain, 560)
    assert {running.of(key).state for key in ("part_source", "refuel")} == {"contradicted"}
    late = at(course, plain, 759)
    assert (late.of("part_source").state, late.of("part_source").slip) == ("ticked", True)
    assert str(late.of("refuel").told) == "The generator ran when this was ticked at 00:09:10."
    assert not late.alarms


def test_what_is_ticked_and_not_shown_is_contradicted_until_it_shows(plain):
    course = Course(plain)
    course.toggle("start", at(course, plain, 50))
    assert str(at(course, plain, 55).of("start").told) == "The readings don't show it."
    assert at(course, plain, 55).of("start").state == "contradicted"
    assert at(course, plain, 61).of("start").state == "done"


def test_a_charger_that_is_off_is_open_before_and_not_met_under_load():
    rows = columns()
    rows["charger_enabled"][:] = 0
    told = reviewed(rows)
    course = Course(told)
    assert at(course, told, 50).of("charger").state == "open"
    assert at(course, told, 250).of("charger").state == "not met"


def test_a_frozen_lithium_battery_is_not_met():
    rows = columns()
    rows["battery_temperature"][:] = -4
    told = reviewed(rows)
    standing = at(Course(told), told, 50)
    assert standing.of("battery").state == "not met"
    assert str(standing.alarm.fact) == "The battery is at −4 °C: it must not be charged at that."


def test_altitude_counts_in_what_the_set_can_carry():
    high = SITE.model_copy(update={"generator": SITE.generator.model_copy(update={"altitude_m": 3000.0})})
    rows = columns()
    rows["input_limit"][:] = 25
    low_land, mountain = reviewed(rows), reviewed(rows, site=high)
    assert at(Course(low_land), low_land, 5).of("limit").state == "done"
    assert at(Course(mountain), mountain, 5).of("limit").state == "not met"


# The line, dead and live


def test_a_line_that_is_live_before_the_cable_is_connected_isnt_called_dead(plain):
    dead = at(Course(plain), plain, 100).of("dead")
    assert (dead.state, dead.alarm) == ("not met", True)
    assert str(dead.told) == "The line is live: 230 V. Dead until 00:01:00."


def test_it_was_dead_once_the_cable_is_connected(plain):
    course = Course(plain)
    for key in ("house_end", "source_end"):
        course.toggle(key, at(course, plain, 50))
    dead = at(course, plain, 100).of("dead")
    assert (dead.state, str(dead.told)) == ("done", "Dead until 00:01:00.")


def test_one_end_that_is_connected_isnt_enough(plain):
    course = Course(plain)
    course.toggle("house_end", at(course, plain, 50))
    assert at(course, plain, 100).of("dead").alarm
    assert at(course, plain, 100).of("source_end").alarm


# Clocks


def test_a_clock_runs_while_the_set_warms_up(plain):
    course = Course(plain)
    for second in (71, 100, 179):
        assert at(course, plain, second).of("warm").state == "open"
    assert str(at(course, plain, 120).of("warm").told) == (
        "50.5 Hz, 230 V. The readings show 60 s of about 2 min (common practice); the maker's time comes first."
    )
    assert at(course, plain, 180).of("warm").state == "done"


def test_a_person_may_go_before_the_readings_which_is_kept_and_told():
    told = reviewed(columns(load=150, stop=560))
    course = Course(told)
    for key in ("house_end", "source_end"):
        course.toggle(key, at(course, told, 40))
    for key, second, shown, following in (
        ("warm", 90, "The readings showed 30 s of about 2 min then.", "transfer"),
        ("target", 300, "The readings showed the battery at 50 % then, target 60 %.", "loads_off"),
        ("cool", 504, "The readings showed 4 s of about 2 min without load then.", "stop"),
    ):
        course.toggle(key, at(course, told, second))
        standing = at(course, told, second + 1)
        assert standing.next.step.key == following
        ticked = standing.of(key)
        assert (ticked.state, ticked.done, str(ticked.told)) == ("overruled", True, shown)
        assert not standing.alarms
    end = at(course, told, 700)
    assert [end.of(key).state for key in ("warm", "target", "cool")] == ["overruled", "done", "overruled"]
    lines = [line.text for line in lines_of(end, lambda instant: f"{(instant - START) // 10**9}")]
    assert (
        "Ticked against the readings at 504. The readings showed 4 s of about 2 min without load then."
        in lines
    )
    assert "[x] 25. Let the generator run on without load for some minutes, as its maker says." in lines


def test_who_waited_for_the_readings_overrules_nothing(plain):
    course = Course(plain)
    course.toggle("warm", at(course, plain, 185))
    course.toggle("cool", at(course, plain, 630))
    assert [at(course, plain, 700).of(key).state for key in ("warm", "cool")] == ["done", "done"]


def test_nobody_cools_a_set_under_load(plain):
    course = Course(plain)
    course.toggle("cool", at(course, plain, 300))
    assert at(course, plain, 310).of("cool").state == "contradicted"


def test_load_before_the_usual_time_is_told_without_reproach():
    told = reviewed(columns(load=100))
    standing = at(Course(told), told, 300)
    warm = standing.of("warm")
    assert warm.state == "not seen"
    assert str(warm.told).startswith("The generator took load 40 s after it started. About 2 min are usual")
    assert not any(each.slipped for each in standing.steps)


def test_out_of_band_there_is_nothing_to_tick():
    rows = columns()
    rows["generator_frequency"][60:200] = 44
    told = reviewed(rows)
    warm = at(Course(told), told, 190).of("warm")
    assert (warm.state, str(warm.told)) == ("not now", "44.0 Hz, 230 V: out of band.")


def test_how_long_it_has_run_without_load_is_told_meanwhile(plain):
    cool = at(Course(plain), plain, 560).of("cool")
    assert (cool.state, str(cool.told)) == (
        "open",
        "The readings show 60 s of about 2 min without load (common practice); the maker's time comes first.",
    )


def test_a_duty_goes_on_as_long_as_there_is_load(plain):
    course = Course(plain)
    assert at(course, plain, 199).of("within").state == "open"
    assert {at(course, plain, 201).of(key).state for key in ("within", "look")} == {"lasting"}
    assert [each.step.key for each in at(course, plain, 450).duties] == ["within", "look"]
    assert at(course, plain, 520).of("within").state == "done"


# The end of a run


def test_a_stop_under_load():
    told = reviewed(columns(relief=640))
    standing = at(Course(told), told, 660)
    assert standing.of("cool").state == standing.of("unload").state == "not met"
    assert standing.of("cool").slip


def test_a_short_run_without_load_is_told():
    told = reviewed(columns(relief=615))
    standing = at(Course(told), told, 660)
    cool = standing.of("cool")
    assert (cool.state, cool.slip) == ("not met", True)
    assert str(cool.told).startswith("The generator ran on without load for 25 s only. About 2 min are usual")
    assert not standing.alarms


def test_load_that_comes_back_takes_unloading_back():
    rows = columns()
    for name in ("generator_power", "converter_ac_power", "battery_power"):
        rows[name][510:520] = rows[name][499]
    told = reviewed(rows)
    course = Course(told)
    assert at(course, told, 505).of("unload").state == "done"
    assert at(course, told, 515).of("unload").state == "open"
    assert done_at(at(course, told, 759), "unload") == 520


def test_a_stop_that_nobody_saw_is_not_called_one_under_load():
    rows = columns(relief=640)
    recording = recorded({name: np.delete(column, slice(590, 660)) for name, column in rows.items()})
    stamps = np.delete(START + np.arange(760) * SECOND, slice(590, 660))
    told = review(
        type(recording).from_columns(stamps, {n: recording.column(n) for n in recording.channels}), SITE
    )
    standing = at(Course(told), told, 670)
    assert standing.of("cool").state == "can't tell"
    assert standing.of("unload").state == "can't tell"
    assert standing.of("stop").state == "done"


def test_rows_that_are_far_apart_accuse_nobody():
    rows = {name: column[::60] for name, column in columns(relief=600, stop=600, rows=1200).items()}
    told = reviewed(rows, step_s=60)
    standing = at(Course(told), told, 1100)
    assert standing.of("cool").state == "can't tell"
    assert not standing.alarms


# Charges one after another


def test_a_second_start_begins_another_charge_with_what_was_seen_since_the_stop():
    told = reviewed(together(columns(), columns()))
    course = Course(told)
    course.toggle("outdoors", at(course, told, 10))
    first, second = at(course, told, 800), at(course, told, 880)
    assert done_at(first, "stop") == 640
    assert first.of("outdoors").state == "ticked"
    assert not second.of("outdoors").done
    assert done_at(second, "start") == 820
    assert second.of("stop").state == "open"
    assert str(second.of("dead").told).endswith("Dead until 00:13:40.")


def test_what_is_prepared_after_a_stop_belongs_to_the_next_charge():
    told = reviewed(together(columns(), columns()))
    course = Course(told)
    course.toggle("outdoors", at(course, told, 700))
    course.toggle("part_source", at(course, told, 705))
    second = at(course, told, 900)
    assert second.of("outdoors").state == "ticked"
    assert not second.of("part_source").done
    course.toggle("outdoors", second)
    assert not at(course, told, 901).of("outdoors").done


def test_a_charge_doesnt_end_by_itself():
    idle = columns(start=10_000, stop=10_000, rows=3000)
    told = reviewed(together(columns(relief=640), idle))
    course = Course(told)
    course.toggle("outdoors", at(course, told, 10))
    late = at(course, told, 3700)
    assert late.of("outdoors").state == "ticked"
    assert late.of("unload").state == "not met"
    course.toggle("refuel", late)
    refuelled = at(course, told, 3701).of("refuel")
    assert (refuelled.state, refuelled.early) == ("ticked", None)


def test_a_set_that_is_started_twice_before_it_carries_load_is_in_one_charge():
    rows = columns()
    for name in ("generator_voltage", "generator_frequency"):
        rows[name][70:80] = 0
    told = reviewed(rows)
    course = Course(told)
    for key in ("outdoors", "house_end", "source_end"):
        course.toggle(key, at(course, told, 20))
    standing = at(course, told, 150)
    assert standing.of("outdoors").state == "ticked"
    assert done_at(standing, "start") == 80
    assert not standing.alarms


def test_a_person_begins_anew_and_takes_it_back(plain):
    course = Course(plain)
    course.toggle("outdoors", at(course, plain, 20))
    course.toggle("part_source", at(course, plain, 680))
    before = at(course, plain, 690)
    course.begin_anew(before)
    anew = at(course, plain, 690)
    assert not anew.of("outdoors").done
    assert not anew.of("part_source").done
    assert anew.of("cool").state == "open"
    assert done_at(anew, "dead") == 690
    assert at(course, plain, 680).of("cool").state == "done"
    course.take_back(anew)
    assert at(course, plain, 690) == before


def test_what_was_said_last_is_taken_back_first(plain):
    course = Course(plain)
    for key in ("outdoors", "alarms"):
        course.toggle(key, at(course, plain, 20))
    assert course.last_said(at(course, plain, 30)) == "alarms"
    course.take_back(at(course, plain, 30))
    assert not at(course, plain, 30).of("alarms").done
    course.take_back(at(course, plain, 30))
    assert course.last_said(at(course, plain, 30)) is None


def test_who_begins_anew_under_load_isnt_told_of_a_wrong_order(plain):
    course = Course(plain)
    course.begin_anew(at(course, plain, 300))
    standing = at(course, plain, 400)
    assert standing.of("warm").state == "can't tell"
    assert not standing.alarms
    assert not any(each.slipped for each in standing.steps)


# Missing channels


def without(*names: str) -> dict[str, np.ndarray]:
    return {name: column for name, column in columns().items() if name not in names}


def test_without_terminals_a_person_ticks_what_they_would_tell():
    told = reviewed(without("generator_voltage", "generator_frequency"))
    course = Course(told)
    before, after = at(course, told, 50), at(course, told, 759)
    assert {before.of(key).state for key in ("dead", "start", "warm", "cool", "stop")} == {"can't tell"}
    assert {after.of(key).state for key in ("unload", "cool", "stop")} == {"can't tell"}
    assert not after.alarms
    course.toggle("dead", before)
    assert at(course, told, 51).of("dead").state == "ticked"
    assert done_at(after, "carried") == 200


def test_without_terminals_who_says_that_it_was_started_connects_nothing_any_more():
    told = reviewed(without("generator_voltage", "generator_frequency"))
    course = Course(told)
    course.toggle("start", at(course, told, 60))
    standing = at(course, told, 70)
    assert standing.next.step.key == "warm"
    assert str(standing.of("source_end").told).startswith("The generator was started: the line may be live.")


def test_without_terminals_load_that_comes_back_is_the_same_charge():
    rows = without("generator_voltage", "generator_frequency")
    for name in ("generator_power", "converter_ac_power"):
        rows[name] = rows[name].copy()
        rows[name][300:320] = rows[name][10]
    told = reviewed(rows)
    course = Course(told)
    course.toggle("outdoors", at(course, told, 10))
    assert at(course, told, 400).of("outdoors").state == "ticked"


def test_without_settings_a_person_ticks_them():
    told = reviewed(without("input_limit", "charger_enabled", "battery_temperature"))
    course = Course(told)
    keys = ("limit", "charger", "battery")
    assert {at(course, told, 5).of(key).state for key in keys} == {"can't tell"}
    for key in keys:
        course.toggle(key, at(course, told, 10))
    assert {at(course, told, 300).of(key).state for key in keys} == {"ticked"}
    assert not at(course, told, 300).alarms


def test_a_limit_of_an_unknown_set_cant_be_judged():
    told = reviewed(columns(), site=Site())
    assert at(Course(told), told, 5).of("limit").state == "can't tell"


def test_voltage_alone_tells_a_set_at_rest():
    told = reviewed(without("generator_frequency"))
    assert [done_at(at(Course(told), told, 759), key) for key in ("dead", "start", "warm", "cool", "stop")] == [
        0, 60, 180, 620, 640,
    ]  # fmt: skip


def test_in_a_gap_nothing_is_called_dead_or_live():
    rows = columns(start=-1, load=1000, relief=1000, stop=1000, rows=600)
    rows = {name: np.delete(column, slice(100, 400)) for name, column in rows.items()}
    stamps = np.delete(START + np.arange(600) * SECOND, slice(100, 400))
    told = review(type(recorded(rows)).from_columns(stamps, rows), SITE)
    course = Course(told)
    assert at(course, told, 50).of("dead").state == "not met"
    gap = at(course, told, 300)
    assert gap.of("dead").state == "can't tell"
    assert not gap.alarms
    assert str(gap.shown) == "There are no readings for this time."


def test_a_copy_of_progress_is_independent(plain):
    follower = Follower(plain)
    early = follower.at(50).copy()
    kept = copy.deepcopy(early.charge)
    follower.at(759)
    assert early.charge == kept
