"""Sun that nobody took: where the battery was full, the meter tells what was used and not what there was.

Such readings are censored. What solar could have given then is estimated from how the same day's sun compared with
the best of the days around, at times when it was all taken; where that can't be told the reading stands, as the
least that it was.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.outlook.rule import SLOTS

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

FULL_SOC = 98.5
"""From here on a battery is full: percent displays are rounded."""

FULL_SHARE_OF_ABSORB = 0.985
"""From this share of the absorption voltage on its charger holds back."""

_RESTING_W = 50.0
_SUNLIT_SHARE = 0.05
_NEAR_SLOTS = SLOTS * 3 // 24
_ENVELOPE_DAYS = 30
_LEAST_RATIOS = 3


@dataclass(frozen=True, slots=True)
class BatteryAtBin:
    """(b,) What is known of the battery in each bin; NaN where nothing is."""

    soc: Floats
    volts: Floats
    power: Floats
    absorb_v: float | None

    @property
    def told(self) -> bool:
        """Whether anything tells when it was full."""
        return bool(np.isfinite(self.soc).any()) or (
            self.absorb_v is not None and bool(np.isfinite(self.volts).any())
        )

    def held_back(self) -> Flags:
        """(b,) True where it was full and gave nothing, so that solar may have been held back."""
        full = self.soc >= FULL_SOC
        if self.absorb_v is not None:
            full |= self.volts >= FULL_SHARE_OF_ABSORB * self.absorb_v
        # A battery that gives takes the sun's part in the load: all of the sun is used then.
        return full & ~(self.power < -_RESTING_W)


@dataclass(frozen=True, slots=True)
class Uncurtailed:
    """(d, SLOTS) What solar could give, W, and how much of it is an estimate.

    held_h       hours of sun in which the battery was full
    estimated_h  of these, hours whose sun could be estimated
    told         False where nothing tells when the battery was full
    """

    sun_dc: Floats
    sun_ac: Floats
    held_h: float
    estimated_h: float
    told: bool


def uncurtailed(sun_dc: Floats, sun_ac: Floats, held: Flags, dates: Ints, *, told: bool) -> Uncurtailed:
    """Put an estimate where solar was held back.

    sun_dc, sun_ac  (d, SLOTS) as recorded, W
    held            (d, SLOTS) True where the battery was full
    dates           (d,) days since 1970-01-01
    """
    both = sun_dc + sun_ac
    sunlit = both > _SUNLIT_SHARE * both.max(initial=0.0)
    held = held & sunlit
    if not held.any():
        return Uncurtailed(sun_dc, sun_ac, 0.0, 0.0, told)
    could = both.copy()
    estimated = np.zeros_like(held)
    free = np.where(held | ~sunlit, np.nan, both)
    for day in np.flatnonzero(held.any(axis=1)).tolist():
        best = _envelope(free, dates, day)
        for slot in np.flatnonzero(held[day] & (best > 0)).tolist():
            share = _share_of_best(free[day], best, slot)
            if share is not None:
                estimated[day, slot] = True
                could[day, slot] = max(both[day, slot], share * best[slot])
    more = np.divide(could, both, out=np.ones_like(both), where=both > 0)
    per_hour = 24 / SLOTS
    return Uncurtailed(
        sun_dc * more, sun_ac * more, float(held.sum()) * per_hour, float(estimated.sum()) * per_hour, told
    )


def _envelope(free: Floats, dates: Ints, day: int) -> Floats:
    """(SLOTS,) the most that was seen at each time of day in the season of a day; 0 where none was."""
    near = np.abs(dates - dates[day]) <= _ENVELOPE_DAYS
    best: Floats = np.fmax.reduce(free[near], axis=0, initial=0.0)
    return best


def _share_of_best(sun: Floats, best: Floats, slot: int) -> float | None:
    """How this day's sun compared with the best around a time of day; None where that isn't known."""
    around = slice(max(0, slot - _NEAR_SLOTS), slot + _NEAR_SLOTS + 1)
    for part in (around, slice(None)):
        usable = np.isfinite(sun[part]) & (best[part] > 0)
        if usable.sum() >= _LEAST_RATIOS:
            return float(np.median(sun[part][usable] / best[part][usable]))
    return None
