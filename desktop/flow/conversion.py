"""What the inverter-charger loses: an idle loss and a share of the power that feeds it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from desktop.site import Site
from recordings.channels import POWERS
from recordings.recording import Recording


@dataclass(frozen=True, slots=True)
class Conversion:
    """loss = idle_w + slope·|power on the side that feeds the converter|

    source    "fitted" from the recording, or "assumed"
    idle_sd_w, slope_sd  how well the law is known, one standard deviation of each
    """

    idle_w: float
    slope: float
    source: Literal["fitted", "assumed"]
    idle_sd_w: float
    slope_sd: float


ASSUMED = Conversion(idle_w=45.0, slope=0.085, source="assumed", idle_sd_w=25.0, slope_sd=0.03)
"""A charger at 3 kW is about 90 % efficient (common practice)."""

_USUAL_W = 1500.0
_LEAST_IDLE_W = 5.0
_ENOUGH = 65_536


def assumed_for(recording: Recording, site: Site) -> Conversion:
    """The assumed law for a converter of this plant's size: one that is built for little idles on little.

    The size is the inverter's or charger's rating, else the largest power that was metered. Idle losses of 1 to
    3 % of the rating are common practice, no source.
    """
    size = site.inverter.rated_w or site.charger.rated_w or _largest(recording)
    share = size / _USUAL_W
    if not share < 1:
        return ASSUMED
    idle = float(f"{max(_LEAST_IDLE_W, ASSUMED.idle_w * share):.2g}")
    return replace(ASSUMED, idle_w=idle, idle_sd_w=max(_LEAST_IDLE_W, ASSUMED.idle_sd_w * share))


def _largest(recording: Recording) -> float:
    """NaN where no power was metered."""
    stride = 1 + len(recording) // _ENOUGH
    powers = [np.abs(recording.column(name)[::stride]) for name in POWERS if name in recording]
    largest = [float(np.fmax.reduce(power[np.isfinite(power)], initial=0.0)) for power in powers]
    return max(largest, default=0.0) or float("nan")
