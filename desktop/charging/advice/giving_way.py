"""How quickly a charger gives way, measured at load steps that came while it was held at the limit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.charger import USUAL_BACK_OFF, BackOff

Singles = NDArray[np.float32]

_NEAR, _STEP = 0.95, 0.08
_BACK = 0.15
_BEFORE_S, _LONGEST_S = 30.0, 120.0
_SETTLED_S = 4.0
_AFTER_NS = 10_000_000_000


@dataclass(frozen=True, slots=True)
class Overshoot:
    """What one load step put over the limit, until the charger had given way.

    excess_w  how far the input would have lain over the limit had the charger not given way
    lasted_s  how long it lay over it
    area_ws   power over the limit, added up
    """

    excess_w: float
    lasted_s: float
    area_ws: float


def measured_back_off(
    time: NDArray[np.int64],
    load: Singles,
    generator: Singles,
    allowed: Singles | float,
    interval_s: float,
    trips: tuple[int, ...] = (),
) -> BackOff:
    """How load steps lay over the limit before the charger had given way; the usual delay where none did.

    load, generator  (n,) W, as if every leg carried what its busiest does; NaN where not known
    allowed          (n,) or one: what the charger lets through, W
    """
    limit = np.broadcast_to(np.asarray(allowed, np.float32), generator.shape)
    at_limit = generator[:-1] >= _NEAR * limit[:-1]
    steps = 1 + np.flatnonzero((np.diff(load) > _STEP * limit[1:]) & at_limit)
    seen = [_overshoot(time, load, generator, step, interval_s, trips) for step in _apart(time, steps)]
    return fitted([each for each in seen if each is not None])


def fitted(seen: list[Overshoot]) -> BackOff:
    """Delay and ramp that explain these overshoots.

    With a delay d and a ramp r, an excess e lasts d + e/r and adds up to e·d + e²/2r. Both are right on the mean
    however far apart the readings lie. The delay is one that isn't exceeded in four cases of five.
    """
    if not seen:
        return USUAL_BACK_OFF
    excess, lasted, area = np.array([(each.excess_w, each.lasted_s, each.area_ws) for each in seen]).T
    mean_s = area / excess
    slowness = max(0.0, float(np.median(2 * (lasted - mean_s) / excess)))
    delays = mean_s - slowness * excess / 2
    doubt = float(np.std(delays)) / math.sqrt(len(seen))
    delay = max(0.0, float(np.median(delays)) + doubt)
    return BackOff(delay, assumed=False, ramp_w_s=1 / slowness if slowness > 0 else math.inf)


def _apart(time: NDArray[np.int64], steps: NDArray[np.int64]) -> list[int]:
    """The first of steps that follow each other closely."""
    kept: list[int] = []
    for step in steps.tolist():
        if not kept or time[step] - time[kept[-1]] > _LONGEST_S * 1e9:
            kept.append(step)
    return kept


def _overshoot(
    time: NDArray[np.int64],
    load: Singles,
    generator: Singles,
    step: int,
    interval_s: float,
    trips: tuple[int, ...],
) -> Overshoot | None:
    """What lay over the limit after a step; None where that tells nothing of the charger.

    What ended with the set's stop tells of the set, and what lasts for minutes of a house above the limit.
    """
    begun = int(time[step])
    first, end = np.searchsorted(time, [begun - _BEFORE_S * 1e9, begun + _LONGEST_S * 1e9])
    # The first reading may have caught a part of the step, or the inrush of a motor.
    after = load[step + 1 : step + 1 + max(1, round(_SETTLED_S / interval_s))]
    if not all(np.isfinite(part).any() for part in (generator[first:step], load[first:step], after)):
        return None
    held = float(np.nanmedian(generator[first:step]))
    excess = float(np.nanmedian(after) - np.nanmedian(load[first:step]))
    excess = min(excess, held - float(np.nanmedian(load[first:step])))
    back = np.flatnonzero(generator[step:end] <= held + _BACK * excess)
    if not back.size or not excess > _STEP / 2 * held:
        return None
    until = int(time[step + back[0]])
    if any(begun <= trip <= until + _AFTER_NS for trip in trips):
        return None
    over = np.clip(generator[step : step + back[0]] - held, 0.0, excess)
    return Overshoot(excess, float(back[0]) * interval_s, float(np.nansum(over)) * interval_s)
