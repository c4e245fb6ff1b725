"""The battery to reckon with: what its recording tells, the sheet gives or is usual, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.chemistry import CHEMISTRIES, Chemistry, chemistry_of
from desktop.charging.battery.facts import Estimate
from desktop.charging.forecast.store import AGEING_SD
from desktop.charging.outlook.assumption import Note, Source
from desktop.charging.outlook.evidence import Evidence
from desktop.charging.outlook.plant import Storage
from desktop.site import Site
from desktop.words import template
from recordings.errors import UsageError

Floats = NDArray[np.float64]

_USUAL_EFFICIENCY = 0.93
_USUAL_EFFICIENCY_SD = 0.04
_USUAL_ACCEPT_C = 0.3
_LEAD_AT_FULL = 0.42
"""What lead-acid keeps when it is nearly full, over what it keeps before (after Stevens & Corey, Sandia 1996, whose
figures are quoted from memory)."""

_WELL_KNOWN = 0.1
"""A measured value whose 95 % interval is wider than ± this share tells less than a name plate."""

_SDS_IN_95 = 3.92
_GAUGE_SD = 0.02
"""How far a reported state of charge is off, as a share of the capacity, one standard deviation (common practice,
no source)."""


_RECORDED: Source = "recorded"
_ASSUMED: Source = "assumed"


class _Known(NamedTuple):
    """A value and its standard deviation."""

    value: float
    sd: float


@dataclass(frozen=True, slots=True)
class Falling:
    """How a battery's efficiency falls in a straight line from `taper_soc` to 100 %, to a share of what it was."""

    taper_soc: float
    share: float

    def at(self, soc: Floats) -> Floats:
        """(m,) the efficiency at states of charge, as a share of that before the taper."""
        beyond = np.maximum(soc - self.taper_soc, 0.0) / max(100.0 - self.taper_soc, 1e-9)
        return 1.0 - (1.0 - self.share) * np.minimum(beyond, 1.0)

    def before(self, whole: float) -> float:
        """The efficiency before the taper that makes a whole charge as efficient as told."""
        if self.share == 1.0:
            return whole
        # The mean of 1 / efficiency over the falling part, times the efficiency before it.
        falling = -math.log(self.share) / (1 - self.share)
        part = 1 - self.taper_soc / 100
        return min(1.0, whole * (1 - part + part * falling))


def storage_of(site: Site, evidence: Evidence | None, volts: float, note: Note) -> Storage:
    """The battery of a sheet. UsageError where its capacity isn't known.

    volts  at which it is charged, V; NaN where nothing tells
    note   hears of everything that is reckoned with
    """
    battery, kind = site.battery, chemistry_of(site.battery)
    capacity = _capacity_wh(site, evidence, note)
    how: Source = "given" if site.given("battery", "reserve_soc") else "assumed"
    note("reserve_soc", template("Reserve of the battery"), battery.reserve_soc, "%", how)
    charge = _charge_w(site, kind, capacity.value, volts, note)
    taper = _taper_soc(charge / capacity.value, kind or CHEMISTRIES["lfp"])
    note("taper_soc", template("At that power charging slows down from"), taper, "%", "assumed")
    share = _LEAD_AT_FULL if kind is not None and kind.lead_acid else 1.0
    before = _efficiency(site, evidence, capacity.value, Falling(taper, share), note)
    return Storage(
        capacity.value,
        battery.reserve_soc,
        charge,
        before.value,
        before.value * share,
        taper,
        capacity_sd=capacity.sd / capacity.value,
        efficiency_sd=before.sd,
    )


def _charge_w(site: Site, kind: Chemistry | None, capacity_wh: float, volts: float, note: Note) -> float:
    label = template("Highest charge power of the battery")
    most = site.battery.max_charge_a
    if most is not None and volts > 0:
        note("charge_w", label, most * volts, "W", "given")
        return most * volts
    usual = capacity_wh * (kind.accept_c.value if kind is not None else _USUAL_ACCEPT_C)
    note("charge_w", label, usual, "W", "assumed")
    return usual


def _taper_soc(charge_c: float, kind: Chemistry) -> float:
    """From where on a battery takes less than this, %.

    What it accepts near full falls by so many C per point, whatever it may take before; and C is a current, which
    comes at a higher voltage in than out.
    """
    higher = (1 + kind.absorb_v.value / kind.cell_v) / 2
    return max(0.0, 100 - charge_c / (kind.taper_c_per_soc * higher))


def _told_to(value: Estimate, share: float) -> bool:
    """Whether the recording tells it to so much of its value, either way."""
    return value.origin == "measured" and value.high - value.low <= 2 * share * value.value


def _measured(value: Estimate) -> _Known:
    return _Known(value.value, (value.high - value.low) / _SDS_IN_95)


def _capacity_wh(site: Site, evidence: Evidence | None, note: Note) -> _Known:
    label = template("Battery capacity")
    measured = None if evidence is None else evidence.battery.capacity_wh
    given = site.battery.capacity_kwh
    if measured is not None and _told_to(measured, _WELL_KNOWN):
        note("capacity_kwh", label, measured.value / 1000, "kWh", "recorded")
        return _measured(measured)
    if given is None:
        raise UsageError(
            "the capacity of the battery isn't known",
            expected="capacity_kwh under [battery] in the site sheet",
            mend="write it there, off the battery's plate",
        )
    note("capacity_kwh", label, given, "kWh", "given")
    return _Known(given * 1000, AGEING_SD * given * 1000)


def _efficiency(
    site: Site, evidence: Evidence | None, capacity_wh: float, falling: Falling, note: Note
) -> _Known:
    """The efficiency before the taper."""
    label = template("Energy that the battery gives back of what it takes")
    turned_over = None if evidence is None else evidence.round_trip(capacity_wh)
    if evidence is not None and turned_over is not None:
        note("battery_efficiency", label, 100 * turned_over, "%", "recorded")
        # It was had at the states of charge that the battery was in, not over a whole charge.
        there = evidence.over_charge(falling.at)
        before = falling.before(turned_over) if math.isnan(there) else min(1.0, turned_over / there)
        return _Known(before, _round_trip_sd(site, evidence, capacity_wh))
    kind, seen = chemistry_of(site.battery), None if evidence is None else evidence.battery.energy_efficiency
    if seen is not None and _told_to(seen, _WELL_KNOWN / 2):
        whole, how = _measured(seen), _RECORDED
    elif kind is not None:
        whole, how = _Known(kind.energy.value, (kind.energy.high - kind.energy.low) / _SDS_IN_95), _ASSUMED
    else:
        whole, how = _Known(_USUAL_EFFICIENCY, _USUAL_EFFICIENCY_SD), _ASSUMED
    note("battery_efficiency", label, 100 * whole.value, "%", how)
    return _Known(falling.before(whole.value), whole.sd)


def _round_trip_sd(site: Site, evidence: Evidence, capacity_wh: float) -> float:
    """Of what was given back of what was taken: by the meter's offset, and by the gauge at both ends."""
    offset_wh = site.meter("battery_power").floor_w * evidence.counted_h
    gauge_wh = math.sqrt(2) * _GAUGE_SD * capacity_wh
    return math.hypot(offset_wh, gauge_wh) / evidence.turned_wh[0]
