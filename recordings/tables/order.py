"""Rows into strictly rising time: late rows are sorted in, repeated instants become one, clock jumps are told."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recordings.provenance import ClockJump, Repairs

Integers = NDArray[np.int64]
_JUMP_ROWS = 3
_FAR = 180 * 86_400 * 1_000_000_000


@dataclass(slots=True)
class Ordering:
    """How rows are put in order.

    rows    row numbers of the file in rising time, without those left out; None where all stand right already
    starts  where in `rows` each instant begins; None where every instant comes once
    mean    readings of one instant are averaged: the stamps are coarser than the readings
    """

    rows: Integers | None = None
    starts: Integers | None = None
    mean: bool = False


def put_in_order(time: Integers, repairs: Repairs) -> tuple[Integers, Ordering]:
    """(strictly rising times, how the columns must follow), telling in `repairs` what was done.

    A file that runs backwards is turned round. Where the clock went back over instants that it had shown before,
    the first pass is kept and the repeated part of the second one is left out.
    """
    if len(time) < 2 or bool(np.all(time[1:] > time[:-1])):
        return time, Ordering()
    step = np.diff(time)
    rows = np.arange(len(time))
    if np.sum(step < 0) > np.sum(step > 0):
        rows = rows[::-1]
        repairs.notes.append("the file runs from the newest row to the oldest")
    rows = _without_second_passes(time, rows, repairs)
    shown = time[rows]
    late = shown[1:] < np.maximum.accumulate(shown)[:-1]
    if late.any():
        repairs.out_of_order += int(late.sum())
        rows = rows[np.argsort(shown, kind="stable")]
    shown = time[rows]
    first = np.concatenate(([True], shown[1:] > shown[:-1]))
    if first.all():
        return shown, Ordering(rows)
    starts = np.flatnonzero(first)
    repeats = len(first) - len(starts)
    mean = repeats > len(starts)
    if not mean:
        repairs.duplicates += repeats
    else:
        repairs.notes.append(
            f"{len(first)} rows share {len(starts)} stamps: the stamps are coarser than the readings, which were "
            "averaged"
        )
    return shown[starts], Ordering(rows, starts, mean)


def _without_second_passes(time: Integers, rows: Integers, repairs: Repairs) -> Integers:
    shown = time[rows]
    backs = np.flatnonzero(np.diff(shown) < 0) + 1
    if not len(backs):
        return rows
    highest = np.maximum.accumulate(shown)
    below = np.concatenate(([False], shown[1:] < highest[:-1]))
    dropped = np.zeros(len(rows), bool)
    done = 0
    for start in backs[below[backs]]:
        if start < done:
            continue
        peak = highest[start - 1]
        stop = start + _run(below, start)
        done = stop
        if stop - start < _JUMP_ROWS:
            continue
        earlier = shown[:start]
        overlapped = int(np.sum((earlier >= shown[start]) & (earlier <= shown[stop - 1])))
        if overlapped >= _JUMP_ROWS:
            repairs.clock_jumps.append(ClockJump(int(shown[start - 1]), int(shown[start])))
            dropped[start:stop] = True
        elif peak - shown[start] > _FAR:
            repairs.clock_jumps.append(ClockJump(int(shown[start - 1]), int(shown[start])))
    if not dropped.any():
        return rows
    count = int(dropped.sum())
    repairs.out_of_order += count
    repairs.notes.append(f"{count} rows after the clock went back repeat instants already recorded; left out")
    return rows[~dropped]


def _run(flags: NDArray[np.bool_], start: int) -> int:
    """How many flags are set from `start` on."""
    length = int(np.argmin(flags[start:]))
    return length if length or not flags[start] else len(flags) - start


def follow(column: NDArray[np.float32], ordering: Ordering) -> NDArray[np.float32]:
    """A column in the new order; of repeated instants the last reading that isn't missing stays, or their mean."""
    if ordering.rows is None:
        return column
    column = column[ordering.rows]
    if ordering.starts is None:
        return column
    if ordering.mean:
        return _means(column, ordering.starts)
    place = np.where(np.isnan(column), -1, np.arange(len(column)))
    last = np.maximum.reduceat(place, ordering.starts)
    return np.where(last >= 0, column[last], np.float32(np.nan)).astype(np.float32)


def _means(column: NDArray[np.float32], starts: Integers) -> NDArray[np.float32]:
    known = ~np.isnan(column)
    counts = np.add.reduceat(known.astype(np.int64), starts)
    sums = np.add.reduceat(np.where(known, column, 0.0).astype(np.float64), starts)
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan).astype(np.float32)
