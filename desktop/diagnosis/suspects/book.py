"""The book that gathers, row by row, what is needed to tell which meter lies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.cells import Cells, Layout
from desktop.diagnosis.suspects.course import Course
from desktop.diagnosis.suspects.meters import Meter, meters_of
from desktop.diagnosis.suspects.steps import Step, Steps
from desktop.diagnosis.suspects.store import Times
from desktop.flow.block import Block
from desktop.flow.learned import Learned
from desktop.site import Site

Floats = NDArray[np.float64]

_EXTRAS = ("battery_voltage", "battery_soc")


@dataclass(frozen=True, slots=True, eq=False)
class Snapshot:
    """What a book holds at one time. J meters, m cells.

    meters     what is read
    time       (m,) start of each cell, UTC nanoseconds; width_s: how long it is
    mean       (J, m) W, of rows in which nothing had just moved; NaN where there were none
    low, high  (J, m) W, the range of all rows
    volts      (J, m) V that amperes were multiplied with; NaN for meters of power
    battery_v, soc   (m,) V, %; NaN where not read
    still      (m,) share of rows in which the generator is known to stand still; NaN where nothing tells
    rows       (m,)
    steps      the greatest steps
    course_time, course   (c,) starts of short cells in evenly spread stretches; (J, c) W, means of all their rows
    course_s   how long they are
    interval_s the usual step between rows
    """

    meters: tuple[Meter, ...]
    time: Times
    width_s: float
    mean: Floats
    low: Floats
    high: Floats
    volts: Floats
    battery_v: Floats
    soc: Floats
    still: Floats
    rows: Floats
    steps: tuple[Step, ...]
    course_time: Times
    course: Floats
    course_s: float
    interval_s: float

    def __len__(self) -> int:
        return len(self.time)


class SuspectBook:
    """Gathers evidence in cells of a minute and around steps; memory stays bounded however long it goes on."""

    def __init__(self, learned: Learned, site: Site) -> None:
        self._learned, self._site = learned, site
        self._meters: tuple[Meter, ...] | None = None
        self._products: tuple[int, ...] = ()
        self._cells: Cells
        self._steps: Steps
        self._course: Course

    def extend(self, block: Block) -> None:
        """Take the next rows."""
        if not len(block):
            return
        if self._meters is None:
            self._begin(block)
        meters = self._meters or ()
        table = np.empty((len(meters) + len(self._products) + len(_EXTRAS) + 1, len(block)))
        for row, meter in enumerate(meters):
            table[row] = meter.read(block)
        names = [meters[product].volts for product in self._products]
        for row, name in enumerate((*names, *_EXTRAS), len(meters)):
            table[row] = block.channel(name)
        still = self._learned.metering.standing(block.channels)
        table[-1] = self._standing(block, still)
        self._cells.extend(block.time, table)
        self._steps.extend(block.time, table[: len(meters)])
        self._course.extend(block.time, table[: len(meters)])

    def snapshot(self) -> Snapshot:
        """What is known by now."""
        meters = self._meters or ()
        count, products = len(meters), list(self._products)
        if self._meters is None:
            time, data, width = np.empty(0, np.int64), np.empty((len(_EXTRAS) + 3, 0)), 60 * 10**9
            steps: tuple[Step, ...] = ()
            course_time, course, course_ns = np.empty(0, np.int64), np.empty((0, 0), np.float32), 10**9
        else:
            time, stored, width = self._cells.table()
            data, steps = stored.astype(np.float64), self._steps.steps()
            course_time, course, course_ns = self._course.table()
        volts = np.full((count, len(time)), np.nan)
        volts[products] = data[count : count + len(products)]
        extra = count + len(products)
        bounds = extra + len(_EXTRAS) + 1
        return Snapshot(
            meters=meters,
            time=time,
            width_s=width / 1e9,
            mean=data[:count],
            low=data[bounds : bounds + count],
            high=data[bounds + count : bounds + 2 * count],
            volts=volts,
            battery_v=data[extra],
            soc=data[extra + 1],
            still=data[extra + 2],
            rows=data[-1],
            steps=steps,
            course_time=course_time,
            course=course.astype(np.float64),
            course_s=course_ns / 1e9,
            interval_s=self._learned.interval_s,
        )

    def _begin(self, block: Block) -> None:
        meters = self._meters = meters_of(block.channels.keys(), self._learned, self._site)
        self._products = tuple(row for row, meter in enumerate(meters) if not meter.of_power)
        percent = np.array([meter.percent for meter in meters])
        floor_w = np.array([meter.floor_w for meter in meters])
        interval_s = self._learned.interval_s
        layout = Layout(len(meters), len(self._products) + len(_EXTRAS) + 1)
        self._cells = Cells(layout, percent, floor_w, interval_s)
        self._steps = Steps(percent, floor_w, interval_s)
        self._course = Course(len(meters), interval_s)

    def _standing(self, block: Block, still: NDArray[np.bool_] | None) -> Floats | float:
        metering = self._learned.metering
        if not metering.frequency and not metering.voltages:
            return np.nan
        return 0.0 if still is None else still.astype(np.float64)
