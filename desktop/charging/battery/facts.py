"""What is concluded of a battery."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.resistance import Resistance

Floats = NDArray[np.float64]

Origin = Literal["measured", "given", "assumed", "not known"]
Lack = Literal["", "no power", "no state of charge", "too little moved", "nothing fits", "rows too far apart"]


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its 95 % interval, NaN where not known.

    origin  "measured" from the recording; "given" by the site sheet, without an interval; "assumed" by chemistry,
            where the recording tells nothing better; or "not known"
    """

    value: float = math.nan
    low: float = math.nan
    high: float = math.nan
    origin: Origin = "not known"

    @classmethod
    def given(cls, value: float | None) -> Estimate:
        """What the site sheet gives."""
        return cls() if value is None else cls(float(value), origin="given")

    @classmethod
    def of(cls, samples: Floats, origin: Origin = "measured") -> Estimate:
        """The median and the middle 95 % of equally likely values."""
        low, middle, high = (float(value) for value in np.quantile(samples, (0.025, 0.5, 0.975)))
        return cls(middle, low, high, origin)

    @property
    def known(self) -> bool:
        """True where there is a value."""
        return math.isfinite(self.value)


NOT_KNOWN = Estimate()


@dataclass(frozen=True, slots=True)
class OwnSoc:
    """State of charge counted anew from anchors, beside the reported one; (n,) each, one per minute.

    time      UTC nanoseconds
    soc, sd   percent; NaN where no anchor reaches
    reported  percent
    full, rest  how many anchors of each kind there were
    """

    time: NDArray[np.int64]
    soc: Floats
    sd: Floats
    reported: Floats
    full: int
    rest: int


@dataclass(frozen=True, slots=True)
class BatteryFacts:
    """A battery as its recording shows it.

    charge_in_ah, charge_out_ah, energy_in_wh, energy_out_wh  what was counted; NaN where not known
    capacity_wh   what the terminals deliver from 100 to 0 %
    fill_wh       what they take in from 0 to 100 %
    capacity_ah   the charge that is in it at 100 %
    coulombic, energy_efficiency  shares of charge and energy that can be had back of what was put in, over a
                  whole charge
    resistance    by steps of the load; None where there were too few
    half_cycles   times that the charge went up or down, on which the capacity rests
    lack          why the capacity isn't measured
    cells         in series; 0 where not known
    gain_sd       how far the meter's gain may be off, as a share: common to all half-cycles, so that more of
                  them don't help against it
    own_soc       None where the recording has no anchor
    """

    charge_in_ah: float
    charge_out_ah: float
    energy_in_wh: float
    energy_out_wh: float
    capacity_wh: Estimate
    fill_wh: Estimate
    capacity_ah: Estimate
    coulombic: Estimate
    energy_efficiency: Estimate
    resistance: Resistance | None
    half_cycles: int
    lack: Lack
    cells: int
    gain_sd: float
    own_soc: OwnSoc | None
