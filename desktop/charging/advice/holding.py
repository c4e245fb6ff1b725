"""How far below its limit a charger holds the input, measured while it follows the house."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.charger import ASSUMED_HELD, Held
from desktop.charging.advice.legs import EVEN, Uneven, by_load

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_PLATEAU_QUANTILE = 0.9
_WIDTH = 0.03
_LEAST_SHARE, _FEWEST_ROWS = 0.15, 60
_FOLLOWS = 0.5
_LIKE_ONE = 40
_FARTHEST = 0.5


def measured_held(busiest: Floats, load_a: Floats, limit: Floats, full_load_a: float, meter: float) -> Held:
    """What the charger makes of its limit; what is usual where the recording doesn't show it following the house.

    busiest  (n,) current of the busiest leg while it charges, A; NaN elsewhere
    load_a   (n,) what the house takes, as a current per leg, A
    limit    (n,) the limit that is set, A
    meter    standard deviation of the meter of `busiest`, as a share of its reading
    """
    held = plateau(busiest, load_a, limit)
    if held is None:
        return ASSUMED_HELD
    doubt = meter * float(np.median(busiest[held])) / full_load_a
    return Held(float(np.median((limit - busiest)[held])), doubt, assumed=False)


def measured_unmetered(
    mean: Floats,
    load_a: Floats,
    limit: Floats,
    full_load_a: float,
    meter: float,
    watts_per_a: float,
    legs: int,
) -> tuple[Held, Uneven]:
    """The same where only what all legs carry together is known, and how the house's load lies on the legs.

    A charger that looks at the busiest leg lets through less in all, the more unevenly the house's load lies. What
    can't be told apart from that is taken as the house's.

    mean  (n,) current of all legs together over their number while it charges, A; NaN elsewhere
    """
    held = plateau(mean, load_a, limit, legs)
    if held is None:
        return ASSUMED_HELD, EVEN
    load, below = load_a[held], (limit - mean)[held]
    taken, lacking = by_load(load, below)
    at_most = (legs - 1) * taken
    below_a = max(0.0, float(np.max(lacking - at_most)))
    extra = np.clip(lacking - below_a, 0.0, at_most)
    doubt = meter * float(np.median(mean[held])) / full_load_a
    uneven = Uneven(tuple((taken * watts_per_a).tolist()), tuple((extra * watts_per_a).tolist()))
    return Held(below_a, doubt, assumed=False), uneven


def plateau(current: Floats, load_a: Floats, limit: Floats, legs: int = 1) -> Flags | None:
    """(n,) True where the limit holds the input while the house's load goes up and down; None where nothing shows
    that: a charger that something else holds back leaves every change of the house on the input.

    legs  over how many the current is the mean: it may lie below that of the busiest by what the house takes
    """
    known = np.isfinite(current) & np.isfinite(load_a) & np.isfinite(limit)
    if known.sum() < _FEWEST_ROWS:
        return None
    below = np.where(known, limit - current, np.inf)
    set_a = float(np.median(limit[known]))
    # From the plateau's level: below it the battery may be what holds the charger back.
    level = float(np.quantile(below[known], 1 - _PLATEAU_QUANTILE))
    over = below - level
    near: Flags = (over > -_WIDTH * set_a) & (over < _WIDTH * set_a + (legs - 1) * np.nan_to_num(load_a))
    if near.sum() < max(_FEWEST_ROWS, _LEAST_SHARE * known.sum()) or abs(level) > _FARTHEST * set_a:
        return None
    return near if _steady(current[near], load_a[near]) else None


def _steady(current: Floats, load: Floats) -> bool:
    """True where the current surely doesn't follow the load."""
    spread = float(np.std(load))
    if not spread > 0:
        return False
    slope = float(np.mean((current - current.mean()) * (load - load.mean()))) / spread**2
    rest = float(np.std(current - slope * load))
    # Neighbouring readings tell the same thing again.
    doubt = rest / spread / math.sqrt(max(1.0, len(load) / _LIKE_ONE))
    return slope + 2 * doubt < _FOLLOWS
