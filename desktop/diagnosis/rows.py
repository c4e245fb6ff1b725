"""The rows that all detectors look at, with what several of them need worked out once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.charging.currents import leg_currents
from desktop.charging.stops import generator_w, turning
from desktop.charging.tail import Tail
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.trackers import Held, Since
from desktop.flow.block import Block
from desktop.flow.streams import INDEX
from recordings.channels import LEGS

Floats = NDArray[np.float64]
Times = NDArray[np.int64]

LOOK_BACK_S = 60.0
"""How far before its newest row a detector may look."""

_LOOKED_UP = ("load", "converter_ac")


class Rows:
    """A block as the detectors see it.

    generator   (n,) W as metered, else as reconciled
    carrying    (n,) True where the generator carries load
    running     (n,) 1, 0 or NaN
    running_s   (n,) seconds since the generator was started, NaN where it stands
    input_limit (n,) A per leg; charge_limit (n,) A; NaN where there is none
    charger_on  (n,) 1, 0 or NaN as last reported
    soc         (n,) % as last reported, NaN once that is too long ago
    """

    def __init__(self, block: Block, plant: Plant, tail: Tail) -> None:
        self.block = block
        self.plant = plant
        self.time: Times = block.time
        self.generator = generator_w(block)
        self.carrying: NDArray[np.bool_] = self.generator > plant.carrying_w
        self.any_carrying = bool(self.carrying.any())
        self.running = self._running()
        self.any_running = bool((self.running > 0).any())
        self.running_s: Floats
        self.input_limit: Floats
        self.charge_limit: Floats
        self.charger_on: Floats
        self.soc: Floats
        self._tail = tail
        self._powers: dict[str, Floats] = {}
        self._currents: Floats | None = None

    def _running(self) -> Floats:
        shown = turning(self.block, self.plant.hz, self.plant.volts)
        dark = np.isnan(shown)
        if not dark.any():
            return shown
        by_load = np.where(np.isnan(self.generator), np.nan, self.carrying)
        return np.where(dark, by_load, shown)

    def power(self, stream: str) -> Floats:
        """(n,) a stream as metered, else as reconciled, W; NaN where neither tells."""
        if stream not in self._powers:
            metered = self.block.measured[INDEX[stream]]
            lost = np.isnan(metered)
            if lost.any():
                metered = np.where(lost, self.block.value[INDEX[stream]], metered)
            self._powers[stream] = metered
        return self._powers[stream]

    @property
    def metered_legs(self) -> tuple[str, ...]:
        """The channels of current meters per leg."""
        names = (f"generator_current_{leg}" for leg in LEGS)
        return tuple(name for name in names if name in self.block.channels)

    @property
    def legs(self) -> int:
        """Legs of the generator: by the sheet, or more where more are metered."""
        return max(self.plant.legs, len(self.metered_legs))

    @property
    def leg_currents(self) -> Floats:
        """(legs, n) input current, A."""
        if self._currents is None:
            self._currents = leg_currents(self.block, self.plant.volts, self.legs, self.plant.power_factor)
        return self._currents

    def before(self, stream: str, start: int, stop: int) -> tuple[Times, Floats]:
        """The known rows of a stream from `start` to `stop` (UTC nanoseconds, at most LOOK_BACK_S apart)."""
        start = max(start, stop - round(LOOK_BACK_S * 1e9))
        time, columns = self._tail.joined(self.time, self.looked_up())
        rows = slice(int(np.searchsorted(time, start)), int(np.searchsorted(time, stop, side="right")))
        values = columns[stream][rows]
        known = ~np.isnan(values)
        return time[rows][known], values[known]

    def looked_up(self) -> dict[str, Floats]:
        """The columns of which the past is kept."""
        return {name: self.power(name) for name in _LOOKED_UP}


class Watcher:
    """Turns blocks into rows, and carries along what must be remembered between them."""

    def __init__(self, plant: Plant) -> None:
        self._plant = plant
        self._tail = Tail(LOOK_BACK_S + 1)
        self._running = Since(plant.hold_s)
        self._limit = Held()
        self._charge = Held()
        self._enabled = Held()
        self._soc = Held(plant.slow_hold_s)

    def rows(self, block: Block) -> Rows:
        """The rows of the next block. Call `passed` once every detector has seen them."""
        rows = Rows(block, self._plant, self._tail)
        rows.running_s = self._running.extend(block.time, rows.running)
        rows.input_limit = self._setting(block, "input_limit", self._limit, self._plant.limit_a)
        rows.charge_limit = self._setting(block, "charge_limit", self._charge, self._plant.charger_a)
        rows.charger_on = self._setting(block, "charger_enabled", self._enabled, np.nan)
        rows.soc = self._soc.extend(block.time, block.channel("battery_soc"))
        return rows

    def passed(self, rows: Rows) -> None:
        """Keep what the next rows may be asked for."""
        self._tail.extend(rows.time, rows.looked_up())

    def _setting(self, block: Block, channel: str, held: Held, by_sheet: float) -> Floats:
        # A setting holds until the device reports another one.
        if channel not in block.channels:
            return np.full(len(block), by_sheet)
        told = held.extend(block.time, block.channels[channel])
        return np.where(np.isnan(told), by_sheet, told)


def applied(value: Floats, where: Floats, *, below: bool = False) -> Floats:
    """The value where it can apply (`where` is 1), on the good side for certain where it can't (0), else NaN."""
    harmless = np.inf if below else -np.inf
    return np.where(where > 0, value, np.where(np.isnan(where), np.nan, harmless))


def known(true: NDArray[np.bool_], *read: Floats) -> Floats:
    """1 or 0, and NaN where one of the readings that it rests on is missing."""
    said = true.astype(np.float64)
    for values in read:
        said[np.isnan(values)] = np.nan
    return said
