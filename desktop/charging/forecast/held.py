"""The voltage that charging holds."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.chemistry import absorb_v, cells_of
from desktop.charging.forecast.view import View, kind_of
from desktop.site import Site

Floats = NDArray[np.float64]

HELD = 0.985
"""From this share of it on the terminals count as held there."""

STANDS = 0.997
"""From this share on it is the voltage that tells the current, and no other limit."""


_REFERENCE_C = 25.0


def charge_v(view: View, site: Site, usual_v: float) -> float:
    """The sheet's or assumed absorption voltage, V, as it is at the battery's temperature where that is known;
    lead-acid is charged higher in the cold. usual_v tells of the cells where the sheet doesn't."""
    told, kind = absorb_v(site.battery, usual_v), kind_of(site)
    if kind is None or not math.isfinite(view.celsius):
        return told
    return told + cells_of(site.battery, usual_v) * kind.mv_per_c / 1000 * (view.celsius - _REFERENCE_C)


def held_v(view: View, site: Site) -> float:
    """The voltage at which the charge will be held, V: `charge_v`, lowered to what was held in fact; NaN where the
    voltage isn't metered."""
    if not view.metered_v:
        return math.nan
    told = charge_v(view, site, view.volts_now)
    highest = float(np.nanquantile(view.volts[view.session], 0.95))
    near = abs(highest / told - 1) < 0.03 and _stands(view.volts[view.session][-10:], highest)
    return highest if near else told


def _stands(volts: Floats, highest: float) -> bool:
    return len(volts) >= 10 and float(np.ptp(volts)) < 0.003 * highest
