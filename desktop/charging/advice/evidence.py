"""What a recording shows that bears on the limit: how the charger gave way, what the set endured, uneven legs."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.advice import Shown
from desktop.charging.advice.charger import USUAL_BACK_OFF, BackOff
from desktop.charging.advice.endurance import USUAL_ENDURANCE, Endurance, learned_endurance
from desktop.charging.advice.house import COARSEST_S
from desktop.charging.derating import rated_w
from desktop.flow.learned import Learned
from desktop.site import Site
from recordings.channels import LEGS
from recordings.recording import Recording

Singles = NDArray[np.float32]

_OVER = 1.03
_NEAR, _STEP = 0.9, 0.08
_LONGEST_S = 120.0
_AFTER_NS = 10_000_000_000
_USUAL_QUANTILE = 0.9
_RUNNING_SHARE = 0.2
_FEWEST_ROWS = 60


def shown_by(
    recording: Recording,
    load: Singles,
    generator: Singles,
    learned: Learned,
    site: Site,
    trips: tuple[int, ...],
    need_wh: float,
) -> Shown:
    """The evidence in a recording.

    load, generator  (n,) reconciled powers, W; NaN where not known
    trips            when the set tripped by overload, UTC nanoseconds
    need_wh          what the battery still takes until its target, Wh; NaN where not known
    """
    uneven = unevenness(recording, site.generator.legs)
    return Shown(
        time=recording.time,
        load=load,
        uneven=uneven,
        need_wh=need_wh,
        back_off=_back_off(recording, load, generator, learned, site, trips),
        endurance=_endurance(recording, generator, learned, site, trips, uneven),
    )


def unevenness(recording: Recording, legs: int) -> float:
    """The current of the busiest leg over the mean of the legs while the set carries load; 1 with one leg."""
    names = [f"generator_current_{leg}" for leg in LEGS[:legs]]
    if legs < 2 or any(name not in recording for name in names):
        return 1.0
    currents = np.abs(np.stack([recording.column(name) for name in names]))
    mean = currents.mean(axis=0)
    carrying = mean > _RUNNING_SHARE * np.nanmax(mean, initial=0.0)
    if carrying.sum() < _FEWEST_ROWS:
        return 1.0
    return float(np.median(currents.max(axis=0)[carrying] / mean[carrying]))


def _back_off(
    recording: Recording,
    load: Singles,
    generator: Singles,
    learned: Learned,
    site: Site,
    trips: tuple[int, ...],
) -> BackOff:
    if not learned.interval_s <= COARSEST_S or not learned.volts > 0:
        return USUAL_BACK_OFF
    limit = _limit_a(recording, site)
    if limit is None:
        return USUAL_BACK_OFF
    set_ = site.generator
    allowed = limit * learned.volts * set_.legs * set_.power_factor
    return measured_back_off(recording.time, load, generator, allowed, trips)


def _limit_a(recording: Recording, site: Site) -> Singles | float | None:
    if "input_limit" in recording:
        return recording.column("input_limit")
    return site.input.limit_a


def measured_back_off(
    time: NDArray[np.int64],
    load: Singles,
    generator: Singles,
    allowed: Singles | float,
    trips: tuple[int, ...] = (),
) -> BackOff:
    """How long load steps lay over the limit before the charger had given way; the usual delay where none did.

    load, generator  (n,) W; NaN where not known
    allowed          (n,) or one: what the limit lets through, W
    """
    limit = np.broadcast_to(np.asarray(allowed, np.float32), generator.shape)
    at_limit = generator[:-1] >= _NEAR * limit[:-1]
    steps = 1 + np.flatnonzero((np.diff(load) > _STEP * limit[1:]) & at_limit)
    inside = np.flatnonzero(generator <= _OVER * limit)
    lasted = [_lasted(time, inside, step, trips) for step in _apart(time, steps)]
    told = [each for each in lasted if each is not None]
    if not told:
        return USUAL_BACK_OFF
    return BackOff(float(np.quantile(told, _USUAL_QUANTILE)), assumed=False)


def _apart(time: NDArray[np.int64], steps: NDArray[np.int64]) -> list[int]:
    """The first of steps that follow each other closely."""
    kept: list[int] = []
    for step in steps.tolist():
        if not kept or time[step] - time[kept[-1]] > _LONGEST_S * 1e9:
            kept.append(step)
    return kept


def _lasted(
    time: NDArray[np.int64], inside: NDArray[np.int64], step: int, trips: tuple[int, ...]
) -> float | None:
    """How long the input lay over its limit after a step, s; None where that tells nothing of the charger.

    What ended with the set's stop tells of the set, and what lasts for minutes of a house above the limit.
    """
    place = int(np.searchsorted(inside, step))
    if place == len(inside):
        return None
    begun, back = int(time[step]), int(time[inside[place]])
    over_s = (back - begun) / 1e9
    if over_s > _LONGEST_S or any(begun <= trip <= back + _AFTER_NS for trip in trips):
        return None
    return over_s


def _endurance(
    recording: Recording,
    generator: Singles,
    learned: Learned,
    site: Site,
    trips: tuple[int, ...],
    uneven: float,
) -> Endurance:
    carried = rated_w(site)
    if math.isnan(carried) or not learned.interval_s <= COARSEST_S:
        return USUAL_ENDURANCE
    share = generator.astype(np.float64) * uneven / carried
    rows = np.searchsorted(recording.time, np.array(trips, np.int64))
    return learned_endurance(share, learned.interval_s, rows.clip(0, max(0, len(share) - 1)))
