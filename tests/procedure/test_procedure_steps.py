"""The procedure as it is written: its order, its words, its cautions."""

from desktop.procedure.course import Course
from desktop.procedure.step import PHASES
from desktop.procedure.steps import ALWAYS, BY_KEY, STEPS


def test_phases_follow_one_another():
    seen = list(dict.fromkeys(step.phase for step in STEPS))
    assert seen == list(PHASES)
    order = [list(PHASES).index(step.phase) for step in STEPS]
    assert order == sorted(order)


def test_what_comes_first_stands_before():
    places = {step.key: place for place, step in enumerate(STEPS)}
    assert len(BY_KEY) == len(STEPS)
    for step in STEPS:
        assert all(places[key] < places[step.key] for key in step.after)


def test_the_house_end_is_connected_dead_and_the_source_last_and_parted_the_other_way_round():
    places = {step.key: place for place, step in enumerate(STEPS)}
    # Common practice, no source: dead first, the load's end before the source's, energised last.
    order = ["dead", "house_end", "source_end", "start", "warm", "transfer", "close", "carried", "unload", "cool",
             "stop", "part_source", "part_house"]  # fmt: skip
    assert [places[key] for key in order] == sorted(places[key] for key in order)


def test_cautions_stand_at_the_steps_where_something_can_hurt():
    assert "25 ft" in str(BY_KEY["outdoors"].caution)
    assert "qualified electrician" in str(BY_KEY["interlock"].caution)
    assert "Never feed a house through an outlet" in str(BY_KEY["interlock"].caution)
    assert "no proof" in str(BY_KEY["dead"].caution)
    assert "hydrogen" in str(BY_KEY["battery"].caution)
    assert "two plugs" in str(BY_KEY["house_end"].caution)
    assert "fire" in str(BY_KEY["fuel"].caution)
    assert "Local codes" in str(ALWAYS)
    assert "not a protective device" in str(ALWAYS)
    assert "never on live parts" in str(ALWAYS)


def test_words_are_short_and_whole():
    for step in STEPS:
        for text in filter(None, (str(step.text), str(step.why), str(step.caution))):
            assert text[0].isupper()
            assert text.endswith(".")
            assert len(text) < 180


def test_without_readings_a_person_ticks_everything():
    course = Course()
    for number, step in enumerate(STEPS, start=1):
        standing = course.alone(number)
        assert standing.next is not None
        assert standing.next.step.key == step.key
        course.toggle(step.key, standing)
    standing = course.alone(1000)
    assert standing.next is None
    assert not standing.wrong
    assert {each.state for each in standing.steps} == {"ticked"}


def test_a_tick_is_taken_back_by_the_same_key():
    course = Course()
    course.toggle("fuel", course.alone(5))
    assert course.alone(7).of("fuel").at == 5
    course.toggle("fuel", course.alone(9))
    assert course.alone(10).of("fuel").state == "open"


def test_wrong_order_is_told_without_readings_too():
    course = Course()
    course.toggle("source_end", course.alone(5))
    early = course.alone(6).of("source_end").early
    assert early is not None
    assert early.key == "dead"
