"""The alarm treatment: thresholds, deadbands, delays, missing values, and any cutting of the rows."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.diagnosis.alarm import Alarm, Stage, Treatment

SECOND = 1_000_000_000


def judged(treatment, values, *, step_s=1.0, threshold=30.0, cuts=(), context=None, time=None):
    values = np.asarray(values, dtype=np.float64)
    if time is None:
        time = np.round(np.arange(len(values)) * step_s * SECOND).astype(np.int64)
    alarm = Alarm(treatment)
    raised = []
    edges = [0, *sorted(cuts), len(values)]
    for start, stop in pairwise(edges):
        part = slice(start, stop)
        level = threshold[part] if np.ndim(threshold) else threshold
        kept = {name: column[part] for name, column in (context or {}).items()}
        raised += alarm.extend(time[part], values[part], level, kept)
    assert raised == alarm.events
    return alarm.events


def treatment(on=15.0, off=15.0, hold=60.0, deadband=2.5, **more):
    return Treatment((Stage(on),), off, hold, deadband, **more)


def held(*runs):
    return np.concatenate([np.full(count, float(value)) for value, count in runs])


def test_a_motor_start_of_14_s_is_not_told_and_one_of_16_s_is():
    # Alarm practice of ISA-18.2 / EEMUA 191: 30 A limit, range 0–50 A, flow-type deadband of 5 % (2.5 A);
    # an on-delay of 15 s ignores a motor start of 14 s and reports one of 16 s. Worked by hand.
    assert not judged(treatment(), held((20, 60), (33, 14), (20, 60)))
    (event,) = judged(treatment(), held((20, 60), (33, 17), (20, 60)))
    assert (event.start, event.end) == (60 * SECOND, 77 * SECOND)
    assert (event.raised, event.peak, event.threshold) == (75 * SECOND, 33.0, 30.0)


def test_it_clears_only_below_the_deadband():
    # The same example: clear below 27.5 A. OPC UA Part 9, annex B.1.5: an alarm returns when the value has
    # moved back past the limit by the deadband.
    (event,) = judged(treatment(off=0), held((33, 20), (28, 300), (33, 5), (27.5, 50), (27.4, 5)))
    assert event.end == 375 * SECOND
    (event,) = judged(treatment(off=0), held((33, 20), (28, 300)))
    assert event.end is None


def test_a_limit_of_one_with_a_deadband_of_a_tenth_clears_under_nine_tenths():
    # Building-automation text on alarm deadbands: limit 1.00, deadband 0.10, clears under 0.90.
    rule = Treatment((Stage(0.0),), 0.0, 60.0, deadband_share=0.1)
    (event,) = judged(rule, [0.5, 1.01, 0.95, 0.91, 0.89, 0.95], threshold=1.0)
    assert (event.start, event.end) == (SECOND, 4 * SECOND)


def test_short_returns_don_t_end_an_event():
    values = held((33, 20), (10, 10), (33, 5), (10, 40))
    (event,) = judged(treatment(off=15), values)
    assert (event.start, event.end) == (0, 35 * SECOND)


def test_a_chattering_value_gives_one_event():
    # Chattering is three or more activations in a minute by common alarm-report defaults.
    values = np.where(np.arange(600) % 4 < 3, 31.0, 26.0)
    assert len(judged(treatment(on=2, off=5), values)) == 1


def test_further_beyond_is_raised_sooner():
    inverse = Treatment((Stage(10.0), Stage(3.0, 1.1)), 15.0, 60.0, 2.5)
    assert not judged(inverse, held((20, 5), (33.5, 3), (20, 60)))
    assert not judged(inverse, held((20, 5), (31, 10), (20, 60)))
    (soon,) = judged(inverse, held((20, 5), (33.5, 4), (20, 60)))
    (late,) = judged(inverse, held((20, 5), (31, 11), (20, 60)))
    assert (soon.start, soon.raised) == (5 * SECOND, 8 * SECOND)
    assert (late.start, late.raised) == (5 * SECOND, 15 * SECOND)


def test_the_event_dates_from_the_first_row_over_the_nearest_stage():
    inverse = Treatment((Stage(10.0), Stage(3.0, 1.1)), 15.0, 60.0, 2.5)
    (event,) = judged(inverse, held((20, 5), (31, 4), (34, 4), (20, 60)))
    assert (event.start, event.raised, event.peak, event.peak_at) == (
        5 * SECOND, 12 * SECOND, 34.0, 9 * SECOND,
    )  # fmt: skip


def test_a_log_slower_than_the_delay_needs_a_second_row():
    slow = treatment(on=10, hold=180)
    assert not judged(slow, [20, 33, 20, 20], step_s=60)
    (event,) = judged(slow, [20, 33, 33, 20, 20], step_s=60)
    assert (event.start, event.end) == (60 * SECOND, 180 * SECOND)


def test_lower_can_be_worse():
    rule = replace(treatment(on=10, off=0, deadband=1), below=True)
    (event,) = judged(rule, held((50, 20), (47, 12), (46, 3), (48.5, 10), (49.5, 5)), threshold=48.0)
    assert (event.start, event.end, event.peak) == (20 * SECOND, 45 * SECOND, 46.0)


def test_missing_values_neither_raise_nor_clear():
    nan = np.nan
    assert not judged(treatment(on=5), held((33, 3), (nan, 40), (20, 3)))
    (event,) = judged(treatment(on=5, off=5), held((33, 10), (nan, 40), (33, 2), (20, 20)))
    assert (event.start, event.end, event.end_seen) == (0, 52 * SECOND, True)
    assert not judged(treatment(), np.full(100, nan))


def test_an_unknown_threshold_is_unknown_too():
    assert not judged(treatment(on=2), np.full(20, 33.0), threshold=np.full(20, np.nan))


def test_an_event_whose_value_is_lost_ends_where_it_was_last_known():
    values = held((33, 20), (np.nan, 100))
    (event,) = judged(treatment(), values)
    assert (event.end, event.end_seen) == (19 * SECOND, False)
    (event,) = judged(treatment(), values[:60])
    assert event.end is None


def test_nothing_is_assumed_of_a_gap_in_time():
    time = np.concatenate((np.arange(10), np.arange(3600, 3610))) * SECOND
    assert not judged(treatment(on=15), np.full(20, 33.0), time=time)
    first, second = judged(treatment(on=5), np.full(20, 33.0), time=time)
    assert (first.end, first.end_seen) == (9 * SECOND, False)
    assert (second.start, second.end) == (3600 * SECOND, None)


def test_the_threshold_may_change_from_row_to_row():
    limit = held((30, 30), (20, 30))
    (event,) = judged(treatment(on=5), np.full(60, 25.0), threshold=limit)
    assert (event.start, event.peak, event.threshold) == (30 * SECOND, 25.0, 20.0)


def test_what_else_was_measured_is_kept_at_start_peak_and_end():
    values = held((20, 5), (33, 10), (40, 1), (33, 10), (20, 30))
    other = {"row": np.arange(len(values), dtype=np.float64)}
    (event,) = judged(treatment(on=5), values, context=other)
    assert (event.at_start["row"], event.at_peak["row"], event.at_end["row"]) == (5.0, 15.0, 26.0)


def test_what_can_t_apply_clears():
    (event,) = judged(treatment(on=5, off=5), held((33, 10), (-np.inf, 20)))
    assert event.end == 10 * SECOND


rows = st.lists(
    st.tuples(
        st.sampled_from([0.5, 1.0, 1.0, 1.0, 2.0, 5.0, 40.0, 90.0]),
        st.sampled_from([10.0, 26.0, 28.0, 29.5, 30.0, 30.5, 32.0, 34.0, 36.0, np.nan, -np.inf]),
        st.sampled_from([30.0, 30.0, 30.0, 25.0, np.nan]),
        st.integers(1, 6),
    ),
    min_size=1,
    max_size=40,
)
rules = st.sampled_from(
    [
        Treatment((Stage(0.0),), 0.0, 60.0, 0.0),
        Treatment((Stage(3.0),), 5.0, 60.0, 2.5),
        Treatment((Stage(10.0, 1.02), Stage(3.0, 1.1)), 4.0, 30.0, 1.0, 0.02),
        Treatment((Stage(2.0),), 3.0, 45.0, 1.0, below=True),
    ]
)


@settings(max_examples=300, deadline=None)
@given(rows, rules, st.data())
def test_any_cutting_gives_the_same_events(cells, rule, data):
    steps, values, limits = (
        np.array([cell[n] for cell in cells for _ in range(cell[3])], dtype=np.float64) for n in range(3)
    )
    if rule.below:
        values = np.where(np.isinf(values), np.inf, 60 - values)
    time = np.cumsum(steps * SECOND).astype(np.int64)
    context = {"row": np.arange(len(values), dtype=np.float64)}
    cuts = data.draw(st.lists(st.integers(0, len(values)), max_size=12))
    whole = judged(rule, values, threshold=limits, time=time, context=context)
    for cutting in (cuts, range(len(values))):
        assert judged(rule, values, threshold=limits, time=time, context=context, cuts=cutting) == whole


def walked(rule, time, values, limits):
    """The treatment, row by row, as it is written down."""
    events, standing, since, back, last = [], None, [None, None], None, None
    for now, value, limit in zip(time.tolist(), values.tolist(), limits.tolist(), strict=True):
        if last is not None and now - last > rule.hold_s * SECOND:
            if standing:
                standing[1] = last
            standing, since, back = None, [None, None], None
        if np.isnan(value) or np.isnan(limit):
            continue
        for number, stage in enumerate(rule.stages):
            over = value < limit * stage.factor if rule.below else value > limit * stage.factor
            since[number] = (now if since[number] is None else since[number]) if over else None
        level = limit * rule.stages[0].factor
        margin = rule.deadband + rule.deadband_share * abs(level)
        clear = value > level + margin if rule.below else value < level - margin
        back = (now if back is None else back) if clear else None
        late = [
            since[n] is not None and now - since[n] >= stage.on_delay_s * SECOND
            for n, stage in enumerate(rule.stages)
        ]
        if any(late) and standing is None:
            standing = [since[0], None]
            events.append(standing)
        if standing and back is not None and now - back >= rule.off_delay_s * SECOND:
            standing[1], standing = back, None
        last = now
    return [tuple(event) for event in events]


@settings(max_examples=300, deadline=None)
@given(rows, rules)
def test_it_agrees_with_a_walk_through_the_rows(cells, rule):
    steps, values, limits = (
        np.array([cell[n] for cell in cells for _ in range(cell[3])], dtype=np.float64) for n in range(3)
    )
    if rule.below:
        values = np.where(np.isinf(values), np.inf, 60 - values)
    time = np.cumsum(steps * SECOND).astype(np.int64)
    found = [(event.start, event.end) for event in judged(rule, values, threshold=limits, time=time)]
    assert found == walked(rule, time, values, limits)


def test_nothing_is_worked_through_where_nothing_is_beyond():
    alarm = Alarm(treatment())
    alarm.extend(np.arange(10) * SECOND, np.full(10, 20.0), 30.0)
    assert alarm.idle
    alarm.extend(np.arange(10, 20) * SECOND, np.full(10, 31.0), 30.0)
    assert not alarm.idle


def test_an_empty_block_changes_nothing():
    alarm = Alarm(treatment())
    assert alarm.extend(np.empty(0, np.int64), np.empty(0), 30.0) == []
    assert alarm.idle
