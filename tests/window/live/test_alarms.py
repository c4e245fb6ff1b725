"""Which findings call, and when not: alarms are told once, and acknowledged without being hidden."""

import io
import wave
from dataclasses import replace

import numpy as np
import pytest

from desktop.diagnosis.finding import Finding
from desktop.window.live import chime
from desktop.window.live.alarms import REPEAT_S, Alarms
from desktop.words import Phrase

S = 1_000_000_000


def finding(start: int, end: int | None = None, kind: str = "input_over_limit") -> Finding:
    none = Phrase("")
    times = start * S, None if end is None else end * S
    return Finding(kind, *times, "generator_current", 30.0, 25.0, "A", Phrase(kind), none, none, none)


@pytest.fixture
def alarms() -> Alarms:
    alarms = Alarms()
    assert alarms.look([], 10 * S, 0, 0.0) == []
    return alarms


def test_a_new_finding_to_act_upon_calls_once(alarms):
    over = finding(12)
    assert alarms.look([over], 15 * S, 0, 5.0) == [over]
    for seconds in range(16, 40):
        assert alarms.look([replace(over, peak=float(seconds))], seconds * S, 0, seconds - 10.0) == []
    assert [each.finding.start for each in alarms.unacknowledged] == [over.start]
    assert alarms.unacknowledged[0].finding.peak == 39.0


def test_what_only_has_to_be_attended_to_calls_nobody(alarms):
    assert alarms.look([finding(12, kind="legs_unequal")], 15 * S, 0, 5.0) == []
    assert not alarms.unacknowledged


def test_acknowledged_it_is_silent_and_stays_until_it_is_over(alarms):
    over = finding(12)
    alarms.look([over], 15 * S, 0, 5.0)
    alarms.acknowledge()
    assert not alarms.unacknowledged
    assert [each.finding for each in alarms.acknowledged] == [over]
    assert alarms.look([over], 300 * S, 0, 300.0) == []
    alarms.look([replace(over, end=310 * S)], 312 * S, 0, 312.0)
    assert not alarms.acknowledged


def test_over_before_anybody_came_it_still_waits(alarms):
    alarms.look([finding(12)], 15 * S, 0, 5.0)
    ended = finding(12, 20)
    assert alarms.look([ended], 400 * S, 0, 400.0) == []
    assert [each.stands for each in alarms.unacknowledged] == [False]


def test_standing_and_unacknowledged_it_calls_again_each_minute(alarms):
    over = finding(12)
    alarms.look([over], 15 * S, 0, 5.0)
    assert alarms.look([over], 60 * S, 0, 4.0 + REPEAT_S) == []
    assert alarms.look([over], 61 * S, 0, 5.0 + REPEAT_S) == [over]
    assert alarms.look([over], 62 * S, 0, 6.0 + REPEAT_S) == []


def test_chattering_calls_once(alarms):
    found, calls = [], []
    for start in range(12, 112, 10):
        found = [*[replace(each, end=each.end or each.start + 3 * S) for each in found], finding(start)]
        calls += alarms.look(found, (start + 3) * S, 0, 0.1 * start)
    assert calls == [finding(12)]
    alarms.acknowledge()
    found = [*[replace(each, end=each.end or each.start + 3 * S) for each in found], finding(122)]
    assert alarms.look(found, 125 * S, 0, 13.0) == []
    assert [each.finding.start for each in alarms.acknowledged] == [122 * S]
    later = finding(600)
    assert alarms.look(
        [*(replace(each, end=each.end or each.start) for each in found), later], 603 * S, 0, 14.0
    ) == [later]


def test_what_is_found_in_the_past_calls_nobody(alarms):
    assert alarms.look([finding(2, 5)], 100 * S, 1, 50.0) == []
    # It came with new rows, though it was over before they had all been read.
    assert alarms.look([finding(2, 5), finding(98, 98, "generator_stopped_under_load")], 101 * S, 1, 51.0)
    assert Alarms().look([finding(2)], 3 * S, 0, 0.0)


def test_worked_through_anew_a_known_alarm_is_not_another_one(alarms):
    alarms.look([finding(12)], 15 * S, 0, 5.0)
    alarms.acknowledge()
    assert alarms.look([finding(11)], 16 * S, 1, 6.0) == []
    assert [each.finding.start for each in alarms.acknowledged] == [11 * S]


def test_the_sound_is_short_and_quiet_and_fades():
    with wave.open(io.BytesIO(chime.sound())) as read:
        assert (read.getnchannels(), read.getsampwidth()) == (1, 2)
        samples = np.frombuffer(read.readframes(read.getnframes()), "<i2").astype(float) / 32768
        assert read.getnframes() / read.getframerate() < 1.5
    assert 0.1 < np.max(np.abs(samples)) < 0.3
    assert np.max(np.abs(samples[-500:])) < 0.01
    assert abs(samples[0]) < 0.001
