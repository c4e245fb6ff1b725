"""Published fuel lines and heating values, for sets whose data sheet isn't known. All of them are rough."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class PublishedLine:
    """F = idle · rated kW + slope · kW, units per hour; both coefficients go with the size of the set.

    sizes  rated kW, rising; idle, slope at each of them, straight over the logarithm of the size between them
    sd     how far sets lie from it, one standard deviation as a share
    kwh    lower heating value of a unit of this fuel, kWh
    """

    sizes: tuple[float, ...]
    idle: tuple[float, ...]
    slope: tuple[float, ...]
    sd: float
    kwh: float

    def coefficients(self, rated_kw: float) -> tuple[float, float]:
        """(units per hour and rated kW, units per kWh) of a set of this size."""
        size, sizes = np.log(rated_kw), np.log(self.sizes)
        return float(np.interp(size, sizes, self.idle)), float(np.interp(size, sizes, self.slope))


_GASOLINE_KWH = 8.83
"""Middle of gasoline with 10 % ethanol, 8.680 kWh/L, and high-end gasoline, 8.988 kWh/L (112 114 and 116 090 Btu
per US gallon; Alternative Fuels Data Center, fuel properties)."""

_PROPANE_KWH = 6.5227
"""84 250 Btu per US gallon (Alternative Fuels Data Center)."""

_NATURAL_GAS_KWH = 10.2
"""About 36.6 MJ/m³ lower heating value at 15 °C; quoted from memory, gas differs by some percent."""

_SPARK_IDLE, _SPARK_SLOPE = 0.19, 0.296
"""A portable gasoline set of 7 kW burns about 5 US gallons in 8 h at half load (a published account): 0.676 L/kWh.
That a throttled engine without load burns some 40 % of what it burns at full load is common practice, no source."""


def _spark(kwh: float, sd: float) -> PublishedLine:
    """The gasoline line at the same efficiency with another fuel."""
    factor = _GASOLINE_KWH / kwh
    return PublishedLine((7.0,), (_SPARK_IDLE * factor,), (_SPARK_SLOPE * factor,), sd, kwh)


PUBLISHED: dict[str, PublishedLine] = {
    # Through published consumption charts of sets from 8 to 100 kW, copies of which differ by 10 %; Skarstein &
    # Uhlen 1989, Wind Engineering 13(2), F = 0.246 P + 0.08145 P_rated (quoted from memory), lies some 10 % above
    # for small sets. Heating value: 128 488 Btu per US gallon (Alternative Fuels Data Center).
    "diesel": PublishedLine((20.0, 100.0), (0.060, 0.033), (0.260, 0.246), 0.12, 9.9477),
    "gasoline": _spark(_GASOLINE_KWH, 0.25),
    "propane": _spark(_PROPANE_KWH, 0.28),
    "natural gas": _spark(_NATURAL_GAS_KWH, 0.30),
}
"""By the name of the fuel that the site sheet uses."""
