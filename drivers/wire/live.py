"""A plant that runs on, and what its meters say at each stamp: the same as a simulation of it records."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

from drivers.plant.faults import lie, loses_leg, swap
from drivers.plant.meters import Floats, Meter, class_of
from drivers.plant.plant import Plant
from drivers.plant.scenario import Fault, Scenario
from drivers.plant.truth import channels_of

_ROUNDING_S = 1e-6
_THIS_ROW = np.ones(1, np.bool_)


@dataclass(frozen=True, slots=True)
class Reading:
    """What all meters say at one instant.

    number  counted from 0 at the scenario's start
    time    UTC nanoseconds by the plant's clock
    values  channel → reading in the channel's unit and sign; NaN for a missing one
    """

    number: int
    time: int
    values: dict[str, float]


class LivePlant:
    """A scenario that goes on for as long as it is asked. Deterministic by scenario and seed.

    interval_s  how far its readings lie apart; None for the scenario's own logging interval
    channels    what its meters tell, in the vocabulary's order
    """

    def __init__(self, scenario: Scenario, seed: int | None = None, interval_s: float | None = None) -> None:
        self.scenario = scenario
        self._plant = Plant(scenario, seed)
        log = scenario.log
        self.interval_s = interval_s or log.interval_s
        present = channels_of(self._plant)
        self._read = [name for name in present if not log.channels or name in log.channels]
        absent = {fault.channel for fault in scenario.fault if fault.kind == "absent"}
        self.channels = tuple(name for name in self._read if name not in absent)
        self._meters = {name: self._meter(name) for name in self._read}
        self._longest_skew_s = max((meter.skew_s for meter in self._meters.values()), default=0.0)
        self._truths = deque([(self._plant.now, self._plant.truth())])
        self._stuck: dict[int, Floats] = {}
        self._number = 0

    def quantum(self, channel: str) -> float:
        """The step in which a channel's meter tells its readings."""
        return self._meters[channel].kind.quantum

    def next(self) -> Reading:
        """Go on to the next stamp, and read the meters."""
        plant, stamp = self._plant, self._number * self.interval_s
        while plant.now < stamp - _ROUNDING_S:
            truth = plant.step(min(plant.step_s, stamp - plant.now))
            self._truths.append((plant.now, truth))
        while self._truths[0][0] < stamp - self._longest_skew_s - _ROUNDING_S:
            self._truths.popleft()
        values = self._readings(stamp)
        time = plant.clock.start_ns + round(stamp * 1e9)
        reading = Reading(self._number, time, {name: float(values[name][0]) for name in self.channels})
        self._number += 1
        return reading

    def _meter(self, name: str) -> Meter:
        given = self.scenario.meters.get(name)
        return Meter(name, class_of(name, given), self._plant.seed, given.skew_s if given else 0.0)

    def _readings(self, stamp: float) -> dict[str, Floats]:
        faults = self.scenario.fault
        read: dict[str, Floats] = {}
        for name, meter in self._meters.items():
            seen = stamp - meter.skew_s - _ROUNDING_S
            truth = next(values for at, values in self._truths if at >= seen)
            true_values = {each: np.array([value]) for each, value in truth.items()}
            read[name] = meter.read(true_values[loses_leg(name, faults, true_values)])
        for place, fault in enumerate(faults):
            if fault.channel in read and self._holds(fault, stamp):
                self._apply(place, fault, read)
        return {name: self._meters[name].told(values) for name, values in read.items()}

    def _holds(self, fault: Fault, stamp: float) -> bool:
        clock = self._plant.clock
        begun = fault.since is None or stamp >= clock.seconds(fault.since, fault.day)
        return begun and (fault.until is None or stamp <= clock.seconds(fault.until, fault.day))

    def _apply(self, place: int, fault: Fault, read: dict[str, Floats]) -> None:
        reading = read[fault.channel]
        if fault.kind == "swapped":
            if fault.other in read:
                swap(reading, read[fault.other], _THIS_ROW)
        elif fault.kind == "stuck":
            reading[:] = self._stuck.setdefault(place, reading.copy())
        else:
            lie(fault, reading, _THIS_ROW)
