"""The procedure as it is written: its order, its words, its cautions."""

from desktop.procedure.course import Course
from desktop.procedure.plants import PlantTicks
from desktop.procedure.step import PHASES
from desktop.procedure.steps import ALWAYS, BY_KEY, NUMBER, STEPS, numbered


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
    assert "energises" in str(BY_KEY["close"].caution)
    assert "plug that is pulled under load" in str(BY_KEY["unload"].caution)
    assert "touch neither plug nor cable" in str(BY_KEY["warm"].caution)
    assert "Local codes" in str(ALWAYS)
    assert "not a protective device" in str(ALWAYS)
    assert "never on live parts" in str(ALWAYS)


def test_words_are_short_and_whole():
    for step in STEPS:
        for text in filter(None, (str(step.text), str(step.why), str(step.caution))):
            assert text[0].isupper()
            assert text.endswith(".")
            assert len(text) < 180


def test_the_load_is_taken_off_where_that_can_be_done():
    text = str(BY_KEY["unload"].text)
    assert "AC input of the inverter-charger" in text
    assert "its input" not in text


def test_no_step_speaks_of_it_before_it_has_said_what():
    for step in STEPS:
        words = str(step.text).rstrip(".").lower().replace(",", " ").split()
        if "it" in words:
            assert any(noun in words[: words.index("it")] for noun in ("generator", "battery")), step.key


def test_steps_are_numbered_from_one():
    assert NUMBER[STEPS[0].key] == 1
    assert numbered(["outdoors", "alarms", "fuel", "loads", "breaker"]) == "1–3, 8, 9"
    assert numbered([]) == ""


def test_ticks_made_with_nothing_open_go_to_the_plant_that_is_watched_then():
    kept = PlantTicks()
    kept.alone.tick("fuel", 5)
    assert not kept.of("a file", live=False)
    assert kept.of("a plant", live=True).of("fuel", 0, 9).done == 5
    assert not kept.alone
    assert not kept.of("another plant", live=True)
    assert kept.of("a plant", live=True).of("fuel", 0, 9).done == 5


def test_who_says_that_it_was_started_is_sent_to_no_cable():
    course = Course()
    for number, key in enumerate(("outdoors", "start"), start=1):
        course.toggle(key, course.alone(number))
    standing = course.alone(9)
    assert standing.next.step.key == "warm"
    assert str(standing.of("house_end").told).startswith("The generator was started: the line may be live.")
    assert "alarms" in [each.step.key for each in standing.unseen]


def test_without_readings_a_person_ticks_everything():
    course = Course()
    for number, step in enumerate(STEPS, start=1):
        standing = course.alone(number)
        assert standing.next is not None
        assert standing.next.step.key == step.key
        course.toggle(step.key, standing)
    standing = course.alone(1000)
    assert standing.over
    assert not any(each.slipped for each in standing.steps)
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
