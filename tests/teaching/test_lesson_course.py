"""The course of a lesson: what it waits for, what it hides, and what it counts."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desktop.teaching.course import Answer, LessonCourse, Score
from desktop.teaching.lesson import Asked, Note

CHOOSE = Asked("Which?", ("a", "b", "c"), (1,), "b.")
CLICK = Asked("Where?", (), ("battery", "dc"))

TOLD = Note(10, "Told.")
FIRST = Note(20, "First.", until=30, question=CHOOSE)
SECOND = Note(40, "Second.", question=CLICK)
LAST = Note(60, "Last.")


def at(*notes, phase="asking"):
    """A course that stands at its first note."""
    course = LessonCourse(notes)
    course.arrive()
    assert course.phase == phase
    return course


def test_it_runs_stops_asks_goes_on_and_explains():
    course = LessonCourse([TOLD, FIRST, SECOND, LAST])
    assert (course.phase, course.target, course.moment, course.hidden_after) == ("going", 10, None, 10)
    course.arrive()
    assert (course.phase, course.target, course.moment, course.hidden_after) == ("telling", None, 10, 10)
    course.go_on()
    assert (course.phase, course.target, course.moment, course.hidden_after) == ("going", 20, None, 20)
    course.arrive()
    assert (course.phase, course.target, course.moment, course.hidden_after) == ("asking", None, 20, 20)
    assert course.answer(1)
    assert (course.phase, course.target, course.moment, course.hidden_after) == ("showing", 30, None, 30)
    course.arrive()
    assert (course.phase, course.target, course.moment, course.hidden_after) == ("shown", None, 30, 30)
    course.go_on()
    course.arrive()
    assert course.answer("dc")
    assert (course.phase, course.target, course.hidden_after) == ("showing", 40, 40)
    course.arrive()
    assert (course.phase, course.moment, course.hidden_after) == ("shown", 40, None)
    course.go_on()
    course.arrive()
    assert course.last
    assert course.score == Score(2, 0, 2, 2)
    course.go_on()
    assert (course.phase, course.note, course.target, course.hidden_after) == ("over", None, None, None)


def test_it_begins_with_the_note_that_is_asked_for():
    course = LessonCourse([TOLD, FIRST, LAST], begin=2)
    assert (course.index, course.phase, course.target, course.hidden_after) == (2, "going", 60, None)


def test_a_note_between_questions_opens_nothing_that_comes_after_it():
    between = Note(30, "Between.")
    course = LessonCourse([TOLD, between, SECOND])
    course.arrive()
    assert course.hidden_after == 10
    course.go_on()
    assert course.hidden_after == 30


def test_a_question_waits_for_its_answer():
    course = at(FIRST, LAST)
    course.go_on()
    course.arrive()
    assert course.phase == "asking"
    assert course.score.asked == 0


@pytest.mark.parametrize(("given", "right"), [("battery", True), ("dc", True), ("load", False), (0, False)])
def test_any_of_the_right_parts_is_right(given, right):
    course = at(SECOND)
    assert course.answer(given) is right
    assert (course.phase == "showing") is right


def test_after_a_wrong_answer_there_is_one_more_try_which_is_counted_as_such():
    course = at(FIRST, SECOND, LAST)
    assert not course.answer(0)
    assert (course.phase, course.missed, course.hidden_after) == ("asking", (0,), 20)
    assert course.score.asked == 0
    assert not course.answer(0)
    assert course.missed == (0,)
    assert course.answer(1)
    assert course.answer_given == Answer(1, True, (0,))
    assert course.score == Score(0, 1, 1, 2)
    course.arrive()
    course.go_on()
    course.arrive()
    assert course.missed == ()
    assert not course.answer("load")
    assert not course.answer("generator")
    assert course.answer_given == Answer("generator", False, ("load",))
    assert course.score == Score(0, 1, 2, 2)


def test_of_two_answers_the_second_is_no_try():
    course = at(Note(20, "First.", question=Asked("Which?", ("a", "b"), (1,))))
    course.answer(0)
    assert (course.phase, course.answer_given) == ("showing", Answer(0, False))


def test_what_was_answered_is_not_asked_again():
    course = at(FIRST, LAST)
    course.answer(0)
    course.answer(2)
    assert not course.answer(1)
    course.arrive()
    course.go_on()
    course.back()
    course.arrive()
    assert course.phase == "shown"
    assert course.score == Score(0, 0, 1, 1)


@pytest.mark.parametrize("missed", [(), (2,)])
def test_a_question_that_is_passed_is_answered_wrongly_and_shown(missed):
    course = at(FIRST)
    for each in missed:
        course.answer(each)
    course.skip()
    assert (course.phase, course.answer_given, course.score) == (
        "showing",
        Answer(None, False, missed),
        Score(0, 0, 1, 1),
    )


def test_back_stops_at_the_first_note_and_leads_from_the_end_to_the_last():
    course = at(TOLD, LAST, phase="telling")
    course.back()
    assert course.index == 0
    assert course.first
    course.end()
    course.back()
    assert (course.index, course.phase) == (1, "going")


def test_a_lesson_without_notes_is_over():
    course = LessonCourse([])
    course.back()
    course.arrive()
    course.skip()
    assert (course.phase, course.note, course.first) == ("over", None, True)


def test_what_was_answered_is_hidden_no_more_but_what_is_still_asked_is():
    course = at(FIRST, SECOND)
    course.answer(1)
    course.arrive()
    course.go_on()
    assert course.hidden_after == 40
    course.back()
    assert (course.phase, course.target, course.hidden_after) == ("going", 20, 30)
    course.arrive()
    assert (course.phase, course.hidden_after) == ("shown", 30)


NOTES = st.lists(
    st.builds(
        lambda at, span, asked: Note(at, "x", at + span if span else None, question=asked),
        st.integers(0, 100),
        st.integers(0, 30),
        st.sampled_from([None, CHOOSE, CLICK]),
    ),
    max_size=6,
)
DEEDS = st.lists(st.sampled_from(["arrive", "go_on", "skip", "back", "answer", "click"]), max_size=40)


@given(NOTES, DEEDS)
def test_whatever_is_done_nothing_is_shown_before_it_was_asked(notes, deeds):
    course = LessonCourse(notes)
    seen = []
    for deed in deeds:
        if deed == "answer":
            course.answer(1)
        elif deed == "click":
            course.answer("battery")
        else:
            getattr(course, deed)()
        note, hidden = course.note, course.hidden_after
        if course.phase == "asking":
            assert note.question is not None
            assert hidden == note.at
            assert course.answer_given is None
        if course.target is not None and hidden is not None:
            assert course.target <= hidden
        if course.phase == "over":
            assert hidden is None
        seen.append(course.score)
    asked = [score.asked for score in seen]
    assert asked == sorted(asked)
    assert all(score.right + score.second <= score.asked <= score.total for score in seen)
