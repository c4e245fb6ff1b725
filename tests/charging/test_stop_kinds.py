"""How runs end, told apart on random plants and judged case by case."""

from collections import Counter
from dataclasses import replace

import pytest
from stop_plants import as_told, ended, simulated

from desktop.charging.stop_evidence import StopEvidence
from desktop.charging.stop_kinds import judge

KINDS = ("overload", "dry tank", "normal")
WRONG = {
    "overload": {"dry tank", "normal"},
    "dry tank": {"overload", "normal", "under load"},
    "normal": {"overload", "dry tank", "under load"},
}


@pytest.fixture(scope="module")
def plants():
    return simulated(KINDS, range(20))


def told(plants, **options):
    pairs = [ended(one, **options) for one in plants]
    return Counter((truth, as_told(halt)) for truth, halt in pairs if truth)


def right(counts):
    return sum(count for (truth, said), count in counts.items() if truth == said) / sum(counts.values())


def wrong(counts):
    return {pair: count for pair, count in counts.items() if pair[1] in WRONG[pair[0]]}


def test_every_second_overload_dry_tank_and_normal_stop_are_told_apart(plants):
    counts = told(plants)
    assert {truth for truth, _ in counts} == set(KINDS)
    assert right(counts) >= 0.95
    assert wrong(counts) == {}


@pytest.mark.parametrize("every", [2, 5, 10, 60])
def test_readings_further_apart_tell_less_but_nothing_wrong(plants, every):
    counts = told(plants, every=every, first=every // 3)
    assert wrong(counts) == {}
    assert right(counts) >= (0.95 if every <= 2 else 0.6)


@pytest.mark.parametrize(
    "without",
    [
        ("fuel_level",),
        ("generator_frequency",),
        ("generator_voltage",),
        ("fuel_level", "generator_frequency"),
        ("fuel_level", "generator_current", "load", "converter"),
        ("fuel_level", "generator_frequency", "generator_voltage", "generator_current"),
    ],
)
def test_with_fewer_channels_nothing_wrong_is_told(plants, without):
    assert wrong(told(plants, without=without)) == {}


SEEN = StopEvidence(
    interval_s=1.0,
    torn=False,
    before_w=3000.0,
    share=0.6,
    last_share=0.6,
    heat_s=0.0,
    asked_share=float("nan"),
    loaded=True,
    stepped=False,
    shed=False,
    wound_down=False,
    lowest_hz=50.0,
    speed_known=True,
    sank_s=0.0,
    ran_on_s=0.0,
    stood=True,
    hunted=False,
    fuel=float("nan"),
)
OVER = {"share": 1.4, "last_share": 1.4, "heat_s": 9.0}
NOT_KNOWN = float("nan")


@pytest.mark.parametrize(
    ("seen", "kind", "reason"),
    [
        ({}, "under load", ""),
        ({"ran_on_s": 60.0, "stood": False}, "normal", ""),
        ({"wound_down": True}, "normal", ""),
        ({"shed": True, "loaded": False}, "normal", ""),
        ({**OVER}, "under load", "overload"),
        ({**OVER, "ran_on_s": 60.0, "stood": False}, "under load", "overload"),
        ({**OVER, "ran_on_s": 60.0, "stood": False, "interval_s": 60.0}, "unclear", ""),
        ({**OVER, "fuel": 1.0, "interval_s": 10.0}, "unclear", ""),
        ({"sank_s": 5.0}, "dry tank", "dry tank"),
        ({"sank_s": 5.0, "fuel": 40.0}, "unclear", ""),
        ({"sank_s": 5.0, "share": 0.99}, "unclear", ""),
        ({"sank_s": 3.0, "stepped": True, "share": 0.97, "fuel": 40.0}, "under load", "overload"),
        ({"sank_s": NOT_KNOWN}, "unclear", ""),
        ({"fuel": 0.0}, "dry tank", "dry tank"),
        ({"fuel": 1.0}, "unclear", ""),
        ({"hunted": True, "ran_on_s": 20.0, "stood": False, "fuel": 0.0}, "dry tank", "dry tank"),
        ({"interval_s": 60.0}, "unclear", ""),
        ({"interval_s": 10.0, "asked_share": 1.4, "fuel": 50.0}, "under load", "overload"),
        ({"interval_s": 10.0, "asked_share": 1.4}, "unclear", ""),
        ({"stood": False, "ran_on_s": NOT_KNOWN, "speed_known": False}, "unclear", ""),
        ({"torn": True, **OVER}, "unclear", ""),
    ],
)
def test_case_by_case(seen, kind, reason):
    assert judge(replace(SEEN, **seen)) == (kind, reason)
