"""Days of load and sun out of a recording's minute book, in the site's time zone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import tzinfo

import numpy as np
from numpy.typing import NDArray

from desktop.charging.outlook.curtailed import BatteryAtBin, Uncurtailed, uncurtailed
from desktop.charging.outlook.days import Days
from desktop.charging.outlook.rule import SLOT_S, SLOTS
from desktop.flow.minutes import Minutes
from desktop.words import local
from recordings.errors import UsageError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

LEAST_KNOWN = 0.5
"""A day counts where at least this share of it was recorded; the rest is taken from the days around it."""

_COVERED = 22.5 / 24
"""A clock that is set forward leaves an hour out, and a gap may lie where no other day helps out."""

_WIDTH_NS = SLOT_S * 1_000_000_000
_ZONE_NS = 1_800_000_000_000
_DAY_NS = 86_400_000_000_000


@dataclass(frozen=True, slots=True)
class Recorded:
    """What a recording gives the outlook.

    days       the days that count
    curtailed  what was done where solar was held back
    """

    days: Days
    curtailed: Uncurtailed


@dataclass(frozen=True, slots=True)
class _Grid:
    """Five-minute bins of a recording: (b,) UTC number, day (since 1970-01-01) and slot of the local clock."""

    number: Ints
    day: Ints
    slot: Ints


def recorded_days(minutes: Minutes, zone: tzinfo, gap_s: float, absorb_v: float | None = None) -> Recorded:
    """The whole days of a recording, and days that are nearly so.

    gap_s     steps up to this are bridged by a straight line
    absorb_v  the battery's absorption voltage, where known: tells where it was full

    UsageError where the house load isn't known, or where no whole day can be put together.
    """
    time = minutes.time
    load = minutes.stream("load")
    if not np.isfinite(load).any():
        raise UsageError(
            "the recording doesn't tell the house load",
            mend="record load_power, or type the appliances in and name them with --appliances",
        )
    grid = _grid(time, zone)
    gap = max(1, math.floor(gap_s / SLOT_S))
    binned = {
        name: np.maximum(_binned(grid, time, minutes.stream(name), gap), 0.0)
        for name in ("load", "dc_load", "solar", "solar_ac")
    }
    battery = BatteryAtBin(
        soc=_binned(grid, time, minutes.channel("battery_soc"), gap),
        volts=_binned(grid, time, minutes.channel("battery_voltage"), gap),
        power=_binned(grid, time, minutes.stream("battery"), gap),
        absorb_v=absorb_v,
    )
    first, count = int(grid.day[0]), int(grid.day[-1] - grid.day[0]) + 1
    cells = (grid.day - first) * SLOTS + grid.slot
    table = {name: _folded(cells, values, count) for name, values in binned.items()}
    held = _folded(cells, battery.held_back().astype(float), count)
    known = np.isfinite(table["load"])
    whole = _whole(known)
    filled = {name: _filled(one, whole) for name, one in table.items()}
    dates = first + np.flatnonzero(whole)
    sun = uncurtailed(
        filled["solar"], filled["solar_ac"], np.nan_to_num(held[whole]) > 0.5, dates, told=battery.told
    )
    days = Days(filled["load"], filled["dc_load"], sun.sun_dc, sun.sun_ac, dates, known[whole].mean(axis=1))
    return Recorded(days, sun)


def _grid(time: Ints, zone: tzinfo) -> _Grid:
    number = np.arange(time[0] // _WIDTH_NS, time[-1] // _WIDTH_NS + 1)
    start = number * _WIDTH_NS
    # Offsets from UTC change at full or half hours.
    halves, which = np.unique(start // _ZONE_NS, return_inverse=True)
    offsets = np.array([_offset_ns(int(half) * _ZONE_NS, zone) for half in halves], np.int64)
    clock = start + offsets[which]
    return _Grid(number, clock // _DAY_NS, clock % _DAY_NS // _WIDTH_NS)


def _offset_ns(instant: int, zone: tzinfo) -> int:
    shift = local(instant, zone).utcoffset()
    return 0 if shift is None else round(shift.total_seconds()) * 1_000_000_000


def _binned(grid: _Grid, time: Ints, values: Floats, gap: int) -> Floats:
    """(b,) means of five minutes; NaN where nothing is known, a straight line over up to `gap` bins."""
    known = np.isfinite(values)
    place = (time[known] // _WIDTH_NS - grid.number[0]).astype(np.int64)
    count = np.bincount(place, minlength=len(grid.number))
    total = np.bincount(place, values[known], minlength=len(grid.number))
    mean = np.full(len(grid.number), np.nan)
    np.divide(total, count, out=mean, where=count > 0)
    at = np.flatnonzero(count)
    if gap > 1 and len(at) > 1:
        after = np.searchsorted(at, np.arange(len(mean)))
        inside = (after > 0) & (after < len(at))
        apart = at[np.minimum(after, len(at) - 1)] - at[np.maximum(after - 1, 0)]
        bridged = inside & (count == 0) & (apart <= gap)
        mean[bridged] = np.interp(np.flatnonzero(bridged), at, mean[at])
    return mean


def _folded(cells: Ints, values: Floats, count: int) -> Floats:
    """(count, SLOTS) by local day and time of day; an hour that came twice is the mean of both."""
    known = np.isfinite(values)
    rows = np.bincount(cells[known], minlength=count * SLOTS)
    total = np.bincount(cells[known], values[known], minlength=count * SLOTS)
    mean = np.full(count * SLOTS, np.nan)
    np.divide(total, rows, out=mean, where=rows > 0)
    return mean.reshape(count, SLOTS)


def _whole(known: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which days count: those that were mostly recorded, else one that is put together out of all.

    UsageError where not even the pieces of all days make a whole one.
    """
    covered = float(known.any(axis=0).mean())
    if covered < _COVERED:
        raise UsageError(
            "the recording doesn't cover a whole day",
            expected="readings of the house load at every time of the day",
            found=f"{24 * covered:.1f} of 24 hours",
            mend="record for longer, or type the appliances in and name them with --appliances",
        )
    share = known.mean(axis=1)
    whole: NDArray[np.bool_] = share >= min(LEAST_KNOWN, float(share.max()))
    return whole


def _filled(table: Floats, whole: NDArray[np.bool_]) -> Floats:
    """The days that count, what they lack taken from the nearest day that knows the same time of day.

    What no day knows at a time is on a straight line between the times around it. What no day knows at all is a
    stream that the plant lacks or nobody measured: 0.
    """
    rows = np.flatnonzero(whole)
    out = table[rows].copy()
    for place, row in enumerate(rows):
        missing = np.flatnonzero(np.isnan(out[place]))
        if not missing.size:
            continue
        for other in sorted(range(len(table)), key=lambda each: (abs(each - row), each)):
            out[place, missing] = table[other, missing]
            missing = missing[np.isnan(out[place, missing])]
            if not missing.size:
                break
        if missing.size < SLOTS:
            at = np.flatnonzero(np.isfinite(out[place]))
            out[place, missing] = np.interp(missing, at, out[place, at], period=SLOTS)
    return np.nan_to_num(out)
