"""Why a limit is advised: what adds to it, and what a higher one would bring, with numbers that add up."""

import re
from dataclasses import replace
from functools import cache

import pytest

from desktop.charging.advice.against import against
from desktop.opening import demos, open_recording
from desktop.review import Review, review
from desktop.review.advice import advice_phrases
from desktop.review.advised import limit_set
from desktop.review.why_limit import why_limit


@cache
def reviewed(name: str) -> Review:
    return review(*open_recording(next(each.path for each in demos() if each.path.stem == name)))


def numbers(text: str, unit: str) -> list[float]:
    return [float(each) for each in re.findall(rf"(\d+(?:\.\d+)?) {unit}", text)]


def test_what_adds_to_the_limit_and_the_limit_sum_to_the_highest_load():
    found = reviewed("limit-too-high")
    why = why_limit(found.limit_advice, limit_set(found))
    assert why is not None
    full, more, most, *_ = numbers(str(why.because), "A")
    assert why.limit_a + more == pytest.approx(most, abs=0.051)
    best = found.limit_advice.best
    assert best is not None
    assert most / full == pytest.approx(best.peak, abs=0.002)
    assert f"{100 * best.peak:.0f} % of what it can carry" in str(why.because)


def test_the_next_that_would_have_tripped_is_named_with_its_chance():
    found = reviewed("limit-too-high")
    advice = found.limit_advice
    why = why_limit(advice, limit_set(found))
    assert why is not None
    tripped = next(each for each in advice.settings if each.trips and each.limit_a > why.limit_a)
    assert f"At {tripped.limit_a:.1f} A it would be {100 * tripped.peak:.0f} %" in str(why.because)
    assert f"up to {100 * tripped.chance:.0f} %" in str(why.because)


def test_a_limit_that_stands_well_says_what_a_higher_one_would_save():
    found = reviewed("grid-failure")
    now = limit_set(found)
    why = why_limit(found.limit_advice, now)
    told = against(found.limit_advice, now)
    assert why is not None
    assert told is not None
    assert told.stands_well
    assert why.limit_a == told.advised.limit_a
    assert re.search(r"A higher limit would save \d+ min at most\.", str(why.because))


def test_nothing_is_reasoned_where_no_limit_is_advised():
    found = reviewed("ac-coupled-solar")
    assert why_limit(found.limit_advice, limit_set(found)) is None
    assert not [one for one in advice_phrases(found.limit_advice, limit_set(found)) if "Why" in str(one)]


def test_a_small_chance_is_told_where_enough_was_recorded():
    advice = reviewed("grid-failure").limit_advice
    sure = tuple(replace(each, chance=0.05) for each in advice.settings)
    best = next(each for each in sure if advice.best is not None and each.limit_a == advice.best.limit_a)
    why = why_limit(replace(advice, settings=sure, best=best), None)
    assert why is not None
    assert str(why.left) == "The chance of a trip in a run is below 5 %."
    never = why_limit(replace(advice, best=replace(best, chance=0.0)), None)
    assert never is not None
    assert "below 1 %" in str(never.left)
