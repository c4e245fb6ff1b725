"""In which steps a meter tells its readings."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.levels import Levels
from desktop.charging.battery.records import Table

Floats = NDArray[np.float64]

UNIFORM = 12**-0.5
"""Standard deviation of what lies anywhere within a step, in steps."""

_DISPLAYS = (200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
_MOSTLY, _FEWEST, _OFF = 0.98, 5, 0.01
_LITTLE = 0.002


def told_step(values: Floats) -> float:
    """The coarsest usual step of which nearly all readings are multiples; 0 where none shows, or they are few."""
    values = np.unique(np.round(values[np.isfinite(values) & (values != 0.0)], 4))
    if len(values) < _FEWEST:
        return 0.0
    for step in _DISPLAYS:
        off = values / step - np.round(values / step)
        if np.mean(np.abs(off) < _OFF) >= _MOSTLY:
            return step
    return 0.0


@dataclass(frozen=True, slots=True)
class Hidden:
    """What readings told in steps may hide of what was counted.

    at     (m,) seconds; hours for which each reading stands
    watts  (m,) as told, NaN where nothing was read
    volts  (m,) by which charge is counted
    step   in which power is told, W
    """

    at: Floats
    hours: Floats
    watts: Floats
    volts: Floats
    step: float

    @classmethod
    def of(cls, minutes: Table, step: float, usual_v: float) -> Hidden:
        """Of a battery's minutes."""
        at, volts = minutes["at"], minutes["volts"]
        hours = np.minimum(np.diff(at, prepend=at[:1] - 60.0), 120.0) / 3600
        known = np.where(np.isfinite(volts), volts, usual_v if usual_v > 0 else 1.0)
        return cls(at, hours, minutes["watts"], known, step)

    @property
    def matters(self) -> bool:
        """True where a step isn't small beside what flows."""
        flows = np.abs(self.watts[np.isfinite(self.watts)])
        return bool(flows.size) and UNIFORM * self.step > _LITTLE * float(flows.mean())

    def other(self, levels: Levels, chance: np.random.Generator) -> Levels:
        """The levels, as they may have been counted without steps: a reading that stays the same is off by the same
        all the while."""
        power = np.nan_to_num(self.watts)
        number = np.cumsum(np.diff(power, prepend=power[:1]) != 0)
        off = self.step * chance.uniform(-0.5, 0.5, int(number[-1]) + 1)[number]
        # What reads nothing is nothing.
        energy = np.where(power != 0, off, 0.0) * self.hours
        moved = {}
        for way, flows in (("in", power > 0), ("out", power < 0)):
            more = np.where(flows, energy if way == "in" else -energy, 0.0)
            for unit, each in (("wh", more), ("ah", more / self.volts)):
                name = f"{unit}_{way}"
                moved[name] = getattr(levels, name) + np.interp(levels.at, self.at, np.cumsum(each))
        return replace(levels, **moved)
