"""What rows of readings show of a charge: a few yes-or-no signs, and the values that are told beside them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.bands import HIGHEST_HZ, HIGHEST_V, LOWEST_HZ, LOWEST_V
from desktop.diagnosis.plant import Plant
from desktop.review import Review
from recordings.channels import LEGS

Floats = NDArray[np.float64]

SIGNS = (
    "live", "running", "in_band", "loaded", "carried", "charging", "full", "enabled", "limit_fits", "temperate",
)  # fmt: skip
"""live: the generator's line carries voltage; running: the set turns; in_band: frequency and voltage are in
their bands; loaded: power is taken from it; carried: it carries the house; charging: the battery charges;
full: the battery is at its target; enabled: the charger may run; limit_fits: the input limit is at or below what
the set can carry; temperate: the battery may be charged at its temperature. What changes in one row is told in
this order."""

LIVE_V = 50.0
"""Alternating voltage above which a line counts as live: the limit of extra-low voltage (IEC 61140)."""

AS_IT_WAS = 0.5
"""A sign that is read and stays as it was: between the levels at which it comes and goes."""

LIMIT_SLACK = 1.02
"""As the finding about a limit above the rating has it."""

_LIVE_SHARE = 0.1
_TURNING_HZ, _TURNING_V = 0.8, 0.5
"""Shares of nominal above which terminals show that a set runs."""

_NAN = math.nan


@dataclass(frozen=True, slots=True)
class Signs:
    """Consecutive rows.

    time    (n,) UTC nanoseconds
    signs   sign → (n,) 1 where it shows, 0 where it shows that it doesn't, AS_IT_WAS, or NaN where nothing
            is read
    values  volts, hz, limit, celsius, soc → (n,) readings
    """

    time: NDArray[np.int64]
    signs: dict[str, Floats]
    values: dict[str, Floats]


def leg_a(plant: Plant) -> float:
    """The current per leg that the generator can carry where it stands, A; NaN where not known."""
    return plant.rated_w / (plant.volts * plant.legs)


def signs_of(review: Review, plant: Plant, start: int, stop: int) -> Signs:
    """What the rows [start, stop) of a review's recording show."""
    rows = _Rows(review, plant, slice(start, stop))
    signs = {
        "live": rows.live(),
        "running": rows.running(),
        "in_band": rows.in_band(),
        "loaded": rows.loaded(),
        "carried": rows.carried(),
        "charging": _between(rows.stream("battery"), plant.trickle_w, 0.5 * plant.trickle_w),
        "full": _at_least(rows.read("battery_soc"), plant.site.battery.target_soc),
        "enabled": _at_least(rows.read("charger_enabled"), 0.5),
        "limit_fits": _at_least(-rows.read("input_limit"), -LIMIT_SLACK * leg_a(plant)),
        "temperate": rows.temperate(),
    }
    values = {
        "volts": rows.volts,
        "hz": rows.hz,
        "limit": rows.read("input_limit"),
        "celsius": rows.read("battery_temperature"),
        "soc": rows.read("battery_soc"),
    }
    return Signs(review.recording.time[start:stop], signs, values)


class _Rows:
    def __init__(self, review: Review, plant: Plant, part: slice) -> None:
        self._review, self._plant, self._part = review, plant, part
        self._rows = part.stop - part.start
        self._legs = [
            self.read(name)
            for name in ("generator_voltage", *(f"generator_voltage_{leg}" for leg in LEGS))
            if name in review.recording
        ]
        self.volts = _fold(np.fmax, self._legs, self._rows)
        self.hz = self.read("generator_frequency")
        metered = self.read("generator_power")
        self._power = np.where(np.isnan(metered), self.stream("generator"), metered)
        self._by_terminals = bool(self._legs) or "generator_frequency" in review.recording

    def read(self, channel: str) -> Floats:
        """(n,) readings; NaN where there are none."""
        if channel not in self._review.recording:
            return np.full(self._rows, _NAN)
        return self._review.recording.column(channel)[self._part].astype(np.float64)

    def stream(self, name: str) -> Floats:
        """(n,) reconciled power, W."""
        return self._review.stream(name)[self._part].astype(np.float64)

    def live(self) -> Floats:
        """Power or voltage show a live line; only terminals show a dead one."""
        shown = _either(_at_least(self.volts, LIVE_V), _at_least(self.hz, _LIVE_SHARE * self._plant.hz))
        return np.where(self._power > self._plant.carrying_w, 1.0, shown)

    def running(self) -> Floats:
        """By its speed, else by its voltage; where it has neither meter, by whether it gives power."""
        if not self._by_terminals:
            return self.loaded()
        by_speed = _at_least(self.hz, _TURNING_HZ * self._plant.hz)
        by_volts = _at_least(self.volts, _TURNING_V * self._plant.volts)
        return np.where(np.isnan(by_speed), by_volts, by_speed)

    def in_band(self) -> Floats:
        """Frequency and each voltage that is read."""
        plant = self._plant
        checks = [_within(self.hz, LOWEST_HZ * plant.hz, HIGHEST_HZ * plant.hz)]
        checks += [_within(leg, LOWEST_V * plant.volts, HIGHEST_V * plant.volts) for leg in self._legs]
        return _fold(np.fmin, checks, self._rows)

    def loaded(self) -> Floats:
        """With a band between in which it stays as it was."""
        carrying = self._plant.carrying_w
        return _between(self._power, carrying, 0.5 * carrying)

    def carried(self) -> Floats:
        """Power is taken from the generator, and the inverter-charger gives none to the house."""
        carrying = self._plant.carrying_w
        relieved = _between(self.stream("converter_ac"), -carrying, -2 * carrying)
        loaded = self.loaded()
        return np.where(loaded == 1, relieved, loaded)

    def temperate(self) -> Floats:
        """Between the sheet's temperatures of charging, or those of the battery's chemistry."""
        hottest = self._plant.site.battery.max_charge_c
        coldest = self._plant.coldest_charge_c
        if hottest is None and math.isnan(coldest):
            return np.full(self._rows, _NAN)
        read = self.read("battery_temperature")
        return _within(
            read,
            -math.inf if math.isnan(coldest) else coldest,
            math.inf if hottest is None else hottest,
        )


def _at_least(read: Floats, level: float) -> Floats:
    if math.isnan(level):
        return np.full(len(read), _NAN)
    return np.where(np.isnan(read), _NAN, (read >= level).astype(np.float64))


def _within(read: Floats, lowest: float, highest: float) -> Floats:
    if math.isnan(lowest) or math.isnan(highest):
        return np.full(len(read), _NAN)
    return np.where(np.isnan(read), _NAN, ((read >= lowest) & (read <= highest)).astype(np.float64))


def _between(read: Floats, upper: float, lower: float) -> Floats:
    between = np.where(np.isnan(read), _NAN, AS_IT_WAS)
    return np.where(read > upper, 1.0, np.where(read < lower, 0.0, between))


def _either(one: Floats, other: Floats) -> Floats:
    return _fold(np.fmax, [one, other], len(one))


def _fold(how: np.ufunc, rows: Iterable[Floats], count: int) -> Floats:
    folded = np.full(count, _NAN)
    for row in rows:
        folded = how(folded, row)
    return folded
