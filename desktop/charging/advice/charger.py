"""How a charger follows the input limit, and the most it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.learned import Learned
from desktop.site import Site

Floats = NDArray[np.float64]

USUAL_DELAY_S = 6.0
"""How long a charger leaves a load step on the input before it gives way, where nothing was measured (assumed)."""


@dataclass(frozen=True, slots=True)
class BackOff:
    """How a charger gives way when house and charger together exceed the input limit.

    delay_s  from a load step until the input is back at its limit
    """

    delay_s: float = USUAL_DELAY_S
    assumed: bool = True


USUAL_BACK_OFF = BackOff()


def most_w(site: Site, learned: Learned) -> float:
    """The most that the charger can take from the AC side, W; infinite where nothing tells."""
    slope, idle = learned.conversion.slope, learned.conversion.idle_w
    ends = [site.charger.rated_w or math.inf]
    if site.battery.nominal_v is not None:
        for amperes in (site.charger.limit_a, site.battery.max_charge_a):
            if amperes is not None:
                ends.append((amperes * site.battery.nominal_v + idle) / (1 - slope))
    return min(ends)


def taken(load: Floats, limit_w: float, most: float, back_off: BackOff, step_s: float) -> Floats:
    """(n,) what the charger takes from the AC side while the house takes `load`, W.

    It takes what the limit leaves, but what a load step takes away it gives only after its delay.
    """
    left = np.clip(limit_w - load, 0.0, most)
    return _highest_of_latest(left, 1 + round(back_off.delay_s / step_s))


def _highest_of_latest(values: Floats, steps: int) -> Floats:
    """(n,) the highest of each value and of those before it, `steps` in all."""
    highest, width = values.copy(), 1
    while width < steps:
        shift = min(width, steps - width)
        highest[shift:] = np.maximum(highest[shift:], highest[:-shift].copy())
        width += shift
    return highest
