"""What feeds an AC input, generator or grid: by the user's rules, its frequency, the site sheet, other headers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from recordings.errors import ReadError
from recordings.tables.choice import Plan, Term, matching
from recordings.tables.headings import Heading
from recordings.tables.passes import read_columns
from recordings.tables.places import is_ac_input, is_both_sources, port_number, quantity_of
from recordings.tables.rules import ColumnRule
from recordings.tables.surroundings import Feed, Source, Surroundings
from recordings.tables.understanding import Understanding
from recordings.tables.units import Unit

_SI = {
    "": Unit("W", "power"),
    "power": Unit("W", "power"),
    "apparent": Unit("VA", "apparent"),
    "current": Unit("A", "current"),
    "frequency": Unit("Hz", "frequency"),
}
_NOMINAL_HZ = (50.0, 60.0)
_GRID_HZ = 0.25
"""How far a large grid's frequency strays from nominal: ±0.2 Hz, and a meter's own error (common practice)."""

_STANDS_HZ = 10.0
_STANDS_SHARE = 0.01
_LEAST_READINGS = 30
_WANDERS_HZ = (0.5, 1.0)
"""Span of 98 % of readings beyond which it is a generator: where it stands at times, where it never does."""

_STEADY_SHARE = 0.999
_STEADY_S = 12 * 3600.0
_SOME, _STATE_LIKE = 0.1, 9.0
"""Less than this, in W or A, is nothing; a column that doesn't say what it measures may be a state up to this."""

Values = NDArray[np.float64]


def with_feeds(
    understood: Understanding, rules: Mapping[str, ColumnRule], ac_input: Source = ""
) -> Understanding:
    """The table with what feeds its AC inputs. Their columns are read once where no rule says it."""
    bare = "input" in understood.around.bare_ports
    inputs = [
        each for each in understood.headings if understood.numeric[each.index] and is_ac_input(each, bare)
    ]
    if not inputs:
        return understood
    ports: dict[int | None, list[Heading]] = {}
    for each in inputs:
        ports.setdefault(port_number(each), []).append(each)
    feeds = {port: _ruled(columns, rules) for port, columns in ports.items()}
    waiting = [each for port, columns in ports.items() if feeds[port] is None for each in columns]
    values, seconds = _readings(understood, waiting)
    hint = _by_words(understood.headings, inputs, understood.around) if len(ports) == 1 else Feed()
    if ac_input and len(ports) == 1:
        hint = Feed(ac_input, "the site sheet says what feeds the AC input")
    settled = {
        port: ruled or _settled(hint, columns, values, seconds)
        for (port, ruled), columns in zip(feeds.items(), ports.values(), strict=True)
    }
    if "generator_power" in rules or "grid_power" in rules:
        # A person has looked at the columns already.
        settled = {port: replace(feed, asks=False) for port, feed in settled.items()}
    return replace(understood, around=replace(understood.around, feeds=settled))


def _ruled(columns: Sequence[Heading], rules: Mapping[str, ColumnRule]) -> Feed | None:
    """By what the user says about one of the columns."""
    for channel, rule in rules.items():
        named = [each for part in (rule.column, *rule.column.split("+")) for each in matching(part, columns)]
        if named and channel.startswith("generator_"):
            return Feed("generator", "the site sheet says that the AC input is the generator")
        if named and channel == "grid_power":
            return Feed("grid", "the site sheet says that the AC input is the grid")
    return None


def _settled(hint: Feed, columns: Sequence[Heading], values: Mapping[int, Values], seconds: float) -> Feed:
    """One AC input, by its readings and what else is known of it."""
    seen = [
        values[each.index] for each in columns if quantity_of(each) == "frequency" and each.index in values
    ]
    found = _by_frequency(seen[0], seconds) if seen else Feed()
    if found.source and hint.source and found.source != hint.source:
        return Feed(asks=True)
    if found.source or hint.source:
        return found if found.source else hint
    return Feed(asks=any(_flows(each, values.get(each.index)) for each in columns))


def _flows(heading: Heading, values: Values | None) -> bool:
    """True where power or current came in, or may have."""
    quantity = quantity_of(heading)
    if quantity not in ("power", "apparent", "current", ""):
        return False
    return values is None or bool(np.any(np.abs(values) > (_SOME if quantity else _STATE_LIKE)))


def _by_frequency(hz: Values, seconds: float) -> Feed:
    """A generator's frequency wanders with its load and is 0 where it stands; the grid's is steady and always so.

    An inverter generator is as steady as the grid, and the grid fails at times: neither is told then.
    """
    running = hz[hz > _STANDS_HZ]
    if len(running) < _LEAST_READINGS:
        return Feed()
    stands = np.mean(hz <= _STANDS_HZ) > _STANDS_SHARE
    low, high = np.percentile(running, (1, 99))
    if high - low > _WANDERS_HZ[0 if stands else 1]:
        why = "its frequency wanders" + (" and is 0 at times" if stands else "")
        return Feed("generator", f"the AC input is taken as the generator: {why}")
    strays = min(float(np.mean(np.abs(running - nominal) > _GRID_HZ)) for nominal in _NOMINAL_HZ)
    always = len(running) >= _STEADY_SHARE * len(hz) and seconds >= _STEADY_S
    if always and strays <= 1 - _STEADY_SHARE:
        return Feed("grid", "the AC input is taken as the grid: its frequency is steady and always there")
    return Feed()


def _by_words(headings: Sequence[Heading], inputs: Sequence[Heading], around: Surroundings) -> Feed:
    """By the one source that other headers speak of, where they don't hold its power or current themselves."""
    others = [each for each in headings if each not in inputs and not is_both_sources(each)]
    spoken = {
        source
        for source in ("generator", "grid")
        if any(each.has(source) and not each.has("solar") for each in others)
    }
    metered = any(
        name.startswith(("generator_power", "generator_current", "grid_power")) for name in around.measured
    )
    if len(spoken) != 1 or metered:
        return Feed()
    if "generator" in spoken:
        return Feed("generator", "the AC input is taken as the generator, of which other headers speak")
    return Feed("grid", "the AC input is taken as the grid, of which other headers speak")


def _readings(understood: Understanding, columns: Sequence[Heading]) -> tuple[dict[int, Values], float]:
    """(column → all its readings, how long the table runs in s); nothing where they can't be read."""
    wanted = {each.index: each for each in columns if quantity_of(each) in _SI}
    if not wanted:
        return {}, 0.0
    plans = {
        each.text: Plan("", (Term(each, each.unit or _SI[quantity_of(each)]),), 1, "")
        for each in wanted.values()
    }
    try:
        read = read_columns(understood, understood.number_columns(plans), None)
    except ReadError:
        return {}, 0.0
    # Where day and month are not settled yet, whole spans can't be trusted; steps can.
    steps = np.abs(np.diff(read.stamps.ns[read.stamps.valid]))
    seconds = float(np.median(steps)) * len(steps) / 1e9 if len(steps) else 0.0
    return {index: values.astype(np.float64) for index, values in read.values.items()}, seconds
