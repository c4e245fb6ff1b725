"""What is told of a charge session beside its numbers: who charged, the target, and an input above its limit."""

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from desktop.opening import demos, open_recording
from desktop.review import Review, review
from desktop.review.brief_over import brief_over
from desktop.review.course import achieved, charged_phrase, target_phrase
from desktop.site import Site


@cache
def reviewed(name: str) -> Review:
    return review(*open_recording(next(each.path for each in demos() if each.path.stem == name)))


def only(name: str):
    (session,) = reviewed(name).sessions
    return session


@pytest.mark.parametrize(
    ("sun", "words"),
    [
        (0.0, "The generator charged the battery"),
        (1000.0, "Generator and sun charged the battery"),
        (90_000.0, "The sun charged the battery"),
        (float("nan"), "The generator charged the battery"),
    ],
)
def test_who_charged_is_told_by_what_each_put_in(sun, words):
    session = replace(only("healthy-charge"), to_battery_wh=4000.0, solar_to_battery_wh=sun)
    assert str(charged_phrase(session)).startswith(words)


def test_what_the_sun_gave_is_not_credited_to_the_generator():
    assert any("; the sun put in" in str(one) for one in achieved(reviewed("healthy-charge")))
    assert not any("sun" in str(one) for one in achieved(reviewed("grid-failure")))


def test_an_end_away_from_the_target_is_told():
    below, above = (
        str(target_phrase(reviewed(name), only(name))) for name in ("grid-failure", "healthy-charge")
    )
    assert below == "It ended at 72 %, 8 points below the target of 80 %."
    assert re.fullmatch(
        r"The target of 80 % was reached at \d\d:\d\d; it went on for \d+ min, to 83 %\.", above
    )
    at_target = replace(only("grid-failure"), soc_end=80.5)
    assert target_phrase(reviewed("grid-failure"), at_target) is None
    assert (
        target_phrase(reviewed("grid-failure"), replace(only("grid-failure"), stop="still running")) is None
    )


def test_a_single_reading_above_the_limit_is_told_with_what_the_house_did():
    told = str(brief_over(reviewed("grid-failure"), only("grid-failure")))
    peak = only("grid-failure").peak_input_a
    assert f"{peak:.1f} A instead of 25.0 A, more than the 34.8 A" in told
    assert "for 2 s" in told
    assert "The house went from" in told


@pytest.mark.parametrize("name", ["limit-too-high", "load-step", "healthy-charge"])
def test_nothing_is_added_where_a_finding_tells_it_or_nothing_was_above(name):
    assert brief_over(reviewed(name), only(name)) is None


def test_without_a_limit_nothing_can_be_above_it():
    recording = reviewed("grid-failure").recording
    found = review(recording.rows(0, 2500), Site())
    assert found.sessions
    assert np.isfinite(found.sessions[0].peak_input_a)
    assert brief_over(found, found.sessions[0]) is None


def test_json_tells_energies_as_recorded_and_as_corrected_with_the_correction_named():
    found = reviewed("reversed-battery-meter")
    told = found.as_json()
    corrected = told["corrected"]
    assert told["energy_kwh"]["in_doubt"] is True
    assert corrected["correction"]["channel"] == "battery_power"
    assert corrected["correction"]["fault"] == "reversed"
    assert corrected["how"] == "with the sign of battery power turned"
    assert corrected["energy_kwh"].keys() == told["energy_kwh"].keys()
    assert corrected["energy_kwh"]["in_doubt"] is False
    into = found.figures.review.energy.forward["battery"].wh / 1000
    assert corrected["energy_kwh"]["battery_in"] == pytest.approx(into)
    assert corrected["energy_kwh"]["battery_in"] > 2 * told["energy_kwh"]["battery_in"]
    assert [one.keys() for one in corrected["sessions"]] == [one.keys() for one in told["sessions"]]
    assert corrected["in_balance_share"] > 0.9 > told["balance"]["in_balance_share"]


def test_json_has_nothing_corrected_where_the_powers_add_up():
    told = reviewed("grid-failure").as_json()
    assert told["corrected"] is None
    assert told["energy_kwh"]["in_doubt"] is False
