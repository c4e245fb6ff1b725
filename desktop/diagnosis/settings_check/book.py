"""What a recording shows of the settings that were in force."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.charging.stops import generator_w
from desktop.diagnosis.plant import Plant
from desktop.flow.block import Block
from desktop.flow.learned import Learned
from desktop.flow.streams import INDEX
from desktop.site import Site

Floats = NDArray[np.float64]

NAN = math.nan


@dataclass(frozen=True, slots=True)
class SettingsEvidence:
    """What was seen so far; NaN where nothing was.

    limit_a        the input limit as last reported while the generator ran, A; limit_most_a: the highest
    charge_a       the charger's limit as last reported, A; charge_most_a: the highest
    carrying_s     for how long the generator carried load, s; charger_off_s: with the charger reported off
    charged_s      for how long the battery was charged meanwhile, s
    off_known      True where the charger reports whether it is on
    grid_s         for how long the grid was there to charge from, s; from_grid_wh: what was charged from it
    lowest_soc     the lowest state of charge while the battery alone fed the plant, %; lowest_v: voltage
    coldest_c, warmest_c  the range of battery temperatures while it was being charged, °C
    """

    limit_a: float = NAN
    limit_most_a: float = NAN
    charge_a: float = NAN
    charge_most_a: float = NAN
    carrying_s: float = 0.0
    charger_off_s: float = 0.0
    charged_s: float = 0.0
    off_known: bool = False
    grid_s: float = 0.0
    from_grid_wh: float = NAN
    lowest_soc: float = NAN
    lowest_v: float = NAN
    coldest_c: float = NAN
    warmest_c: float = NAN


_STANDBY_W = 150.0
_GRID_W = 50.0


class SettingsBook:
    """Gathers the evidence from blocks that follow each other."""

    def __init__(self, learned: Learned, site: Site) -> None:
        self._plant = Plant.of(learned, site)
        self._present = frozenset(learned.network.present)
        self._off_known = False
        self.evidence = SettingsEvidence()

    def extend(self, block: Block) -> None:
        """Take the next rows."""
        if not len(block):
            return
        carrying = generator_w(block) > self._plant.carrying_w
        lasted = np.where(block.gap | np.isnan(block.step), 0.0, block.step)
        changes: dict[str, float] = {}
        changes.update(self._limits(block, carrying))
        changes.update(self._generator(block, carrying, lasted))
        if "grid" in self._present and "battery" in self._present:
            changes.update(self._grid(block, lasted))
        changes.update(self._battery(block, carrying))
        self.evidence = replace(self.evidence, off_known=self._off_known, **changes)

    def _limits(self, block: Block, carrying: NDArray[np.bool_]) -> dict[str, float]:
        now, told = self.evidence, {}
        if "input_limit" in block.channels and carrying.any():
            read = block.channels["input_limit"][carrying]
            told["limit_a"] = _last(read, now.limit_a)
            told["limit_most_a"] = _most(read, now.limit_most_a)
        if "charge_limit" in block.channels:
            read = block.channels["charge_limit"]
            told["charge_a"] = _last(read, now.charge_a)
            told["charge_most_a"] = _most(read, now.charge_most_a)
        return told

    def _generator(self, block: Block, carrying: NDArray[np.bool_], lasted: Floats) -> dict[str, float]:
        now, told = self.evidence, {}
        if carrying.any():
            charging = carrying & (block.value[INDEX["battery"]] > self._plant.trickle_w)
            told["carrying_s"] = now.carrying_s + float(lasted[carrying].sum())
            told["charged_s"] = now.charged_s + float(lasted[charging].sum())
        if "charger_enabled" in block.channels:
            enabled = block.channels["charger_enabled"]
            if np.isfinite(enabled).any():
                self._off_known = True
            told["charger_off_s"] = now.charger_off_s + float(lasted[carrying & (enabled == 0)].sum())
        return told

    def _grid(self, block: Block, lasted: Floats) -> dict[str, float]:
        """Charged from the grid is what the converter takes beyond what sun and generator give to the AC bus."""
        now = self.evidence
        grid, converter = block.value[INDEX["grid"]], block.value[INDEX["converter_ac"]]
        there = np.abs(grid) > _GRID_W
        if not there.any():
            return {}
        others = np.nan_to_num(block.value[INDEX["solar_ac"]]) + np.nan_to_num(
            block.value[INDEX["generator"]]
        )
        charged = np.clip(converter - others, 0.0, np.maximum(grid, 0.0))
        charged = np.where(there & (charged > _STANDBY_W), charged, 0.0)
        known = np.isfinite(converter) & there
        if not known.any():
            return {"grid_s": now.grid_s + float(lasted[there].sum())}
        before = 0.0 if math.isnan(now.from_grid_wh) else now.from_grid_wh
        amount = before + float((charged[known] * lasted[known]).sum()) / 3600
        return {"grid_s": now.grid_s + float(lasted[there].sum()), "from_grid_wh": amount}

    def _battery(self, block: Block, carrying: NDArray[np.bool_]) -> dict[str, float]:
        now, told = self.evidence, {}
        power = block.measured[INDEX["battery"]]
        alone = (power < -self._plant.trickle_w) & ~carrying
        if alone.any():
            told["lowest_soc"] = -_most(-block.channel("battery_soc")[alone], -now.lowest_soc)
            told["lowest_v"] = -_most(-block.channel("battery_voltage")[alone], -now.lowest_v)
        if "battery_temperature" in block.channels:
            celsius = block.channels["battery_temperature"][power > self._plant.trickle_w]
            told["coldest_c"] = -_most(-celsius, -now.coldest_c)
            told["warmest_c"] = _most(celsius, now.warmest_c)
        return told


def _last(read: Floats, before: float) -> float:
    known = read[np.isfinite(read)]
    return float(known[-1]) if known.size else before


def _most(read: Floats, before: float) -> float:
    return float(np.fmax.reduce(read, initial=before))
