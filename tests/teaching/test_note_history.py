"""Steps taken back and done again."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from desktop.teaching.history import MOST_STEPS, History, typing_key


def test_changes_with_one_key_are_one_step():
    history = History("")
    for text, key in (("a", "k"), ("ab", "k"), ("ab c", None), ("ab cd", "k")):
        history.record(text, key)
    seen = []
    while history.undo():
        seen.append(history.now)
    assert seen == ["ab c", "ab", ""]
    assert not history.can_undo
    assert history.redo()
    assert history.now == "ab"


def test_what_is_as_before_is_no_step():
    history = History(1)
    history.record(1)
    assert not history.can_undo


def test_what_is_done_after_undoing_takes_the_place_of_what_was_undone():
    history = History(1)
    history.record(2)
    history.undo()
    history.record(3)
    assert not history.redo()
    assert history.undo()
    assert history.now == 1


@given(st.lists(st.integers(0, 3), max_size=MOST_STEPS + 50))
def test_all_that_was_undone_can_be_done_again(states):
    history = History(0)
    for state in states:
        history.record(state)
    end = history.now
    count = 0
    while history.undo():
        count += 1
    assert count <= MOST_STEPS
    for _ in range(count):
        assert history.redo()
    assert history.now == end


def test_a_word_that_is_typed_has_one_key():
    def keys(*texts):
        return [typing_key({"text": old}, {"text": new}) for old, new in pairwise(texts)]

    first, second = keys("", "a", "ab")
    assert first == second != (None,)
    beginning, going = keys("ab", "ab c", "ab cd")
    assert beginning == going != first
    removed, again = keys("abc", "ab", "a")
    assert removed == again != first
    assert keys("", "pasted words") == [None]


def test_fields_within_fields_have_keys_of_their_own():
    one = {"question": {"ask": "x", "choices": ["a", "b"]}}
    ask = typing_key(one, {"question": {"ask": "xy", "choices": ["a", "b"]}})
    choice = typing_key(one, {"question": {"ask": "x", "choices": ["a", "bc"]}})
    assert None not in (ask, choice)
    assert ask != choice
    assert typing_key(one, {}) is None
    assert typing_key(one, {"question": {"ask": "xy", "choices": ["a", "b", "c"]}}) is None
    assert typing_key({"at": 1}, {"at": 2}) is None
