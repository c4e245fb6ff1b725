"""What a house takes off the input limit: the limit is kept leg by leg, so the busiest leg counts for all."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.ceilings import Ceilings
from desktop.charging.forecast.view import View
from desktop.site import Site

Floats = NDArray[np.float64]

_LEAST_KNOWN = 3
_LEAN, _LEAN_SD = 0.5, 0.4
UNEVEN, _UNEVEN_SD = 0.3, 0.2
"""Most of what is switched on in a house with several legs sits on one of them, and what always runs isn't spread
evenly either (common practice, no source). For each leg beyond the first."""
_SPREAD_EACH = 0.03


@dataclass(frozen=True, slots=True)
class Burden:
    """What the house takes off the source's ceiling, W: (m,) `base`, and for each unit of `slope` `tilt` more.

    With one leg it is the house's load. With several it is legs times the load of the busiest one: seen where
    currents are metered leg by leg or the input limit held the charge, else by the load.
    """

    base: Floats
    tilt: Floats
    slope: float
    slope_sd: float

    @property
    def middle(self) -> Floats:
        """(m,) as it is most likely."""
        return self.base + self.slope * self.tilt


def burden_of(view: View, ceilings: Ceilings, house: Floats, site: Site) -> Burden:
    """house  (m,) W, no gaps"""
    legs = site.generator.legs
    nothing = np.zeros(len(house))
    if legs == 1 or not math.isfinite(ceilings.source_w.value):
        return Burden(house, nothing, 0.0, 0.0)
    most = ceilings.source_w.value + view.sun_ac - view.ac_of(view.converter_dc)
    metered = view.source * view.uneven + view.sun_ac - view.ac_of(view.converter_dc)
    running = np.arange(len(house)) >= view.first
    seen = np.where(np.isfinite(metered), metered, np.where(ceilings.held, most, np.nan))
    known = running & np.isfinite(seen)
    if known.sum() < _LEAST_KNOWN:
        bound = np.where(running & np.isfinite(most), most, np.inf)
        level, sd = UNEVEN * (legs - 1), _UNEVEN_SD * (legs - 1)
        # What was charged besides says how uneven it can be at most.
        over = np.maximum(bound[view.session] / np.maximum(house[view.session], 1.0) - 1.0, 0.0)
        highest = float(np.quantile(over, 0.1, method="lower"))
        return Burden(house, house, min(level, 0.7 * highest), min(sd, 0.3 * highest))
    usual, load = float(seen[known].mean()), float(house[known].mean())
    off = house[known] - load
    prior, prior_sd = 1 + _LEAN * (legs - 1), _LEAN_SD * (legs - 1)
    noise = _SPREAD_EACH * ceilings.source_w.value
    weight = float(off @ off) / noise**2 + 1 / prior_sd**2
    slope = (float(off @ (seen[known] - usual)) / noise**2 + prior / prior_sd**2) / weight
    slope = min(max(slope, 0.0), float(legs))
    # While something else held the charge down, it left at least what was taken.
    bounded = running & np.isfinite(most)
    likely = np.where(bounded, np.minimum(usual + slope * (house - load), most), usual)
    base = np.where(known, seen, likely)
    return Burden(base, np.where(known | bounded, 0.0, house - load), slope, 1 / math.sqrt(weight))
