"""What is known of the plant before its rows are looked at: ratings, limits and how well meters read."""

from __future__ import annotations

import math
from dataclasses import dataclass

from desktop.charging.derating import rated_w
from desktop.charging.stops import Facts, carrying_w
from desktop.site import Battery, Meter, Site

LEAD_ACID = frozenset({"flooded", "agm", "gel"})

_COLDEST_CHARGE_C = {"lfp": 0.0, "nmc": 0.0, "flooded": -20.0, "agm": -20.0, "gel": -20.0}
_SLOW_HOLD_S = 900.0


@dataclass(frozen=True, slots=True)
class Plant:
    """The numbers that thresholds are made of. NaN where not known.

    interval_s, hold_s  the usual step between rows, and the longest that is bridged
    slow_hold_s   the same for what changes over hours: charge, temperature, fuel
    volts, hz     nominal, leg to neutral
    plate_w       the generator's rating; rated_w: what is left of it where it stands
    leg_a         the current of one leg at `plate_w` and the sheet's power factor
    limit_a       input limit per leg by the sheet
    charger_a     charger limit by the sheet; battery_a: what the battery itself may take
    """

    site: Site
    interval_s: float
    hold_s: float
    slow_hold_s: float
    volts: float
    hz: float
    legs: int
    power_factor: float
    plate_w: float
    rated_w: float
    carrying_w: float
    leg_a: float
    limit_a: float
    charger_a: float
    battery_a: float
    capacity_wh: float

    @classmethod
    def of(cls, facts: Facts, site: Site) -> Plant:
        """From what was learned and the sheet."""
        generator, battery = site.generator, site.battery
        volts = _known(facts.volts)
        plate = _known(generator.rated_w)
        return cls(
            site=site,
            interval_s=facts.interval_s,
            hold_s=facts.gap_s,
            slow_hold_s=max(facts.gap_s, _SLOW_HOLD_S),
            volts=volts,
            hz=_known(facts.hz),
            legs=generator.legs,
            power_factor=generator.power_factor,
            plate_w=plate,
            rated_w=rated_w(site),
            carrying_w=carrying_w(site),
            leg_a=plate / (generator.power_factor * volts * generator.legs),
            limit_a=_known(site.input.limit_a),
            charger_a=_known(site.charger.limit_a),
            battery_a=_known(battery.max_charge_a),
            capacity_wh=1000 * _known(battery.capacity_kwh),
        )

    def meter_margin(self, channel: str, full_scale: float = math.nan) -> float:
        """By which share a reading near `full_scale` may lie above the truth: two standard deviations, 1..8 %.

        Without it a charger that regulates exactly to its limit would stand in alarm for the gain error of a
        meter. The floor of a meter, in W, counts only where `full_scale` is given.
        """
        meter: Meter = self.site.meter(channel)
        floor = meter.floor_w / full_scale if full_scale > 0 else 0.0
        return min(0.08, max(0.01, 2 * math.hypot(meter.percent / 100, floor)))

    @property
    def lead_acid(self) -> bool:
        """True for flooded, AGM and gel."""
        return self.site.battery.chemistry in LEAD_ACID

    @property
    def coldest_charge_c(self) -> float:
        """Below this the battery must not be charged: the sheet's value, else the chemistry's usual one."""
        battery = self.site.battery
        if battery.min_charge_c is not None:
            return battery.min_charge_c
        return _COLDEST_CHARGE_C.get(battery.chemistry or "", math.nan)

    @property
    def trickle_w(self) -> float:
        """Power at the battery that counts as nothing, W: 1 % of its capacity per hour, at least 100 W."""
        return max(100.0, 0.01 * self.capacity_wh) if self.capacity_wh > 0 else 100.0


def lead_acid_cells(battery: Battery) -> int:
    """Cells in series: from the nominal voltage, else from the absorption voltage; 0 where neither is given."""
    if battery.nominal_v is not None:
        return round(battery.nominal_v / 2)
    # Between 2.30 and 2.50 V per cell, in batteries of six.
    return 6 * round(battery.absorb_v / 2.4 / 6) if battery.absorb_v is not None else 0


def lithium_cells(battery: Battery) -> int:
    """Cells in series by the nominal voltage; 0 where it isn't given.

    A "48 V" battery of iron phosphate has 16 cells as a rule (51.2 V), by its name it would have 15.
    """
    nominal = battery.nominal_v
    if nominal is None:
        return 0
    if battery.chemistry == "lfp":
        return round(nominal / 3) if nominal % 12 == 0 else round(nominal / 3.2)
    return round(nominal / 3.7)


def _known(value: float | None) -> float:
    return math.nan if value is None else float(value)
