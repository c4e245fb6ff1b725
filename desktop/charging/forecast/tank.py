"""When the tank will be empty if the set runs on."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.ahead import Ahead
from desktop.charging.forecast.paths import Paths
from desktop.charging.forecast.view import View
from desktop.charging.fuel.running import running
from desktop.charging.fuel.state import fuel_at
from desktop.flow.learned import Learned
from desktop.flow.minutes import Minutes
from desktop.site import Site

Floats = NDArray[np.float64]

_LAST_STEPS = 30
_USUAL_SD = 0.25
"""How far a house's mean over some hours lies from its usual one, as a share (common practice, no source)."""


def emptied(
    minutes: Minutes,
    learned: Learned,
    site: Site,
    view: View,
    paths: Paths,
    ahead: Ahead,
    chance: np.random.Generator,
) -> Floats | None:
    """(p,) seconds from the view's end; None where curve or tank aren't known.

    Beyond the end of the paths the set is taken to charge on as at their end, and to carry what the house usually
    takes.
    """
    ran = running(minutes, learned, site).until(view.end)
    curve, tank = fuel_at(minutes, ran, site)
    if curve is None or tank is None or not curve.per_hour(0.0) > 0:
        return None
    count = paths.soc.shape[1]
    left = np.maximum(tank.amount + tank.sd * chance.standard_normal(count), 0.0)
    factor = np.exp(curve.sd * chance.standard_normal(count))
    taken = view.ac_of(paths.power - ahead.sun + ahead.dc_load)
    given = np.maximum(taken + ahead.else_ac - ahead.sun_ac, 0.0)
    rate = (curve.idle + curve.per_kwh * given / 1000) * factor
    burnt = np.cumsum(rate, axis=0) * ahead.step_s / 3600
    row = np.argmax(burnt >= left, axis=0)
    within = burnt[-1] >= left
    columns = np.arange(count)
    before = np.where(row > 0, burnt[row - 1, columns], 0.0)
    inside = row * ahead.step_s + (left - before) / rate[row, columns] * 3600
    house = ahead.usual_w * np.exp(_USUAL_SD * chance.standard_normal(count))
    carried = np.maximum(taken[-_LAST_STEPS:].mean(axis=0) + house, 0.0)
    then = (curve.idle + curve.per_kwh * carried / 1000) * factor
    later = len(rate) * ahead.step_s + (left - burnt[-1]) / then * 3600
    seconds: Floats = np.where(within, inside, later)
    return np.where(np.isfinite(seconds), seconds, math.inf)
