"""A quantity with its doubt, and what two of them say about a change."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SDS = 2.0
"""More than so many standard deviations is more than chance: of changes that are none, 1 in 20 gets there."""

WANDERS = 0.2
"""The share of what is wrong with a meter that isn't the same on another day (common practice, no source)."""

FEWEST_PARTS = 4
_TOP = 5
_GUMBEL = math.pi / math.sqrt(6.0)

Verdict = Literal["more", "less", "within chance", "same", "too little", "not known"]
"""What B says against A. `same`: a setting, which has no doubt; `too little`: the doubt itself isn't known."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A quantity in its unit; NaN where not known.

    chance  standard deviation of what another run under the same settings would give
    meters  standard deviation of what the meters (or a fuel curve) get wrong, the same way all the time
    """

    value: float
    chance: float = 0.0
    meters: float = 0.0

    @property
    def sd(self) -> float:
        """One standard deviation of all doubt."""
        return math.hypot(self.chance, self.meters)

    @property
    def known(self) -> bool:
        """False where there is no value."""
        return math.isfinite(self.value)


UNKNOWN = Estimate(math.nan, math.nan, math.nan)


def change(a: Estimate, b: Estimate, *, same_meters: bool) -> Estimate:
    """What B is more than A.

    same_meters  what is wrong with the meters is wrong on both sides, and goes out in the difference but for what
                 wanders
    """
    apart = math.hypot(a.meters, b.meters)
    meters = math.hypot(b.meters - a.meters, WANDERS * apart) if same_meters else apart
    return Estimate(b.value - a.value, math.hypot(a.chance, b.chance), meters)


def verdict(found: Estimate) -> Verdict:
    """Whether a change is one."""
    if not found.known:
        return "not known"
    if found.sd == 0 and found.value == 0:
        return "same"
    if not math.isfinite(found.sd):
        return "too little"
    if abs(found.value) <= SDS * found.sd:
        return "within chance"
    return "more" if found.value > 0 else "less"


def ratio_sd(above: Floats, below: Floats, driver: Floats | None = None, driver_sd: float = 0.0) -> float:
    """Standard deviation of Σ above / Σ below over consecutive parts of a run: the jackknife that leaves out
    one part after the other (Quenouille 1956, Tukey 1958). NaN with too few parts.

    A trend within the run counts as chance too: so the doubt is rather too large than too small.

    driver     (n,) means over the parts of what moves the ratio, and may move more from run to run than within one
    driver_sd  by how much its mean over a run does, one standard deviation
    """
    n = len(above)
    rest = below.sum() - below
    if n < FEWEST_PARTS or not (rest > 0).all():
        return math.nan
    each = (above.sum() - above) / rest
    within = math.sqrt((n - 1) / n * float(((each - each.mean()) ** 2).sum()))
    if driver is None:
        return within
    seen = float(driver.std(ddof=1)) / math.sqrt(n)
    more = max(0.0, (driver_sd / seen) ** 2 - 1.0) if seen > 0 else 0.0
    return within * math.sqrt(1.0 + _explained(each, driver) * more)


def _explained(values: Floats, driver: Floats) -> float:
    """The share of the variance that goes with the driver, less what chance alone would show (adjusted r²)."""
    n = len(values)
    spread = float(values.std() * driver.std())
    if not spread > 0:
        return 0.0
    r = float(((values - values.mean()) * (driver - driver.mean())).mean()) / spread
    return max(0.0, 1.0 - (1.0 - r * r) * (n - 1) / (n - 2))


def highest_sd(peaks: Floats) -> float:
    """Standard deviation of the highest of many peaks: by how far the highest few lie above the next (Weissman
    1978, an exponential tail). NaN with too few peaks.
    """
    if len(peaks) < 2 * _TOP:
        return math.nan
    top = np.sort(peaks)[::-1][: _TOP + 1]
    return _GUMBEL * float(top[:_TOP].mean() - top[_TOP])


def parts(table: Floats, weights: Floats, most: int) -> Floats:
    """(k, n) sums of the columns of `table` (k, m) over up to `most` consecutive parts of equal weight (m,)."""
    reached = np.cumsum(weights) - weights / 2
    number = np.minimum((reached / weights.sum() * most).astype(np.int64), most - 1)
    firsts = np.flatnonzero(np.diff(number, prepend=-1))
    sums: Floats = np.add.reduceat(table, firsts, axis=1)
    return sums
