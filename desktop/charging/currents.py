"""The generator's input current per leg."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.flow.block import Block
from desktop.words import Phrase
from recordings.channels import LEGS

Floats = NDArray[np.float64]


def leg_currents(block: Block, volts: float, legs: int, power_factor: float) -> Floats:
    """(legs, n) current that the generator gives on each leg, A; NaN where nothing tells.

    Metered per leg where there are such meters, else the one current meter for every leg, else worked out from
    the power, shared evenly.

    volts  leg to neutral, NaN where not known; a voltage reading takes precedence over it
    """
    single = np.abs(block.channel("generator_current"))
    if np.isnan(single).any():
        single = np.where(np.isnan(single), _from_power(block, volts, legs, power_factor), single)
    metered = [f"generator_current_{leg}" for leg in LEGS[:legs]]
    if not any(name in block.channels for name in metered):
        return np.broadcast_to(single, (legs, len(block)))
    # Row by row, so that it doesn't matter when a meter's channel first appeared.
    every = np.stack([np.abs(block.channel(name)) for name in metered])
    return np.where(np.isnan(every).all(axis=0), single, every)


def _from_power(block: Block, volts: float, legs: int, power_factor: float) -> Floats:
    read = block.channel("generator_voltage")
    if "generator_voltage" not in block.channels and "generator_voltage_l1" in block.channels:
        read = block.channel("generator_voltage_l1")
    # A set that isn't running shows no volts, or a few: no current can be worked out from those.
    floor = 0.5 * volts if volts > 0 else 20.0
    across = np.where(read > floor, read, volts)
    power = np.abs(block.stream("generator"))
    with np.errstate(divide="ignore", invalid="ignore"):
        current: Floats = power / (across * legs * power_factor)
    return current


def each_leg(amperes: float, legs: int) -> Phrase:
    """`25.0 A per leg`; `25.0 A` where there is only one leg."""
    if legs > 1:
        return Phrase("{amperes:A} per leg", amperes=amperes)
    return Phrase("{amperes:A}", amperes=amperes)
