"""The columns of rows in which causes are looked for."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from desktop.charging.currents import leg_currents
from desktop.charging.stops import generator_w
from desktop.diagnosis.plant import Plant
from desktop.flow.block import Block
from desktop.flow.streams import INDEX

Floats = NDArray[np.float64]
Times = NDArray[np.int64]

STREAMS_SEEN = ("load", "converter_ac", "converter_dc", "solar", "battery", "grid")
CHANNELS_SEEN = (
    "generator_frequency",
    "battery_voltage",
    "battery_temperature",
    "fuel_level",
    "input_limit",
    "charge_limit",
)
COLUMNS = ("generator", "generator_voltage", "amperes", *STREAMS_SEEN, *CHANNELS_SEEN)
"""Powers in W, as metered, else as reconciled; the load as reconciled, else as metered. Voltage leg to neutral
and the amperes of the busiest leg, while load is carried. NaN where not known."""


class Seen:
    """Consecutive rows.

    time     (n,) UTC nanoseconds
    columns  (15, n), in the order of COLUMNS
    """

    __slots__ = ("columns", "time")

    def __init__(self, time: Times, columns: Floats) -> None:
        self.time = time
        self.columns = columns

    def __len__(self) -> int:
        return len(self.time)

    def __getitem__(self, name: str) -> Floats:
        column: Floats = self.columns[COLUMNS.index(name)]
        return column

    def rows(self, start: int, stop: int) -> Seen:
        """Rows [start, stop)."""
        return Seen(self.time[start:stop], self.columns[:, start:stop])

    def between(self, start: int, stop: int) -> Seen:
        """The rows from one instant to another, both included."""
        first, last = np.searchsorted(self.time, (start, stop + 1)).tolist()
        return self.rows(first, last)

    def highest(self, name: str) -> float:
        """The highest reading of a column; NaN without one."""
        return float(np.fmax.reduce(self[name], initial=np.nan))

    def lowest(self, name: str) -> float:
        """The lowest reading of a column; NaN without one."""
        return float(np.fmin.reduce(self[name], initial=np.nan))

    def middle(self, name: str) -> float:
        """The median of a column; NaN without a reading."""
        known = self[name][np.isfinite(self[name])]
        return float(np.median(known)) if known.size else math.nan

    def last(self, name: str) -> float:
        """The last reading of a column; NaN without one."""
        known = self[name][np.isfinite(self[name])]
        return float(known[-1]) if known.size else math.nan


def seen(block: Block, plant: Plant, present: frozenset[str]) -> Seen:
    """What a block shows. `present` are the streams that the plant has."""
    columns = np.full((len(COLUMNS), len(block)), np.nan)
    generator = columns[0] = generator_w(block)
    if (generator > plant.carrying_w).any():
        _electrical(block, plant, generator, columns)
    for number, name in enumerate(STREAMS_SEEN, start=3):
        if name in present:
            first, other = block.measured[INDEX[name]], block.value[INDEX[name]]
            if name == "load":
                first, other = other, first
            columns[number] = first
            lost = np.isnan(first)
            if lost.any():
                columns[number, lost] = other[lost]
    for number, name in enumerate(CHANNELS_SEEN, start=3 + len(STREAMS_SEEN)):
        if name in block.channels:
            columns[number] = block.channels[name]
    return Seen(block.time, columns)


def _electrical(block: Block, plant: Plant, generator: Floats, columns: Floats) -> None:
    carrying = generator > plant.carrying_w
    legs = max(plant.legs, sum(name.startswith("generator_current_l") for name in block.channels))
    amperes = np.fmax.reduce(leg_currents(block, plant.volts, legs, plant.power_factor))
    names = [name for name in block.channels if name.startswith("generator_voltage")]
    if names:
        columns[1] = np.fmin.reduce([block.channels[name] for name in sorted(names)])
    columns[2] = np.where(carrying, amperes, np.nan)
    columns[1, ~carrying] = np.nan
