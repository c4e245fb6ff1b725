"""Judges a battery by its book."""

from __future__ import annotations

import math

import numpy as np

from desktop.charging.battery.anchors import Anchors, Bank, anchors, as_levels
from desktop.charging.battery.book import BatterySnapshot, total
from desktop.charging.battery.capacity import Capacity, Meters, capacity
from desktop.charging.battery.chemistry import absorb_v, cells_of, chemistry_of
from desktop.charging.battery.facts import BatteryFacts, Estimate, OwnSoc
from desktop.charging.battery.levels import Levels, display_levels, minute_levels, noisy, quantum
from desktop.charging.battery.own_soc import Count, own_soc
from desktop.charging.battery.records import Table
from desktop.charging.battery.resistance import Resistance, resistance
from desktop.charging.battery.told import Hidden, told_step
from desktop.flow.learned import Learned
from desktop.site import Site

_SHEET_CAPACITY_SD = 0.1
"""How far a capacity by the name plate is off as a rule (common practice: cells age)."""

_FAR_FROM_SHEET = 0.25

_USUAL_EFFICIENCY, _USUAL_EFFICIENCY_SD = 0.95, 0.05


COARSEST_S = 120.0
"""Between readings further apart a load comes and goes unseen, and what was counted drifts over weeks."""


def judge_battery(snapshot: BatterySnapshot, learned: Learned, site: Site) -> BatteryFacts:
    """Everything that the rows of a book tell of the battery. A pure function of what it is given."""
    minutes = snapshot.minutes
    usual_v = _usual(minutes["volts"])
    kind, cells = chemistry_of(site.battery), cells_of(site.battery, usual_v)
    meters = _meters(snapshot, learned, site)
    volts_sd = site.meter("battery_voltage").percent / 100
    ohm = resistance(
        snapshot.steps,
        math.hypot(volts_sd, meters.charge_gain),
        charging_too=kind is not None and not kind.lead_acid,
    )
    bank = Bank(
        kind,
        cells,
        _about_ah(site, usual_v),
        absorb_v(site.battery, usual_v),
        0.0 if ohm is None else ohm.ohm,
        volts_sd,
    )
    reported = bool(len(snapshot.changes))
    found = anchors(minutes, bank)
    if not len(minutes):
        judged = Capacity(lack="no power")
    elif learned.interval_s > COARSEST_S:
        judged = Capacity(lack="rows too far apart")
    else:
        levels = _reported_levels(snapshot) if reported else as_levels(found, minutes)
        judged = capacity(levels, meters, usual_v, kind, cells, _hidden(minutes, learned, usual_v))
        if not reported and judged.fit is None:
            judged = Capacity(lack="no state of charge")
    own = _own(snapshot, found, judged, meters, usual_v, site)
    return _facts(snapshot, site, judged, ohm, cells, meters, own)


def _reported_levels(snapshot: BatterySnapshot) -> Levels:
    levels = display_levels(snapshot.changes)
    return minute_levels(snapshot.minutes, quantum(snapshot.changes)) if noisy(levels) else levels


def _facts(
    snapshot: BatterySnapshot,
    site: Site,
    judged: Capacity,
    ohm: Resistance | None,
    cells: int,
    meters: Meters,
    own: OwnSoc | None,
) -> BatteryFacts:
    minutes, plate = snapshot.minutes, site.battery.capacity_kwh
    given = Estimate.given(None if plate is None else 1000 * plate)
    return BatteryFacts(
        charge_in_ah=total(minutes, "ah_in"),
        charge_out_ah=total(minutes, "ah_out"),
        energy_in_wh=total(minutes, "wh_in"),
        energy_out_wh=total(minutes, "wh_out"),
        capacity_wh=judged.capacity_wh if judged.capacity_wh.known else given,
        fill_wh=judged.fill_wh,
        capacity_ah=judged.capacity_ah,
        coulombic=judged.coulombic,
        energy_efficiency=judged.energy_efficiency,
        resistance=ohm,
        half_cycles=judged.half_cycles,
        lack=judged.lack,
        cells=cells,
        gain_sd=meters.energy_gain,
        own_soc=own,
    )


def _usual(volts: np.ndarray) -> float:
    read = volts[np.isfinite(volts)]
    return float(np.median(read)) if read.size else math.nan


def _about_ah(site: Site, usual_v: float) -> float:
    battery = site.battery
    volts = battery.nominal_v or usual_v
    if battery.capacity_kwh is None or not volts > 0:
        return math.nan
    return 1000 * battery.capacity_kwh / volts


def _meters(snapshot: BatterySnapshot, learned: Learned, site: Site) -> Meters:
    """The meters' classes; where metered and reconciled power part, by that as well."""
    power, volts = site.meter("battery_power"), site.meter("battery_voltage")
    amperes = site.meter("battery_current")
    direct = "battery" in learned.metering.direct
    energy = power.percent / 100 if direct else math.hypot(volts.percent, amperes.percent) / 100
    # Charge is power by voltage; where power is volts by amperes, that leaves the amperes.
    charge = (math.hypot(power.percent, volts.percent) if direct else amperes.percent) / 100
    floor_w = power.floor_w if direct else math.hypot(volts.floor_w, amperes.floor_w)
    parted = abs(snapshot.agreement - 1) if math.isfinite(snapshot.agreement) else 0.0
    return Meters(
        math.hypot(charge, parted),
        math.hypot(energy, parted),
        floor_w,
    )


def _hidden(minutes: Table, learned: Learned, usual_v: float) -> Hidden:
    """What the steps of the battery's meter may hide."""
    if "battery" in learned.metering.direct:
        return Hidden.of(minutes, told_step(minutes["watts"]), usual_v)
    step = told_step(minutes["amperes"])
    return Hidden.of(minutes, step * usual_v if usual_v > 0 else 0.0, usual_v)


def _own(
    snapshot: BatterySnapshot,
    found: Anchors,
    judged: Capacity,
    meters: Meters,
    usual_v: float,
    site: Site,
) -> OwnSoc | None:
    count = _count(judged, meters, usual_v, site)
    return None if count is None else own_soc(snapshot.minutes, snapshot.start, found, count)


def _count(judged: Capacity, meters: Meters, usual_v: float, site: Site) -> Count | None:
    """By the fit, whose capacity is in the meter's own units, if the sheet's isn't far from it; else by that.

    The fit rests on the reported state of charge: where it leaves the sheet, that is what is to be found out. None
    where neither tells.
    """
    by_energy = not usual_v > 0
    volts = 1.0 if by_energy else usual_v
    plate = site.battery.capacity_kwh
    given = math.nan
    if plate is not None:
        given = 1000 * plate / (volts if by_energy else (site.battery.nominal_v or volts))
    if judged.fit is None:
        return (
            None
            if math.isnan(given)
            else _by_sheet(given, _SHEET_CAPACITY_SD, by_energy, meters, volts, site)
        )
    apart = abs(judged.fit.capacity / given - 1)
    if apart > _FAR_FROM_SHEET:
        return _by_sheet(given, 0.5 * apart, by_energy, meters, volts, site)
    mean, sd = judged.fit.mean, np.sqrt(np.diag(judged.fit.cov))
    widths = np.diff(judged.fit.prior.edges) / 100
    return Count(
        energy=by_energy,
        capacity=float(mean[0]),
        capacity_sd=float(sd[0] / mean[0]),
        efficiency=float(widths @ mean[2:]),
        efficiency_sd=float(widths @ sd[2:]),
        offset=float(mean[1]),
        offset_sd=float(sd[1]),
    )


def _by_sheet(
    given: float, capacity_sd: float, by_energy: bool, meters: Meters, volts: float, site: Site
) -> Count:
    kind = chemistry_of(site.battery)
    usual = None if kind is None else kind.energy if by_energy else kind.coulombic
    return Count(
        energy=by_energy,
        capacity=given,
        capacity_sd=math.hypot(capacity_sd, meters.charge_gain),
        efficiency=_USUAL_EFFICIENCY if usual is None else usual.value,
        efficiency_sd=_USUAL_EFFICIENCY_SD if usual is None else (usual.high - usual.low) / 4,
        offset=0.0,
        offset_sd=meters.offset_w / volts,
    )
