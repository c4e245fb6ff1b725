"""How runs under load end, as sessions ask for it."""

from itertools import pairwise

import numpy as np
from diagnosis_blocks import SECOND, START, Facts, block, part, running, sheet

from desktop.charging.stops import Stops


def stops(rows, *, facts=None, site=None, cuts=()):
    kept = Stops(facts or Facts(), site or sheet())
    edges = [0, *cuts, len(rows)]
    for start, stop in pairwise(edges):
        kept.extend(part(rows, start, stop))
    return kept


def ended(n=1000, at=800, *, run_on=0, **changes):
    channels = running(n)
    channels.update(changes)
    for name in ("generator_power", "converter_ac_power"):
        channels[name][at:] = 0.0
    for name in ("generator_frequency", "generator_voltage"):
        channels[name][at + run_on :] = 0.0
    return channels


END = START + 799 * SECOND


def test_several_who_bring_the_same_blocks_share_one():
    rows = block(ended())
    shared, alone = Stops(Facts(), sheet()), Stops(Facts(), sheet())
    for start, stop in pairwise([0, 400, 800, 801, 900, 1000]):
        some = part(rows, start, stop)
        told = alone.extend(some)
        first, *others = [shared.extend(some) for _ in range(3)]
        assert [each.loaded for each in first] == [each.loaded for each in told]
        assert others == [first] * 2
    assert [str(each) for each in shared.halts] == [str(each) for each in alone.halts]
    assert len(shared.halts) == 1


def test_each_kind_of_stop():
    assert stops(block(ended(run_on=90))).kind_at(END) == "normal"
    assert stops(block(ended())).kind_at(END) == "under load"
    assert stops(block(ended(fuel_level=np.zeros(1000)))).kind_at(END) == "dry tank"
    assert stops(block(running(800))).kind_at(END) == "still running"


def test_a_stop_is_told_at_once_when_the_set_stands_and_later_when_it_runs_on():
    (halt,) = stops(block(ended())).halts
    assert (halt.loaded, halt.stopped, halt.settled) == (END, END + SECOND, END + SECOND)
    (halt,) = stops(block(ended(run_on=90))).halts
    assert halt.settled == END + 31 * SECOND
    assert stops(block(ended(n=820, run_on=90))).kind_at(END) == "unclear"


def test_power_alone_tells_only_what_it_can():
    channels = ended()
    for name in ("generator_frequency", "generator_voltage"):
        del channels[name]
    bare = stops(block(channels))
    assert bare.kind_at(END) == "unclear"
    channels["generator_power"][790:800] = 8500.0
    assert stops(block(channels)).kind_at(END) == "under load"
    channels["generator_power"][790:800] = 300.0
    assert stops(block(channels)).kind_at(END) == "normal"
    channels["generator_power"][790:800] = 4800.0
    channels["fuel_level"] = np.zeros(1000)
    assert stops(block(channels)).kind_at(END) == "dry tank"


def test_a_breaker_that_opens_leaves_the_engine_running():
    channels = ended(run_on=200)
    channels["generator_power"][785:800] = 8300.0
    (halt,) = stops(block(channels)).halts
    assert (halt.kind, halt.reason) == ("under load", "overload")


def test_any_cutting_gives_the_same_stops():
    channels = ended(run_on=3, fuel_level=np.linspace(8, 1.5, 1000))
    channels["generator_power"][810:815] = 4000.0
    channels["generator_power"][820:840] = np.nan
    rows = block(channels)
    whole = stops(rows).halts
    assert whole
    assert stops(rows, cuts=range(1, 1000)).halts == whole
    assert stops(rows, cuts=(798, 799, 800, 803, 815)).halts == whole
