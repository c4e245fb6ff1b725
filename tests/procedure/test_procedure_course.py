"""How steps stand: contradictions, order, missing channels, jumps, charges one after another."""

import copy
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from procedure_charges import SECOND, SITE, START, at, columns, done_at, recorded, reviewed, states

from desktop.diagnosis.plant import Plant
from desktop.procedure.course import Course, headline, said
from desktop.procedure.follower import Follower
from desktop.procedure.progress import REST_S, Progress
from desktop.procedure.signs import signs_of
from desktop.review import review
from desktop.review.growing import GrowingReview
from desktop.site import Site


def together(*charges: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    return {name: np.concatenate([one[name] for one in charges]) for name in charges[0]}


@pytest.fixture(scope="module")
def plain():
    return reviewed(columns())


@pytest.fixture(scope="module")
def tripped():
    return reviewed(columns(relief=500))


def test_every_step_that_readings_tell_is_ticked_when_it_comes(plain):
    standing = at(Course(plain), plain, 599)
    assert {key: done_at(standing, key) for key, state in states(standing).items() if state == "done"} == {
        "limit": 0, "charger": 0, "battery": 0, "dead": 0, "start": 60, "warm": 70, "close": 100, "seen": 100,
        "carried": 100, "charging": 100, "within": 100, "target": 350, "unload": 400, "cool": 460, "stop": 500,
    }  # fmt: skip
    assert not standing.wrong


def test_nothing_is_ticked_ahead_of_the_cursor(plain):
    course = Course(plain)
    at(course, plain, 599)
    before = at(course, plain, 65)
    assert {key for key, state in states(before).items() if state == "done"} == {
        "limit", "charger", "battery", "dead", "start",
    }  # fmt: skip
    assert str(before.of("warm").told) == "50.5 Hz, 230 V"
    assert at(course, plain, 59).of("start").state == "open"


@settings(deadline=None, max_examples=25)
@given(st.lists(st.integers(0, 599), min_size=1, max_size=12))
def test_it_doesnt_matter_which_way_the_cursor_came(plain, seconds):
    course = Course(plain)
    for second in seconds:
        standing = at(course, plain, second)
    assert standing == at(Course(plain), plain, seconds[-1])


@settings(deadline=None, max_examples=25)
@given(st.sets(st.integers(1, 1499), max_size=20), st.integers(0, 2**16))
def test_it_doesnt_matter_how_rows_were_cut(cuts, seed):
    random = np.random.default_rng(seed)
    rows = together(columns(), columns(start=5, load=11, relief=300, stop=305), columns())
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
    for row in (1100, 3, 640, 639, 64, 63, 1199, 500):
        straight = Follower(told).at(row)
        assert jumping.at(row).charge == straight.charge
        assert jumping.at(row).levels == straight.levels


def test_a_review_that_grows_says_the_same_as_one_made_at_once():
    rows = columns()
    first = {name: column[:30] for name, column in rows.items()}
    growing = GrowingReview(recorded(first), SITE)
    course = Course(growing)
    for start in range(30, 600, 57):
        part = {name: column[start : start + 57] for name, column in rows.items()}
        stamps = START + np.arange(start, start + len(part["load_power"])) * SECOND
        growing.extend(stamps, part)
        standing = course.at(growing.moment(int(stamps[-1])))
        whole = reviewed({name: column[: len(growing)] for name, column in rows.items()})
        assert states(standing) == states(Course(whole).at(whole.moment(int(stamps[-1]))))
    growing.close()
    assert done_at(standing, "cool") == 460


def test_ticks_count_from_their_time_on(plain):
    course = Course(plain)
    course.toggle("outdoors", at(course, plain, 30))
    assert at(course, plain, 29).of("outdoors").state == "open"
    assert at(course, plain, 31).of("outdoors").state == "ticked"
    assert done_at(at(course, plain, 599), "outdoors") == 30
    course.toggle("outdoors", at(course, plain, 40))
    assert at(course, plain, 599).of("outdoors").state == "open"


# What readings say against a person


def test_connecting_a_live_line_is_contradicted_before_and_after_the_tick(plain):
    course = Course(plain)
    warned = at(course, plain, 65)
    assert warned.of("house_end").state == "contradicted"
    assert str(headline(warned)) == (
        "Connect the cable at the generator last. The line is live: 230 V. If the cable isn't connected yet, "
        "stop the set first."
    )
    course.toggle("house_end", warned)
    ticked = at(course, plain, 200).of("house_end")
    assert ticked.state == "contradicted"
    assert str(ticked.told) == "The line was live when this was ticked at 00:01:05."


def test_connecting_a_dead_line_stays_ticked_while_it_is_live_later(plain):
    course = Course(plain)
    for key in ("house_end", "source_end"):
        course.toggle(key, at(course, plain, 50))
    for second in (65, 200, 450, 599):
        assert at(course, plain, second).of("source_end").state == "ticked"


def test_a_dead_line_that_was_ticked_is_contradicted_by_a_live_one():
    told = reviewed(columns(start=-1))
    course = Course(told)
    course.toggle("dead", at(course, told, 10))
    assert at(course, told, 11).of("dead").state == "contradicted"


def test_parting_and_refuelling_a_running_set_are_contradicted(plain):
    course = Course(plain)
    assert str(at(course, plain, 450).of("part_source").told).startswith(
        "The line is live: 230 V. Disconnect nothing"
    )
    for key in ("part_source", "refuel"):
        course.toggle(key, at(course, plain, 450))
    late = at(course, plain, 599)
    assert late.of("part_source").state == "contradicted"
    assert str(late.of("refuel").told) == "The set ran when this was ticked at 00:07:30."


def test_what_is_ticked_and_not_shown_is_contradicted_until_it_shows(plain):
    course = Course(plain)
    course.toggle("start", at(course, plain, 50))
    assert str(at(course, plain, 55).of("start").told) == "It was ticked, and the readings don't show it."
    assert at(course, plain, 55).of("start").state == "contradicted"
    assert at(course, plain, 61).of("start").state == "done"


def test_a_charger_that_is_off_is_open_before_and_contradicted_under_load():
    rows = columns()
    rows["charger_enabled"][:] = 0
    told = reviewed(rows)
    course = Course(told)
    assert at(course, told, 50).of("charger").state == "open"
    assert at(course, told, 150).of("charger").state == "contradicted"


def test_a_frozen_lithium_battery_is_contradicted():
    rows = columns()
    rows["battery_temperature"][:] = -4
    told = reviewed(rows)
    battery = at(Course(told), told, 50).of("battery")
    assert battery.state == "contradicted"
    assert str(battery.told) == "−4 °C: it must not be charged at that."


def test_altitude_counts_in_what_the_set_can_carry():
    high = SITE.model_copy(update={"generator": SITE.generator.model_copy(update={"altitude_m": 3000.0})})
    rows = columns()
    rows["input_limit"][:] = 25
    low_land, mountain = reviewed(rows), reviewed(rows, site=high)
    assert at(Course(low_land), low_land, 5).of("limit").state == "done"
    assert at(Course(mountain), mountain, 5).of("limit").state == "contradicted"


# The end of a run


def test_a_stop_under_load(tripped):
    standing = at(Course(tripped), tripped, 520)
    assert standing.of("cool").state == standing.of("unload").state == "contradicted"
    assert str(headline(standing)).endswith("It stopped under load.")


def test_a_short_run_without_load_is_told():
    told = reviewed(columns(relief=475))
    cool = at(Course(told), told, 520).of("cool")
    assert cool.state == "contradicted"
    assert str(cool.told) == "It ran on without load for 25 s only."


def test_how_long_it_has_run_without_load_is_told_meanwhile(plain):
    cool = at(Course(plain), plain, 440).of("cool")
    assert (cool.state, str(cool.told)) == ("open", "Without load for 40 s.")


def test_load_that_comes_back_takes_unloading_back(plain):
    rows = columns()
    for name in ("generator_power", "converter_ac_power", "battery_power"):
        rows[name][430:440] = rows[name][399]
    told = reviewed(rows)
    course = Course(told)
    assert at(course, told, 420).of("unload").state == "done"
    assert at(course, told, 435).of("unload").state == "open"
    assert done_at(at(course, told, 599), "unload") == 440


def test_a_stop_that_nobody_saw_is_not_called_one_under_load():
    rows = columns(relief=500)
    recording = recorded({name: np.delete(column, slice(450, 520)) for name, column in rows.items()})
    stamps = np.delete(START + np.arange(600) * SECOND, slice(450, 520))
    told = review(
        type(recording).from_columns(stamps, {n: recording.column(n) for n in recording.channels}), SITE
    )
    standing = at(Course(told), told, 530)
    assert standing.of("cool").state == "can't tell"
    assert standing.of("unload").state == "can't tell"
    assert standing.of("stop").state == "done"


def test_rows_that_are_far_apart_accuse_nobody():
    rows = {name: column[::60] for name, column in columns(relief=480, stop=480, rows=1200).items()}
    told = reviewed(rows, step_s=60)
    standing = at(Course(told), told, 1100)
    assert standing.of("cool").state == "can't tell"
    assert not standing.wrong


# Order


def test_load_before_the_set_is_in_band_is_told():
    rows = columns(load=64)
    rows["generator_frequency"][60:80] = 44
    told = reviewed(rows)
    standing = at(Course(told), told, 200)
    assert standing.of("warm").state == "contradicted"
    assert standing.of("close").early is standing.of("warm").step


def test_load_right_after_the_start_is_out_of_order():
    told = reviewed(columns(load=63))
    standing = at(Course(told), told, 200)
    assert standing.of("close").early is standing.of("warm").step


def test_the_source_before_the_house_end_is_out_of_order(plain):
    course = Course(plain)
    course.toggle("source_end", at(course, plain, 20))
    early = at(course, plain, 30)
    assert early.of("source_end").early is early.of("house_end").step
    assert str(said(early.of("source_end"))).startswith(
        "Out of order. Before it comes: Connect the cable at the house"
    )
    course.toggle("house_end", at(course, plain, 40))
    assert at(course, plain, 45).of("source_end").early is not None


def test_where_nobody_ticks_nobody_is_told_of_steps_that_only_a_person_can_tick(plain):
    assert all(each.early is None for each in at(Course(plain), plain, 300).steps)
    course = Course(plain)
    course.toggle("outdoors", at(course, plain, 10))
    start = at(course, plain, 300).of("start")
    assert start.early is not None
    assert start.early.key == "alarms"


# Charges one after another


def test_a_second_start_begins_another_charge_with_what_was_seen_since_the_stop():
    told = reviewed(together(columns(), columns()))
    course = Course(told)
    course.toggle("outdoors", at(course, told, 10))
    first, second = at(course, told, 640), at(course, told, 720)
    assert done_at(first, "stop") == 500
    assert first.of("outdoors").state == "ticked"
    assert second.of("outdoors").state == "open"
    assert (done_at(second, "dead"), done_at(second, "start"), done_at(second, "close")) == (500, 660, 700)
    assert second.of("stop").state == "open"


def test_some_time_after_a_stop_the_next_charge_is_prepared():
    idle = columns(start=10_000, stop=10_000, rows=1500)
    told = reviewed(together(columns(), idle))
    course = Course(told)
    assert at(course, told, 500 + REST_S - 1).of("stop").state == "done"
    prepared = at(course, told, 500 + REST_S)
    assert prepared.of("stop").state == "open"
    assert done_at(prepared, "dead") == 500
    assert prepared.next is not None
    assert prepared.next.step.key == "house_end"


def test_a_person_begins_anew(plain):
    course = Course(plain)
    course.toggle("outdoors", at(course, plain, 520))
    course.begin_anew(at(course, plain, 520))
    anew = at(course, plain, 530)
    assert anew.of("outdoors").state == "open"
    assert anew.of("cool").state == "open"
    assert done_at(anew, "dead") == 520
    assert at(course, plain, 510).of("cool").state == "done"


def test_who_begins_anew_under_load_isnt_told_of_a_wrong_order(plain):
    course = Course(plain)
    course.begin_anew(at(course, plain, 200))
    standing = at(course, plain, 300)
    assert standing.of("warm").state == "can't tell"
    assert not standing.wrong


# Missing channels


def without(*names: str) -> dict[str, np.ndarray]:
    return {name: column for name, column in columns().items() if name not in names}


def test_without_terminals_a_person_ticks_what_they_would_tell():
    told = reviewed(without("generator_voltage", "generator_frequency"))
    course = Course(told)
    before, after = at(course, told, 50), at(course, told, 599)
    assert {before.of(key).state for key in ("dead", "warm", "cool", "stop")} == {"can't tell"}
    assert {after.of(key).state for key in ("unload", "cool", "stop")} == {"can't tell"}
    assert not after.wrong
    course.toggle("dead", before)
    assert at(course, told, 51).of("dead").state == "ticked"
    assert done_at(after, "carried") == 100


def test_without_settings_a_person_ticks_them():
    told = reviewed(without("input_limit", "charger_enabled", "battery_temperature"))
    course = Course(told)
    keys = ("limit", "charger", "battery")
    assert {at(course, told, 5).of(key).state for key in keys} == {"can't tell"}
    for key in keys:
        course.toggle(key, at(course, told, 10))
    assert {at(course, told, 300).of(key).state for key in keys} == {"ticked"}
    assert not [each for each in at(course, told, 300).wrong if each.step.key in keys]


def test_a_limit_of_an_unknown_set_cant_be_judged():
    told = reviewed(columns(), site=Site())
    assert at(Course(told), told, 5).of("limit").state == "can't tell"


def test_voltage_alone_tells_a_set_at_rest(plain):
    told = reviewed(without("generator_frequency"))
    assert [done_at(at(Course(told), told, 599), key) for key in ("dead", "start", "warm", "cool", "stop")] == [
        0, 60, 70, 460, 500,
    ]  # fmt: skip


def test_in_a_gap_nothing_is_called_dead_or_live():
    rows = columns(start=-1, load=1000, relief=1000, stop=1000)
    rows = {name: np.delete(column, slice(100, 400)) for name, column in rows.items()}
    stamps = np.delete(START + np.arange(600) * SECOND, slice(100, 400))
    told = review(type(recorded(rows)).from_columns(stamps, rows), SITE)
    course = Course(told)
    assert at(course, told, 50).of("dead").state == "contradicted"
    assert at(course, told, 300).of("dead").state == "can't tell"
    assert at(course, told, 300).of("house_end").state == "open"


def test_a_copy_of_progress_is_independent(plain):
    follower = Follower(plain)
    early = follower.at(50).copy()
    kept = copy.deepcopy(early.charge)
    follower.at(599)
    assert early.charge == kept
