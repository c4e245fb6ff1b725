"""What a look at a whole recording teaches about the plant, before its rows are worked through."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from desktop.flow.conversion import Conversion, assumed_for
from desktop.flow.fit import fit_conversion
from desktop.flow.measure import Metering
from desktop.flow.network import Network, seen
from desktop.site import Site
from recordings.channels import LEGS
from recordings.recording import Recording

__all__ = ["Conversion", "Learned", "learn"]

SHORTEST_GAP_S = 60.0
INTERVALS_IN_GAP = 3.0

NOMINAL_VOLTS = (100.0, 110.0, 120.0, 127.0, 220.0, 230.0, 240.0)
"""Leg to neutral, as they are in use (common practice)."""

NOMINAL_HZ = (50.0, 60.0)

_NEAR = 0.1
_TURNING_HZ = 30.0
_LIVE_VOLTS = 60.0
_ENOUGH = 65_536


@dataclass(frozen=True, slots=True, eq=False)
class Learned:
    """What was learned of a plant. Two of them are equal when the same was learned; NaN equals NaN.

    network     its streams
    metering    how each is metered
    conversion  what the converter loses
    interval_s  median step between rows, s; NaN with fewer than two rows
    gap_s       the longest step that is bridged, s
    volts, hz   the generator's nominal values, leg to neutral: the sheet's, else those near what it showed
                while it ran; NaN where nothing tells
    """

    network: Network
    metering: Metering
    conversion: Conversion
    interval_s: float
    gap_s: float
    volts: float
    hz: float

    def __eq__(self, other: object) -> bool:
        # By its text, in which NaN is NaN and every float stands exactly.
        return isinstance(other, Learned) and repr(self) == repr(other)

    def __hash__(self) -> int:
        return hash(repr(self))


def learn(recording: Recording, site: Site) -> Learned:
    """Learn from all rows of a recording. What is learned is rounded, so that a few rows more change nothing."""
    channels = seen(recording)
    network = Network.of(recording, site)
    volts = site.generator.volts or _nominal(recording, _voltages(channels), _LIVE_VOLTS, NOMINAL_VOLTS)
    hz = site.generator.hz or _nominal(recording, channels & {"generator_frequency"}, _TURNING_HZ, NOMINAL_HZ)
    interval_s = _interval(recording)
    metering = Metering.of(channels, network, site, volts)
    conversion = fit_conversion(recording, network, metering)
    if conversion.source != "fitted":
        conversion = assumed_for(recording, site)
    return Learned(
        network=network,
        metering=metering,
        conversion=conversion,
        interval_s=interval_s,
        gap_s=float(np.fmax(INTERVALS_IN_GAP * interval_s, SHORTEST_GAP_S)),
        volts=volts,
        hz=hz,
    )


def _interval(recording: Recording) -> float:
    if len(recording) < 2:
        return math.nan
    return rounded(float(np.median(np.diff(recording.time))) / 1e9)


def _voltages(channels: frozenset[str]) -> frozenset[str]:
    return channels & {"generator_voltage", *(f"generator_voltage_{leg}" for leg in LEGS)}


def _nominal(
    recording: Recording, channels: frozenset[str], least: float, nominals: tuple[float, ...]
) -> float:
    """The nominal value nearest to the median of readings above `least`, or that median if none is near."""
    stride = 1 + len(recording) // _ENOUGH
    readings = [recording.column(name)[::stride] for name in sorted(channels)]
    running = np.concatenate([row[row > least] for row in readings]) if readings else np.empty(0)
    if not running.size:
        return math.nan
    middle = float(np.median(running))
    nearest = min(nominals, key=lambda nominal: abs(nominal - middle))
    return nearest if abs(nearest - middle) <= _NEAR * nearest else rounded(middle)


def rounded(value: float, digits: int = 3) -> float:
    """The value to so many significant digits."""
    return float(f"{value:.{digits}g}")
