"""Meters: what they make of the truth, within their class and with the faults that were ordered."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drivers.plant.clock import Clock
from drivers.plant.faults import lie, loses_leg, swap
from drivers.plant.scenario import Fault, MeterClass, Scenario
from recordings.channels import CHANNELS

Floats = NDArray[np.float64]

_OFFSET_PART, _NOISE_PART = 0.6, 0.8
_WORST_GAIN = 2.0

_ONE_WAY = ("load", "solar", "dc_load", "generator_voltage", "generator_current", "generator_frequency")
"""Meters of what runs one way only don't show less than nothing, unless they are wired the wrong way round."""


@dataclass(frozen=True, slots=True)
class Class:
    """One standard deviation: `percent` of the reading and `floor`, in quadrature. Told in steps of `quantum`."""

    percent: float
    floor: float
    quantum: float


_BY_UNIT = {
    "W": Class(1.0, 8.0, 1.0),
    "V": Class(0.2, 0.2, 0.1),
    "A": Class(1.0, 0.1, 0.1),
    "Hz": Class(0.01, 0.01, 0.01),
    "°C": Class(0.0, 0.1, 0.1),
    "%": Class(0.0, 0.0, 0.1),
    "": Class(0.0, 0.0, 1.0),
}
_BY_CHANNEL = {
    "battery_voltage": Class(0.1, 0.01, 0.01),
    "fuel_level": Class(0.0, 0.2, 1.0),
    "input_limit": Class(0.0, 0.0, 0.1),
    "charge_limit": Class(0.0, 0.0, 0.1),
}


def class_of(channel: str, given: MeterClass | None = None) -> Class:
    """A channel's class: what the scenario gives, and the usual where it gives nothing."""
    usual = _BY_CHANNEL.get(channel) or _BY_UNIT[CHANNELS[channel].unit]
    if given is None:
        return usual
    return Class(
        usual.percent if given.percent is None else given.percent,
        usual.floor if given.floor is None else given.floor,
        given.quantum or usual.quantum,
    )


class Meter:
    """One meter. Its gain error and offset are drawn once, its noise for each reading, all by the seed.

    Where the truth is exactly nothing it reads nothing: meters don't creep.
    """

    def __init__(self, channel: str, kind: Class, seed: int, skew_s: float = 0.0) -> None:
        self.channel, self.kind, self.skew_s = channel, kind, skew_s
        self._noise = np.random.default_rng([abs(seed), zlib.crc32(channel.encode())])
        gain, offset = self._noise.standard_normal(2).clip(-_WORST_GAIN, _WORST_GAIN)
        self.gain = 1.0 + kind.percent / 100.0 * float(gain)
        self.offset = _OFFSET_PART * kind.floor * float(offset)

    def read(self, truth: Floats) -> Floats:
        """(n,) readings of n true values, not yet rounded."""
        noise = _NOISE_PART * self.kind.floor * self._noise.standard_normal(len(truth))
        reading: Floats = np.where(truth == 0.0, 0.0, truth * self.gain + self.offset + noise)
        return np.maximum(reading, 0.0) if self.channel.startswith(_ONE_WAY) else reading

    def told(self, reading: Floats) -> Floats:
        """(n,) readings in the steps and within the range in which they are told."""
        channel = CHANNELS[self.channel]
        steps = np.round(reading / self.kind.quantum)
        # Dividing by a whole number gives the nearest decimal; multiplying by 0.1 doesn't.
        per_unit = round(1.0 / self.kind.quantum)
        stepped = steps / per_unit if per_unit > 1 else steps * self.kind.quantum
        clipped: Floats = np.clip(stepped, channel.lowest, channel.highest) + 0.0
        return clipped


def read_all(
    scenario: Scenario,
    channels: Sequence[str],
    seed: int,
    clock: Clock,
    seconds: Floats,
    truth: Mapping[str, Floats],
    stamps: Floats,
) -> dict[str, Floats]:
    """What the meters of a scenario say at each stamp.

    seconds  (m,) moments of the truth, since the start; a true value holds from the step before to its moment
    truth    name → (m,) true values
    stamps   (n,) moments of the readings, since the start
    """
    meters = {name: _meter(scenario, name, seed) for name in channels}
    read: dict[str, Floats] = {}
    for name, meter in meters.items():
        rows = np.searchsorted(seconds, stamps - meter.skew_s - 1e-6).clip(0, len(seconds) - 1)
        source = truth[loses_leg(name, scenario.fault, truth)]
        read[name] = meter.read(source[rows])
    for fault in scenario.fault:
        if fault.channel in read:
            _apply(fault, read, clock, stamps)
    return {name: meters[name].told(values) for name, values in read.items()}


def _meter(scenario: Scenario, name: str, seed: int) -> Meter:
    given = scenario.meters.get(name)
    return Meter(name, class_of(name, given), seed, given.skew_s if given else 0.0)


def _apply(fault: Fault, read: dict[str, Floats], clock: Clock, stamps: Floats) -> None:
    first = clock.seconds(fault.since, fault.day) if fault.since else -np.inf
    last = clock.seconds(fault.until, fault.day) if fault.until else np.inf
    rows = (stamps >= first) & (stamps <= last)
    if fault.kind == "absent":
        del read[fault.channel]
    elif fault.kind == "swapped":
        if fault.other in read:
            swap(read[fault.channel], read[fault.other], rows)
    else:
        lie(fault, read[fault.channel], rows)
