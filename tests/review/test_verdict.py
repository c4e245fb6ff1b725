"""What a recording comes to, in the first lines."""

from __future__ import annotations

from functools import cache

import pytest

from desktop.opening import demos, open_recording
from desktop.review import Review, review
from desktop.review.telling import most_telling, worst
from desktop.review.verdict import leading, tally, verdict


@cache
def reviewed(name: str) -> Review:
    return review(*open_recording(next(each.path for each in demos() if each.path.stem == name)))


TOLD = {
    "limit-too-high": (
        "Generator stopped under load at 17:24:18.",
        "The input limit is set too high",
        "set the input limit lower, to ",
    ),
    "load-step": ("Input current over the limit at 13:38:20.", "was switched on while the charger took"),
    "reversed-battery-meter": ("A meter seems to read wrong", "The battery meter reads with the wrong sign"),
    "unequal-legs": ("Legs unequal at 16:58:00.", "on leg 1"),
    "two-overcast-days": ("Battery low, 2 times, first at 19:04:40 on 2025-02-19.", "the sun gave"),
    "grid-failure": ("Nothing wrong was found.", "The grid gave nothing from 16:42 to 18:05."),
    "healthy-charge": ("Nothing wrong was found.", "the battery went from 27 % to 83 %"),
    "lead-acid-absorption": ("Nothing is wrong; one thing is worth a look.", "ran below"),
}


@pytest.mark.parametrize("name", TOLD)
def test_the_first_sentences_name_what_happened_and_why(name):
    told = str(verdict(reviewed(name)))
    for part in TOLD[name]:
        assert part in told


def test_every_finding_about_the_limit_names_the_one_that_is_advised():
    told = reviewed("limit-too-high")
    best = told.limit_advice.best
    assert best is not None
    for finding in told.findings:
        assert f", to {best.limit_a:.1f} A." in str(finding.advice)


def test_a_limit_that_stands_well_is_not_said_to_be_set_lower_to_itself():
    told = reviewed("load-step")
    (over,) = (str(finding.advice) for finding in told.findings if " A" in str(finding.advice))
    assert "set the input limit lower (at 30.0 A no step of those recorded would have tripped it);" in over


def test_a_trip_comes_before_the_overload_that_led_to_it():
    told = reviewed("limit-too-high")
    first = leading(told.findings)
    assert first is not None
    assert first.kind == "generator_stopped_under_load"
    assert "2 to act on, 1 to attend to, 0 to note" in str(tally(told.findings))


def test_the_window_opens_where_the_overload_is_greatest():
    told = reviewed("limit-too-high")
    overload = next(one for one in told.findings if one.kind == "generator_over_rating")
    assert most_telling(told) == worst(told, overload)
    row = told.recording.row_at(most_telling(told))
    assert told.recording.column("generator_power")[row] == pytest.approx(overload.peak)
