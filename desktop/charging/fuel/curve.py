"""The fuel curve: a straight line over electrical power, off the data sheet or assumed by kind of fuel and size."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from desktop.charging.fuel.published import PUBLISHED
from desktop.site import Generator, Site

Source = Literal["data sheet", "assumed", "refills", "fuel gauge", "refills and fuel gauge"]
"""Where a curve is from; the last three: the line before it, scaled by what was really burnt."""

SHEET_SD = 0.05
"""How well a data sheet's points fit one set, one standard deviation as a share. ISO 3046-1 lets declared fuel
consumption be exceeded by 5 % (quoted from memory)."""

BEST_SHARE = 0.75
"""Low load is held against three quarters of the rating, where sets are usually run (common practice)."""

_UNITS = {"natural gas": "m³"}


@dataclass(frozen=True, slots=True)
class FuelCurve:
    """F = idle + per_kwh · P.

    idle     what it burns without load, units per hour
    per_kwh  what each further kWh takes, units
    sd       how well the whole line is known: one standard deviation as a share, the same along the line
    unit     "L", or "m³" of natural gas
    rated_w  what full load is, W
    """

    idle: float
    per_kwh: float
    sd: float
    unit: str
    rated_w: float
    source: Source

    def per_hour(self, watts: float) -> float:
        """Units per hour at an electrical power."""
        return self.idle + self.per_kwh * watts / 1000

    def burnt(self, running_h: float, watt_hours: float) -> float:
        """Units burnt by a set that ran for so many hours and gave so much."""
        return self.idle * running_h + self.per_kwh * watt_hours / 1000

    def each_kwh(self, watts: float) -> float:
        """Units for each kWh at this power; NaN without load."""
        return self.per_hour(watts) / (watts / 1000) if watts > 0 else math.nan

    @property
    def best_each_kwh(self) -> float:
        """Units for each kWh at three quarters of the rating."""
        return self.each_kwh(BEST_SHARE * self.rated_w)

    def scaled(self, factor: float, sd: float, source: Source) -> FuelCurve:
        """The line times a factor that is known to `sd` (absolute)."""
        return replace(
            self,
            idle=self.idle * factor,
            per_kwh=self.per_kwh * factor,
            sd=sd / factor,
            source=source,
        )


def fuel_unit(site: Site) -> str | None:
    """In what the sheet's fuel is told; None where the sheet names no fuel."""
    fuel = site.generator.fuel
    return None if fuel is None else _UNITS.get(fuel, "L")


def fuel_curve(site: Site) -> FuelCurve | None:
    """The curve of the sheet's set; None where neither the sheet nor a published line tells.

    The data sheet's points belong to the set's plate rating: thin or warm air takes some of what it can carry,
    not of what it burns for each kWh. Where only one point is given, the published line is scaled through it.
    """
    set_ = site.generator
    if set_.rated_w is None:
        return None
    half, full = set_.fuel_half_load, set_.fuel_full_load
    if half is not None and full is not None and half < full <= 2 * half:
        rated_kw = set_.rated_w / 1000
        per_kwh = 2 * (full - half) / rated_kw
        return FuelCurve(2 * half - full, per_kwh, SHEET_SD, _unit(set_), set_.rated_w, "data sheet")
    assumed = _assumed(set_)
    if assumed is None or (half is None and full is None):
        return assumed
    share, point = (1.0, full) if full is not None else (0.5, half)
    factor = (point or 0.0) / assumed.per_hour(share * set_.rated_w)
    return assumed.scaled(factor, 2 * SHEET_SD * factor, "data sheet")


def _assumed(set_: Generator) -> FuelCurve | None:
    line = PUBLISHED.get(set_.fuel or "")
    if line is None or set_.rated_w is None:
        return None
    idle, slope = line.coefficients(set_.rated_w / 1000)
    return FuelCurve(idle * set_.rated_w / 1000, slope, line.sd, _unit(set_), set_.rated_w, "assumed")


def _unit(set_: Generator) -> str:
    return _UNITS.get(set_.fuel or "", "L")
