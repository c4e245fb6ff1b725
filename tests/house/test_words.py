"""Shown text keeps template and values apart, and shows numbers as a meter would."""

from zoneinfo import ZoneInfo

import pytest

from desktop import words
from desktop.words import Phrase


@pytest.mark.parametrize(
    ("value", "shown"),
    [(6234.0, "6.23 kW"), (35.4, "35 W"), (-0.2, "0 W"), (-2406.0, "−2.41 kW"), (float("nan"), "not known")],
)
def test_power(value, shown):
    assert words.power(value) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (14, "14 s"),
        (99.6, "2 min"),
        (360, "6 min"),
        (3599, "1 h 00 min"),
        (33000, "9 h 10 min"),
        (187200, "2 d 4 h"),
    ],
)
def test_duration(value, shown):
    assert words.duration(value) == shown


def test_a_phrase_formats_its_values_by_quantity():
    phrase = Phrase("{peak:A} on {limit:A} for {time:time}.", peak=27.13, limit=25.0, time=14.0)
    assert str(phrase) == "27.1 A on 25.0 A for 14 s."


def test_a_phrase_shows_clock_times_in_its_zone():
    phrase = Phrase("at {t:clock}", zone=ZoneInfo("Europe/Berlin"), t=1_771_074_200_000_000_000)
    assert str(phrase) == "at 14:03:20"


def test_a_phrase_is_told_in_the_language_spoken_when_it_is_shown():
    phrase = Phrase("{p:W} from the sun", p=810.0)
    try:
        words.speak({"{p:W} from the sun": "{p:W} von der Sonne"}.__getitem__)
        assert str(phrase) == "0.81 kW von der Sonne"
    finally:
        words.speak(str)
    assert str(phrase) == "0.81 kW from the sun"


def test_an_empty_phrase_is_false():
    assert not Phrase("")
    assert Phrase("x")


def test_a_number_is_kept_together_with_its_unit():
    shown = words.kept_together("27.1 A on 25 A, 63 % on 2 h 10 min")
    assert shown.replace("\u00a0", "~") == "27.1~A on 25~A, 63~% on 2~h 10~min"
