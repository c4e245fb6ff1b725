"""Counts charge and energy in and out of the battery, row by row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.block import Block
from desktop.flow.streams import INDEX

Floats = NDArray[np.float64]
Times = NDArray[np.int64]
Truths = NDArray[np.bool_]

FIELDS = ("at", "run", "ah_in", "ah_out", "wh_in", "wh_out", "volts", "amperes", "soc", "celsius", "watts")
"""One counted row: seconds since the first one; the number of the unbroken run that it belongs to; charge and
energy in and out since the beginning; then the readings of that row, NaN where there is none, and its power."""

FIELD = {name: row for row, name in enumerate(FIELDS)}

_BATTERY = INDEX["battery"]
_COUNTS = slice(FIELD["ah_in"], FIELD["wh_out"] + 1)


@dataclass(slots=True)
class Counted:
    """Rows in which the battery's power is known (and its current, where it has been known before).

    time    (n,) UTC nanoseconds; rows (len(FIELDS), n)
    torn    (n,) True where a row doesn't go on from the one before
    power   (n,) W, as metered, else as reconciled
    fed     (n,) the reconciled power, NaN where there is none beside a metered one
    """

    time: Times
    rows: Floats
    torn: Truths
    power: Floats
    fed: Floats

    def column(self, name: str) -> Floats:
        """(n,) one of FIELDS."""
        column: Floats = self.rows[FIELD[name]]
        return column


class Counting:
    """Turns blocks into counted rows.

    Each step between two rows is a trapezoid, of the part into the battery and of the part out of it; where the
    current crosses zero within a step both get their triangle, so that in less out is the plain trapezoid. A
    step longer than `gap_s` is not bridged: there a new run begins.

    Charge is counted from power by voltage: so charge and energy have the errors of one meter in common. A meter of
    the current serves for that where there is no voltage; elsewhere its readings are only kept.
    """

    def __init__(self, gap_s: float) -> None:
        self._gap_ns = gap_s * 1e9
        self._has_current = False
        self._first: int | None = None
        self._time = 0
        self._row = np.zeros(len(FIELDS))
        self._flow = np.zeros(4)

    @property
    def start(self) -> int:
        """The first counted row, UTC nanoseconds; 0 before there is one."""
        return self._first or 0

    def extend(self, block: Block) -> Counted:
        """The counted rows among the next rows."""
        power = block.measured[_BATTERY]
        fed = np.where(np.isnan(power), np.nan, block.value[_BATTERY])
        power = np.where(np.isnan(power), block.value[_BATTERY], power)
        volts = block.channel("battery_voltage")
        read = block.channel("battery_current")
        by_power = np.divide(power, volts, out=np.full(len(power), np.nan), where=volts > 0)
        charge = np.where(np.isnan(by_power), read, by_power)
        amperes = np.where(np.isnan(read), charge, read)
        known = self._known(power, charge)
        rows = np.empty((len(FIELDS), int(known.sum())))
        rows[FIELD["volts"]], rows[FIELD["amperes"]] = volts[known], amperes[known]
        rows[FIELD["soc"]] = block.channel("battery_soc")[known]
        rows[FIELD["watts"]] = power[known]
        rows[FIELD["celsius"]] = block.channel("battery_temperature")[known]
        counted = Counted(block.time[known], rows, np.empty(0, np.bool_), power[known], fed[known])
        if len(counted.time):
            self._count(counted, charge[known])
        return counted

    def _known(self, power: Floats, charge: Floats) -> Truths:
        # Once the current has been known, a row without it would leave the charge behind the energy.
        read = np.isfinite(charge)
        seen = np.logical_or.accumulate(read) | self._has_current
        if len(seen):
            self._has_current = bool(seen[-1])
        known: Truths = np.isfinite(power) & (read | ~seen)
        return known

    def _count(self, counted: Counted, amperes: Floats) -> None:
        time, rows = counted.time, counted.rows
        if self._first is None:
            self._first = self._time = int(time[0])
            self._flow[:] = np.nan
            self._row[FIELD["run"]] = -1
        step = np.diff(time, prepend=self._time)
        flow = np.empty((4, 1 + len(time)))
        flow[:, 0] = self._flow
        for row, values in enumerate((amperes, counted.power)):
            np.maximum(values, 0.0, out=flow[2 * row, 1:])
            np.subtract(flow[2 * row, 1:], values, out=flow[2 * row + 1, 1:])
        # Where power begins to be known with its current, the charge starts anew.
        fresh = np.isnan(flow[0, :-1]) & np.isfinite(flow[0, 1:])
        torn = (step > self._gap_ns) | fresh
        torn[0] |= bool(np.isnan(self._flow[2]))
        half_hours = np.where(torn, 0.0, step / 7.2e12)
        for count, values in zip(range(*_COUNTS.indices(len(FIELDS))), flow, strict=True):
            moved = (values[1:] + values[:-1]) * half_hours
            if np.isnan(moved.sum()):
                moved[np.isnan(moved)] = 0.0
            moved[0] += self._row[count]
            # One after another, so that the counts don't depend on how rows were cut into blocks.
            np.cumsum(moved, out=rows[count])
        rows[FIELD["run"]] = self._row[FIELD["run"]] + np.cumsum(torn)
        rows[FIELD["at"]] = (time - self._first) / 1e9
        counted.torn = torn
        self._time, self._flow, self._row = int(time[-1]), flow[:, -1].copy(), rows[:, -1].copy()
