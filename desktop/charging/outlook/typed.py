"""Days that a person describes: appliances with their watts and hours, and hours of full sun."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from desktop.charging.outlook.days import Days
from desktop.charging.outlook.rule import SLOTS, Hours
from desktop.site import Appliance
from recordings.errors import UsageError

Floats = NDArray[np.float64]

SUN_DAYS = 10
"""So many days of sun, from dull to bright and equally likely, stand for all."""

SUN_SPREAD = 0.6
"""How far a day's sun is usually off the mean of days, as a share (common practice, no source)."""

SUN_FROM, SUN_UNTIL = 7.0, 17.0
"""Hours between which the sun shines on the panels, as a half sine (assumed)."""


def day_of(appliances: Sequence[Appliance]) -> Floats:
    """(SLOTS,) W: each appliance's energy, spread evenly over the hours in which it may run.

    UsageError where an appliance runs for longer than its hours allow.
    """
    day = np.zeros(SLOTS)
    for one in appliances:
        hours = Hours(one.since or 0.0, 24.0 if one.until is None else one.until)
        if one.hours_per_day > hours.length + 1e-9:
            raise UsageError(
                f"{one.name} can't run for {one.hours_per_day:g} hours",
                expected=f"at most the {hours.length:g} hours from {hours.start:g} to {hours.until:g}",
                mend="mend its hours_per_day, since or until",
            )
        within = hours.within() if hours.length < 24 else np.ones(SLOTS, bool)
        day[within] += one.watts * one.count * one.hours_per_day * SLOTS / 24 / within.sum()
    return day


def typed_days(appliances: Sequence[Appliance], sun_dc_wh: float, sun_ac_wh: float) -> Days:
    """Days of these appliances under this much sun a day, Wh at the panels' terminals in the mean of days."""
    shares = _sun_shares()
    sun = shares[:, None] * _half_sine()
    nothing = np.zeros((SUN_DAYS, SLOTS))
    return Days(
        load=nothing + day_of(appliances),
        dc_load=nothing,
        sun_dc=sun * sun_dc_wh,
        sun_ac=sun * sun_ac_wh,
        date=np.zeros(SUN_DAYS, np.int64),
        weight=np.full(SUN_DAYS, 1.0),
        load_typed=True,
        sun_typed=True,
        in_order=False,
    )


def with_appliances(days: Days, appliances: Sequence[Appliance]) -> Days:
    """The recorded sun, and these appliances in place of the recorded load."""
    load = np.broadcast_to(day_of(appliances), days.load.shape)
    return replace(days, load=load, dc_load=np.zeros_like(days.load), load_typed=True)


def with_sun(days: Days, sun_dc_wh: float, sun_ac_wh: float) -> Days:
    """The recorded load, and this much sun a day in place of the recorded one.

    Every recorded day comes once with each of the days of sun.
    """
    many = SUN_DAYS
    sun = np.tile(_sun_shares()[:, None] * _half_sine(), (len(days), 1))
    return Days(
        load=np.repeat(days.load, many, axis=0),
        dc_load=np.repeat(days.dc_load, many, axis=0),
        sun_dc=sun * sun_dc_wh,
        sun_ac=sun * sun_ac_wh,
        date=np.repeat(days.date, many),
        weight=np.repeat(days.weight / many, many),
        load_typed=days.load_typed,
        sun_typed=True,
        in_order=False,
    )


def _sun_shares() -> Floats:
    """(SUN_DAYS,) how each day's sun compares with the mean: the middles of equal parts of a log-normal law."""
    sd = float(np.sqrt(np.log1p(SUN_SPREAD**2)))
    law = NormalDist(0.0, sd)
    shares = np.exp([law.inv_cdf((number + 0.5) / SUN_DAYS) for number in range(SUN_DAYS)])
    mean: Floats = shares / shares.mean()
    return mean


def _half_sine() -> Floats:
    """(SLOTS,) of the day's energy, as power in W per Wh."""
    hour = (np.arange(SLOTS) + 0.5) * 24 / SLOTS
    shape = np.maximum(np.sin((hour - SUN_FROM) / (SUN_UNTIL - SUN_FROM) * np.pi), 0.0)
    shape[(hour < SUN_FROM) | (hour > SUN_UNTIL)] = 0.0
    per_wh: Floats = shape / shape.sum() * SLOTS / 24
    return per_wh
