"""The meters of a plant: what is looked at when one of them is suspected."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.block import Block
from desktop.flow.learned import Learned
from desktop.flow.streams import INDEX, STREAMS
from desktop.site import Site
from recordings.channels import LEGS

Floats = NDArray[np.float64]

POWER_FACTOR_PERCENT = 10.0
"""How far volts times amperes may lie from real power where the sheet gives no power factor: loads of a house
lie between 0.8 and 1 (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Meter:
    """One meter, whose readings are told as power into or out of a stream, W.

    channel   what is accused: the power's channel, or that of the amperes
    stream    the stream that it tells of
    volts     the channel that its amperes are multiplied with; "" for a meter of power
    factor    what volts times amperes are multiplied with
    percent, floor_w   its class, one standard deviation
    """

    channel: str
    stream: str
    volts: str
    factor: float
    percent: float
    floor_w: float

    @property
    def of_power(self) -> bool:
        """True where it reads power itself."""
        return not self.volts

    def read(self, block: Block) -> Floats:
        """(n,) its readings as power, W; NaN where there are none."""
        if self.of_power:
            row: Floats = block.measured[INDEX[self.stream]]
            return row
        return self.factor * block.channel(self.volts) * block.channel(self.channel)


def meters_of(channels: Collection[str], learned: Learned, site: Site) -> tuple[Meter, ...]:
    """The meters of a plant with these channels: of power, in the order of STREAMS, then of amperes."""
    metering = learned.metering
    direct = [
        Meter(
            metering.direct[name],
            name,
            "",
            1.0,
            metering.percent[INDEX[name]],
            metering.floor_w[INDEX[name]],
        )
        for name in STREAMS
        if metering.direct.get(name) in channels
    ]
    return (*direct, *_battery(channels, learned, site), *_generator(channels, learned, site))


def _battery(channels: Collection[str], learned: Learned, site: Site) -> list[Meter]:
    if not learned.network.has("battery"):
        return []
    if "battery_voltage" not in channels or "battery_current" not in channels:
        return []
    return [_amperes("battery_current", "battery", "battery_voltage", 1.0, 0.0, site)]


def _generator(channels: Collection[str], learned: Learned, site: Site) -> list[Meter]:
    if not learned.network.has("generator"):
        return []
    factor = site.generator.power_factor
    doubt = 0.0 if site.given("generator", "power_factor") else POWER_FACTOR_PERCENT
    legs = [leg for leg in LEGS if f"generator_current_{leg}" in channels]
    if legs and (not site.given("generator", "legs") or len(legs) == site.generator.legs):
        pairs = [(f"generator_current_{leg}", _volts(channels, leg), factor) for leg in legs]
    elif "generator_current" in channels:
        pairs = [("generator_current", _volts(channels, "l1"), factor * site.generator.legs)]
    else:
        return []
    if any(not volts for _, volts, _ in pairs):
        return []
    return [_amperes(channel, "generator", volts, each, doubt, site) for channel, volts, each in pairs]


def _volts(channels: Collection[str], leg: str) -> str:
    for name in (f"generator_voltage_{leg}", "generator_voltage"):
        if name in channels:
            return name
    return ""


def _amperes(channel: str, stream: str, volts: str, factor: float, doubt: float, site: Site) -> Meter:
    meters = site.meter(channel), site.meter(volts)
    percent = math.hypot(*(meter.percent for meter in meters), doubt)
    return Meter(channel, stream, volts, factor, percent, math.hypot(*(meter.floor_w for meter in meters)))
