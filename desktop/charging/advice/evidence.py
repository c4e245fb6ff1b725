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
_LEAST_S, _LONGEST_S = 2.0, 120.0
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
        back_off=_back_off(recording, generator, learned, site, trips),
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
    recording: Recording, generator: Singles, learned: Learned, site: Site, trips: tuple[int, ...]
) -> BackOff:
    if not learned.interval_s <= COARSEST_S or not learned.volts > 0:
        return USUAL_BACK_OFF
    limit = _limit_a(recording, site)
    if limit is None:
        return USUAL_BACK_OFF
    set_ = site.generator
    allowed = limit * learned.volts * set_.legs * set_.power_factor
    return measured_back_off(recording.time, generator, allowed, learned.interval_s, trips)


def _limit_a(recording: Recording, site: Site) -> Singles | float | None:
    if "input_limit" in recording:
        return recording.column("input_limit")
    return site.input.limit_a


def measured_back_off(
    time: NDArray[np.int64],
    generator: Singles,
    allowed: Singles | float,
    interval_s: float,
    trips: tuple[int, ...] = (),
) -> BackOff:
    """How long load steps lay over the limit before the charger had given way; the usual delay where none did.

    allowed  (n,) or one: what the limit lets through, W
    """
    over = generator > _OVER * np.asarray(allowed)
    edges = np.diff(np.concatenate(([False], over, [False])).astype(np.int8))
    firsts, ends = np.flatnonzero(edges > 0), np.flatnonzero(edges < 0)
    inside = (firsts > 0) & (ends < len(time))
    firsts, ends = firsts[inside], ends[inside]
    lasted = (time[ends] - time[firsts]) / 1e9
    # What ended with the set's stop tells of the set, and what lasts for minutes of a house above the limit.
    tripped = np.array(
        [
            any(time[first] <= trip <= time[end] for trip in trips)
            for first, end in zip(firsts, ends, strict=True)
        ],
        bool,
    )
    told = lasted[(lasted >= max(_LEAST_S, 1.5 * interval_s)) & (lasted <= _LONGEST_S) & ~tripped]
    if not told.size:
        return USUAL_BACK_OFF
    return BackOff(float(np.quantile(told, _USUAL_QUANTILE)), assumed=False)


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
