"""The plants of all runs: what of a plant is known to a range only is another value in each run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.outlook.plant import PlantFacts

Floats = NDArray[np.float64]

DOUBTS = 4
"""Of a plant: capacity, efficiency, the converter's idle loss and its slope."""

_LEAST_EFFICIENCY = 0.3


@dataclass(frozen=True, slots=True)
class Plants:
    """One plant, and (runs,) each what differs between runs; see Storage and ConverterFacts."""

    usual: PlantFacts
    capacity_wh: Floats
    efficiency: Floats
    efficiency_full: Floats
    idle_w: Floats
    slope: Floats

    @classmethod
    def of(cls, plant: PlantFacts, doubts: Floats) -> Plants:
        """doubts  (DOUBTS, runs) by how many standard deviations each run's plant is off"""
        battery, converter = plant.battery, plant.converter
        capacity, efficiency, idle, slope = doubts
        keeps = battery.efficiency + battery.efficiency_sd * efficiency
        keeps = np.clip(keeps, min(_LEAST_EFFICIENCY, battery.efficiency), 1.0)
        return cls(
            plant,
            battery.capacity_wh * np.exp(battery.capacity_sd * capacity),
            keeps,
            keeps * (battery.efficiency_full / battery.efficiency),
            np.clip(converter.idle_w + converter.idle_sd_w * idle, 0.0, 2 * converter.idle_w),
            np.clip(converter.slope + converter.slope_sd * slope, 0.0, 2 * converter.slope),
        )

    @property
    def reserve_wh(self) -> Floats:
        """(runs,) what the battery can give where the inverter goes off."""
        return self.capacity_wh * (self.usual.battery.reserve_soc / 100)

    @property
    def taper_wh(self) -> Floats:
        """(runs,) from so much missing on the battery takes less."""
        return self.capacity_wh * (1 - self.usual.battery.taper_soc / 100)
