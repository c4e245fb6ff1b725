"""How a charger follows the input limit, and the most it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.learned import Learned
from desktop.site import Site

Floats = NDArray[np.float64]

_CHARGING_VOLTS = 1.12
"""A battery's voltage towards the end of charging, over its nominal one (common practice, no source)."""

USUAL_DELAY_S = 6.0
"""How long a charger leaves a load step on the input before it gives way, where nothing was measured (assumed)."""

ASSUMED_DOUBT = 0.025
"""How well a charger holds its limit where nothing was measured, as a share of full load (assumed)."""


@dataclass(frozen=True, slots=True)
class BackOff:
    """How a charger gives way when house and charger together exceed the input limit.

    delay_s   from a load step until it begins to give way
    ramp_w_s  how quickly it gives way then, W/s
    """

    delay_s: float = USUAL_DELAY_S
    assumed: bool = True
    ramp_w_s: float = math.inf


USUAL_BACK_OFF = BackOff()


@dataclass(frozen=True, slots=True)
class Held:
    """How the charger holds the input at its limit.

    below_a  how far below the limit the busiest leg is held, A; negative where above
    doubt    standard deviation of what the input is held at, as a share of full load
    """

    below_a: float = 0.0
    doubt: float = ASSUMED_DOUBT
    assumed: bool = True


ASSUMED_HELD = Held()


def most_w(site: Site, learned: Learned) -> float:
    """The most that the charger can take from the AC side, W; infinite where nothing tells."""
    slope, idle = learned.conversion.slope, learned.conversion.idle_w
    ends = [site.charger.rated_w or math.inf]
    if site.battery.nominal_v is not None:
        for amperes in (site.charger.limit_a, site.battery.max_charge_a):
            if amperes is not None:
                ends.append((amperes * _CHARGING_VOLTS * site.battery.nominal_v + idle) / (1 - slope))
    return min(ends)


def taken(load: Floats, limit_w: float, most: float, back_off: BackOff, step_s: float) -> Floats:
    """(n,) what the charger takes from the AC side while the house takes `load`, W.

    It takes what the limit leaves, but what a load step takes away it gives only after its delay, and not at once.
    """
    left = np.clip(limit_w - load, 0.0, most)
    held = _highest_of_latest(left, 1 + round(back_off.delay_s / step_s))
    if math.isinf(back_off.ramp_w_s):
        return held
    falling = back_off.ramp_w_s * step_s * np.arange(len(held))
    giving: Floats = np.maximum.accumulate(held + falling) - falling
    return giving


def _highest_of_latest(values: Floats, steps: int) -> Floats:
    """(n,) the highest of each value and of those before it, `steps` in all."""
    highest, width = values.copy(), 1
    while width < steps:
        shift = min(width, steps - width)
        highest[shift:] = np.maximum(highest[shift:], highest[:-shift].copy())
        width += shift
    return highest
