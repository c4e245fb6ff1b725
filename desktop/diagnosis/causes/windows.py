"""Where something urgent may begin: the instants around which all columns are kept."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.battery import compensation_v, highest_charge_v
from desktop.diagnosis.causes.seen import Seen
from desktop.diagnosis.plant import Plant

Truths = NDArray[np.bool_]


class Triggers:
    """Finds the rows at which one of the conditions behind the urgent findings sets in.

    Only rows that stay so for a second row count; of the generator's load going, the first row without it.
    """

    def __init__(self, plant: Plant) -> None:
        self._plant = plant
        self._by_current = 1 + plant.meter_margin("generator_current")
        self._by_power = 1 + plant.meter_margin("generator_power", plant.rated_w)
        self._by_charge = 1 + plant.meter_margin("battery_current")
        level, cells = highest_charge_v(plant.site.battery)
        self._highest_v, self._cells = level, cells if plant.lead_acid else 0

    def rows(self, rows: Seen) -> list[int]:
        """Row numbers, rising. The first row is never among them."""
        plant = self._plant
        found: list[int] = []
        carrying = rows["generator"] > plant.carrying_w
        if carrying.any():
            idle = rows["generator"] < plant.carrying_w / 2
            found += np.flatnonzero(carrying[:-1] & idle[1:]).tolist()
            limit = _held(rows["input_limit"], plant.limit_a)
            amperes = rows["amperes"]
            found += _begins(amperes > limit * self._by_current)
            found += _begins(rows["generator"] > plant.rated_w * self._by_power)
            found += _begins(amperes > plant.leg_a * self._by_power)
            found += _begins(carrying & (np.abs(rows["grid"]) > plant.carrying_w))
        found += self._of_the_battery(rows)
        return sorted({row + 1 for row in found})

    def _of_the_battery(self, rows: Seen) -> list[int]:
        plant, found = self._plant, []
        charging = rows["battery"] > plant.trickle_w
        if not charging.any():
            return []
        if not math.isnan(plant.coldest_charge_c):
            found += _begins(charging & (rows["battery_temperature"] < plant.coldest_charge_c))
        if self._highest_v > 0:
            more = compensation_v(rows["battery_temperature"], self._cells) if self._cells else 0.0
            found += _begins(rows["battery_voltage"] > self._highest_v + more)
        volts = rows["battery_voltage"]
        limit = _held(rows["charge_limit"], plant.charger_a)
        with np.errstate(divide="ignore", invalid="ignore"):
            found += _begins(rows["battery"] / volts > plant.battery_a * self._by_charge)
            found += _begins(rows["converter_dc"] / volts > limit * self._by_charge)
        return found


def _begins(true: Truths) -> list[int]:
    """The rows before those at which something begins and stays for a second row."""
    starts = ~true[:-2] & true[1:-1] & true[2:]
    return np.flatnonzero(starts).tolist()


def _held(read: NDArray[np.float64], otherwise: float) -> NDArray[np.float64]:
    known = np.isfinite(read)
    if not known.any():
        return np.full(len(read), otherwise)
    latest = np.maximum.accumulate(np.where(known, np.arange(len(read)), -1))
    return np.where(latest >= 0, read[latest], read[known][0])
