"""Reading a table of unknown make into a recording."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from recordings.errors import ReadError
from recordings.provenance import Provenance, Repairs
from recordings.recording import Recording
from recordings.tables.choice import Choice, Plan, require_power, unused
from recordings.tables.dates import settle
from recordings.tables.guesses import MINUS, PLUS
from recordings.tables.inputs import with_feeds
from recordings.tables.order import follow, put_in_order
from recordings.tables.passes import ColumnsRead, read_columns
from recordings.tables.plausible import refuse_unread, sifted, without_codes
from recordings.tables.rules import ColumnRule
from recordings.tables.surroundings import Source
from recordings.tables.unclear import unclear
from recordings.tables.understanding import Understanding, understand
from recordings.tables.zones import to_utc, zone_named

Stamp = Literal["instant", "start", "end"]


def read_table(
    path: str | os.PathLike[str],
    *,
    rules: Mapping[str, ColumnRule] | None = None,
    timezone: str = "",
    stamp: Stamp = "instant",
    day_first: bool | None = None,
    ac_input: Source = "",
    progress: Callable[[float], None] | None = None,
) -> Recording:
    """A CSV file of unknown make as a recording; its provenance says what was made of it and why.

    rules      channel → column, where the automatic reading gets it wrong
    timezone   the zone of stamps that carry no offset; UTC where not given
    stamp      what a stamp means: the instant, or the start or end of an interval that readings are averaged over
    day_first  how dates such as 1/2/2024 are meant, where the column itself doesn't settle it
    ac_input   what feeds the AC input of the inverter-charger, where the site sheet knows it
    progress   called with the share done, 0..1

    ReadError, in one line, where the file can't be opened or understood, or holds no power channel or fewer than
    two rows; an UnclearError where a person's word about columns, units or dates would mend it. A cell that is
    neither a number nor a usual word for "missing" becomes NaN and is counted; more than three of these that are
    also more than 5 % of a channel are refused.
    """
    rules = rules or {}
    understood = with_feeds(understand(os.fspath(path)), rules, ac_input)
    choice = understood.choose(rules)
    require_power(understood.file.path, choice, understood.headings)
    columns = understood.number_columns(choice.plans)
    read = read_columns(understood, columns, progress)
    own = {term.heading.index for plan in choice.plans.values() if plan.own for term in plan.terms}
    for column in columns:
        if column.index not in own:
            without_codes(column.name, column.unit, read.values[column.index], read.repairs)
    provenance = _provenance(understood, choice, read.repairs)
    time, keep = _times(understood, read, timezone, day_first, provenance)
    _refuse_few_rows(understood, time)
    time, ordering = put_in_order(time, read.repairs)
    _refuse_few_rows(understood, time)
    time = _mid_interval(time, stamp, read.repairs)
    channels: dict[str, NDArray[np.float32]] = {}
    remaining = _uses(choice.plans)
    for channel, plan in choice.plans.items():
        values = _mended(plan, _channel(plan, read.values, read.repairs))
        channels[channel] = follow(values if keep is None else values[keep], ordering)
        for term in plan.terms:
            remaining[term.heading.index] -= 1
            if not remaining[term.heading.index]:
                del read.values[term.heading.index]
    channels = sifted(understood.file.path, choice.plans, channels, read.repairs)
    refuse_unread(understood.file.path, choice.plans, channels)
    provenance.leave_out(name for name in choice.plans if name not in channels)
    return Recording.from_columns(time, channels, provenance)


def _times(
    understood: Understanding,
    read: ColumnsRead,
    timezone: str,
    day_first: bool | None,
    provenance: Provenance,
) -> tuple[NDArray[np.int64], NDArray[np.bool_] | None]:
    """(UTC times in the file's order, which rows they are; None for all)."""
    path, notes = understood.file.path, read.repairs.notes
    column = understood.stamps.columns[0]
    dotted = any("." in row[column].split(" ")[0] for row in understood.rows[:20])
    order = settle(read.stamps, day_first, dotted, f'{path}, column "{understood.layout.header[column]}"')
    notes.insert(0, understood.stamps.told + (f"; {order.told()}" if order else ""))
    keep = None
    if not read.stamps.valid.all():
        keep = read.stamps.valid
        read.repairs.bad_rows += int(len(keep) - keep.sum())
        read.stamps = read.stamps.rows(keep)
    time, local = read.stamps.ns, ~read.stamps.fixed
    if local.any():
        name = timezone or "UTC"
        provenance.timezone = name
        notes.append(f"stamps carry no offset: read in the zone {name}")
        if not timezone:
            notes[-1] = "stamps carry no offset and no time zone is given: read as UTC"
        placed = to_utc(_forwards(time[local]), zone_named(name, path), name, path)
        time = time.copy()
        time[local] = placed.ns if _runs_forwards(time[local]) else placed.ns[::-1]
        notes.extend(placed.notes)
    elif timezone:
        zone_named(timezone, path)
    return time, keep


def _runs_forwards(time: NDArray[np.int64]) -> bool:
    step = np.diff(time)
    return bool(np.sum(step < 0) <= np.sum(step > 0))


def _forwards(time: NDArray[np.int64]) -> NDArray[np.int64]:
    return time if _runs_forwards(time) else time[::-1]


def _refuse_few_rows(understood: Understanding, time: NDArray[np.int64]) -> None:
    if len(time) < 2:
        raise ReadError(
            "too few rows",
            where=understood.file.path,
            expected="at least two rows at different instants",
            found=len(time),
            mend="choose a longer recording",
        )


def _mid_interval(time: NDArray[np.int64], stamp: Stamp, repairs: Repairs) -> NDArray[np.int64]:
    """Times moved to the middle of the intervals that readings are averaged over."""
    if stamp == "instant":
        return time
    half = int(np.median(np.diff(time))) // 2
    seconds = half / 1e9
    repairs.notes.append(
        f"stamps mark the {stamp} of an interval: moved by {seconds:g} s to the middle of the usual interval"
    )
    return time + half if stamp == "start" else time - half


def _uses(plans: Mapping[str, Plan]) -> dict[int, int]:
    uses: dict[int, int] = {}
    for plan in plans.values():
        for term in plan.terms:
            uses[term.heading.index] = uses.get(term.heading.index, 0) + 1
    return uses


def _channel(plan: Plan, values: Mapping[int, NDArray[np.float32]], repairs: Repairs) -> NDArray[np.float32]:
    """A channel from the columns that make it up."""
    first = plan.terms[0]
    if len(plan.terms) == 1:
        only = values[first.heading.index]
        return -only if plan.sign < 0 else only
    total = np.zeros(len(values[first.heading.index]))
    halves = []
    for part in (PLUS, MINUS):
        terms = [term for term in plan.terms if term.part == part]
        if terms:
            half = np.zeros(len(total))
            for term in terms:
                half += values[term.heading.index]
            halves.append(_size(half, part, plan.channel, repairs))
    if len(halves) == 2:
        # A stream runs one way at a time: where one direction flows, a missing reading of the other is none.
        for one, other in (halves, halves[::-1]):
            one[np.isnan(one) & (np.abs(other) > 0)] = 0.0
    for half in halves:
        total += half
    for term in plan.terms:
        if term.part not in (PLUS, MINUS):
            total += values[term.heading.index]
    return (plan.sign * total).astype(np.float32)


def _mended(plan: Plan, values: NDArray[np.float32]) -> NDArray[np.float32]:
    """A channel multiplied and moved as the site sheet says."""
    if plan.scale == 1.0 and not plan.offset:
        return values
    return (values * np.float64(plan.scale) + plan.offset).astype(np.float32)


def _size(half: NDArray[np.float64], part: str, channel: str, repairs: Repairs) -> NDArray[np.float64]:
    """One direction's share of a two-way stream; a column that counts it negative is turned over."""
    counted_negative = np.nansum(half) < 0
    if counted_negative:
        repairs.notes.append(f"{channel}: one of its columns is negative throughout and was turned over")
    size = -half if counted_negative else half
    return size if part == PLUS else -size


def _provenance(understood: Understanding, choice: Choice, repairs: Repairs) -> Provenance:
    path = understood.file.path
    return Provenance(
        name=os.path.basename(path),
        path=path,
        columns={channel: plan.reading() for channel, plan in choice.plans.items()},
        ignored=unused(understood.headings, choice.taken),
        unclear=[each.text for each in unclear(understood, choice)],
        repairs=repairs,
    )
