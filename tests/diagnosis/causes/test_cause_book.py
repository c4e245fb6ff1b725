"""The book of causes: the same however rows are cut, bounded, and what it measures of the charger."""

import numpy as np
import pytest
from cause_help import chain, demo, every_second, evidence_of, found, load_of, only
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.diagnosis.causes import book as books
from desktop.diagnosis.causes.back_off import measure_back_off
from desktop.diagnosis.causes.judging import chains_of
from desktop.flow.minutes import Minutes
from desktop.site import Site
from recordings.recording import Recording

DEMOS = ("limit-too-high", "load-step", "unequal-legs")
WHOLE = {name: demo(name) for name in DEMOS}


def told(recording, site, cuts=()):
    evidence = evidence_of(recording, site, cuts)
    findings = found(recording, site)[0]
    return repr(
        (chains_of(findings, evidence, Minutes(), ()), evidence.steps, evidence.habits, evidence.back_off_s())
    )


@settings(max_examples=12, deadline=None)
@given(data=st.data())
def test_any_cutting_gives_the_same_causes(data):
    name = data.draw(st.sampled_from(DEMOS))
    recording, site = WHOLE[name]
    cuts = data.draw(st.lists(st.integers(1, len(recording) - 1), max_size=6))
    assert told(recording, site, tuple(cuts)) == told(recording, site)


def test_chunks_make_no_difference_to_what_lies_within_them(monkeypatch):
    recording, site = WHOLE["unequal-legs"]
    whole = evidence_of(recording, site)
    monkeypatch.setattr(books, "CHUNK_ROWS", 700)
    parts = evidence_of(recording, site, tuple(range(100, len(recording), 100)))
    assert [one.step.time for one in parts.steps] == [one.step.time for one in whole.steps]
    again = evidence_of(recording, site, (37, 1600, 2222))
    assert repr((again.steps, again.habits, again.halts)) == repr((parts.steps, parts.habits, parts.halts))
    for one, other in zip(again.windows, parts.windows, strict=True):
        np.testing.assert_array_equal(one.time, other.time)
        np.testing.assert_array_equal(one.columns, other.columns)
    sizes = ([one.step.size_w for one in each.steps] for each in (parts, whole))
    assert next(sizes) == pytest.approx(next(sizes), abs=1e-6)


def test_what_is_kept_is_bounded():
    rows = 60_000
    load = np.where(np.arange(rows) // 20 % 2 == 0, 500.0, 3500.0)
    columns = {"generator_power": load, "load_power": load, "generator_frequency": np.full(rows, 50.0)}
    site = Site.parse("[generator]\nrated_w = 3000\nvolts = 230\nhz = 50\n[input]\nlimit_a = 12")
    evidence = evidence_of(
        Recording.from_columns(every_second(rows), columns), site, tuple(range(0, rows, 7000))[1:]
    )
    assert len(evidence.steps) <= rows / 60 + 8 * 15
    assert len(evidence.windows) <= books.MOST_WINDOWS


def test_the_delay_of_a_charger_is_measured():
    charger = load_of([(40, 4000)], noise=3)
    charger = np.concatenate(
        [charger, np.full(9, 4000.0), 4000 - 500 * np.arange(1, 5.0), np.full(60, 2000.0)]
    )
    generator = charger + np.where(np.arange(len(charger)) >= 40, 2500, 500)
    back = measure_back_off(every_second(len(charger)), charger, generator, 40, 2000.0, len(charger))
    assert back is not None
    assert (back.began_s, back.settled_s) == (9, 12)
    assert back.given_w == pytest.approx(2000, abs=10)
    assert back.rate_w_s == pytest.approx(500, abs=10)
    assert back.peak_w == pytest.approx(6500, abs=10)


def test_a_charger_that_stays_is_told_so():
    charger = np.full(100, 3000.0)
    back = measure_back_off(every_second(100), charger, charger + 900, 40, 1500.0, 60)
    assert back is not None
    assert not back.began
    assert back.watched_s == 19
    assert measure_back_off(every_second(100), np.full(100, 10.0), charger, 40, 1500.0, 60) is None


def test_back_off_over_a_recording():
    began, settled, count = evidence_of(*WHOLE["load-step"]).back_off_s()
    # The scenario's charger waits for 11 s and then gives 500 W/s; the readings are a second apart.
    assert (began, count) == (pytest.approx(11, abs=1), 1)
    assert settled == pytest.approx(11 + 1860 / 500, abs=1)


def test_without_the_load_nothing_is_guessed():
    recording, site = WHOLE["limit-too-high"]
    bare = only(recording, lambda name: name in ("generator_power", "generator_frequency", "input_limit"))
    one = chain("generator_stopped_under_load", bare, site)
    assert "isn't recorded" in str(one.cause)
    assert not [link for link in one.links if link.kind == "load_step"]
    assert any("house load" in str(phrase) for phrase in one.unknown)
