"""What the inverter-charger loses: an idle loss and a share of the power that feeds it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


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
