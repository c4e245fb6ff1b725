"""What the battery stores: charge for each percent shown, and where inside the shown step it stands."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.chemistry import Chemistry
from desktop.charging.forecast.curves import GRID, Doubt, LogCurve, Seen
from desktop.charging.forecast.view import View, kind_of, nominal_v
from desktop.site import Site

Floats = NDArray[np.float64]

AGEING_SD = 0.08
"""How far a battery's charge for each percent lies from what its plate says, as a share: age, and meters."""

_LEAD_KEPT = np.interp(GRID, (0.0, 70.0, 80.0, 90.0, 100.0), (0.98, 0.96, 0.87, 0.68, 0.40))
"""Share of the charge put into lead-acid that stays. Falling near full after Stevens & Corey (Sandia 1996: over
0.95 at low state of charge, under 0.5 above 90 %; quoted from memory), eased so that a whole charge takes 115 %
of what was taken out; makers of sealed batteries ask for about 110 %."""

_LITHIUM_KEPT = 0.99
_LEAD_SHAPE_SD = 0.3
_UNKNOWN_LEVEL_SD = 3.0
_LEAST_LEARNED = 2.5
_STEPS_BACK = 6
_JUMP = 3.0
_WHOLE = 200.0
_METER_SD = 0.008


@dataclass(frozen=True, slots=True)
class Store:
    """The battery's state.

    soc, soc_sd  at the end of the last minute, percent
    step         in which the state of charge is told, percent
    charge       ampere hours for each percent, by state of charge
    capacity_ah  for what is told per capacity; NaN where not known
    """

    soc: float
    soc_sd: float
    step: float
    charge: LogCurve
    capacity_ah: float

    def log_mean(self, soc: float) -> float:
        """The logarithm of the ampere hours for each percent at a state of charge."""
        return self.charge.at(soc)


def store_of(view: View, site: Site) -> Store | None:
    """None where neither the sheet nor the charge so far tells what a percent is."""
    step = told_step(view.soc)
    kind = kind_of(site)
    given = site.battery.capacity_kwh
    kept = kept_of(kind)
    plate_ah = math.nan if given is None else given * 1000 / _usual_v(view, site)
    seen, learned_soc = _seen(view, kept, step, alike=kind is not None and not kind.lead_acid)
    if given is None and learned_soc < _LEAST_LEARNED:
        return None
    capacity = plate_ah if given is not None else 100 * float(np.exp(np.median(seen.rest)))
    assumed = math.log(capacity / 100) - np.log(kept)
    doubt = _doubt(kept, kind, AGEING_SD if given is not None else _UNKNOWN_LEVEL_SD)
    # What was seen is the charge for each percent that stayed, so it stands for the level.
    rest = seen.rest - math.log(capacity / 100)
    charge = LogCurve.learned(assumed, doubt, Seen(seen.soc, rest, seen.sd))
    soc, soc_sd = _soc_now(view, charge, step)
    if math.isnan(soc):
        return None
    return Store(soc, soc_sd, step, charge, capacity)


def kept_of(kind: Chemistry | None) -> Floats:
    """(grid,) share of the charge put in that stays."""
    return _LEAD_KEPT if kind is not None and kind.lead_acid else np.full(len(GRID), _LITHIUM_KEPT)


def shape_doubt(kind: Chemistry) -> Doubt:
    """What is in doubt of the ampere hours for each percent where their level is free."""
    return _doubt(kept_of(kind), kind, 0.0)


def charge_each(view: View, step: float) -> tuple[Floats, Floats, Floats]:
    """(k,) states of charge, percent, logarithms of the ampere hours put in for each percent there, their sd."""
    seen, _ = _in_parts(_Fed.of(view, np.ones(len(GRID)), slice(None)), max(5.0, 8 * step), step)
    return _columns(seen)


def _usual_v(view: View, site: Site) -> float:
    nominal = nominal_v(site)
    return nominal if nominal > 1 or not view.metered_v else float(np.median(view.volts))


def _doubt(kept: Floats, kind: Chemistry | None, level: float) -> Doubt:
    if kind is not None and kind.lead_acid:
        return Doubt(level, shape=_LEAD_SHAPE_SD * (1 - kept), wiggle=0.03, reach=8.0)
    if kind is None:
        # It may be lead-acid.
        return Doubt(level, shape=0.5 * (_LITHIUM_KEPT - _LEAD_KEPT), wiggle=0.03, reach=15.0)
    return Doubt(level, wiggle=0.01, reach=15.0)


def told_step(soc: Floats) -> float:
    """In which steps the state of charge is told, percent, as minute means show it."""
    known = soc[np.isfinite(soc)][-2000:]
    for step in (1.0, 0.5):
        if known.size and np.mean(np.abs(known / step - np.round(known / step)) < 1e-3) > 0.4:
            return step
    return 0.1


@dataclass(frozen=True, slots=True)
class _Fed:
    """Pairs of neighbouring minutes in which the battery was charged.

    rise    percent shown; stayed  ampere hours that stayed, if what is assumed is right
    middle  state of charge, percent; begins  True where a stretch of charging begins
    """

    rise: Floats
    stayed: Floats
    middle: Floats
    begins: NDArray[np.bool_]

    @classmethod
    def of(cls, view: View, kept: Floats, rows: slice) -> _Fed:
        soc, current, span = view.soc[rows], view.current[rows], view.span_s[rows]
        rise, middle = np.diff(soc), 0.5 * (soc[1:] + soc[:-1])
        charge = 0.5 * (current[1:] + current[:-1]) * span[:-1] / 3600
        good = np.diff(view.time[rows]) / 1e9 <= span[:-1] + 1e-6
        good &= (current[1:] > 0) & (current[:-1] > 0)
        good &= np.abs(rise) < _JUMP
        good &= np.isfinite(charge)
        begins = good.copy()
        begins[1:] &= ~good[:-1]
        stayed = charge * np.interp(middle, GRID, kept)
        return cls(rise[good], stayed[good], middle[good], begins[good])


def _seen(view: View, kept: Floats, step: float, *, alike: bool) -> tuple[Seen, float]:
    """What was seen of the ampere hours for each percent that stayed (logarithms), and over how many percent.

    alike  a percent is the same at every state of charge
    """
    if not alike:
        return _in_parts(_Fed.of(view, kept, slice(None)), max(5.0, 8 * step), step)
    before, before_rise = _in_parts(_Fed.of(view, kept, slice(0, view.first)), _WHOLE, step)
    now, now_rise = _in_parts(_Fed.of(view, kept, view.session), _WHOLE, step)
    line = _line(_Fed.of(view, kept, view.session), step)
    told = [before, now if line is None else line]
    return Seen(*(np.concatenate(parts) for parts in zip(*map(_columns, told), strict=True))), (
        before_rise + now_rise
    )


def _columns(seen: Seen) -> tuple[Floats, Floats, Floats]:
    return seen.soc, seen.rest, seen.sd


def _line(fed: _Fed, step: float) -> Seen | None:
    """One stretch of charging as a straight line: what is shown over what stayed. The steps in which it is shown
    are a saw tooth around it, whose error falls with the power 1.5 of their number."""
    if len(fed.rise) < 5 or fed.stayed.sum() <= 0:
        return None
    shown, stayed = np.cumsum(fed.rise), np.cumsum(fed.stayed)
    off = stayed - stayed.mean()
    slope = float(off @ shown) / float(off @ off)
    steps = slope * float(np.ptp(stayed)) / step
    if steps < 3:
        return None
    sd = math.hypot(steps**-1.5, _METER_SD)
    return Seen(np.array([fed.middle.mean()]), np.array([-math.log(slope)]), np.array([sd]))


def _in_parts(fed: _Fed, width: float, step: float) -> tuple[Seen, float]:
    """Sums over ranges of state of charge, so wide."""
    places = np.clip(fed.middle / width, 0, None).astype(np.int64)
    bins = int(places.max(initial=0)) + 1

    def summed(values: Floats | NDArray[np.bool_]) -> Floats:
        return np.asarray(np.bincount(places, values.astype(np.float64), minlength=bins), np.float64)

    rises, charges, pairs = summed(fed.rise), summed(fed.stayed), summed(np.ones(len(places)))
    # Each stretch of charging begins and ends somewhere inside a step.
    moved = fed.begins.copy()
    moved[1:] |= np.diff(places) != 0
    passes = np.maximum(summed(moved), 1.0)
    good = (rises > max(_LEAST_LEARNED, 2 * step)) & (charges > 0)
    sd = np.hypot(0.41 * step * np.sqrt(passes[good]) / rises[good], _METER_SD)
    seen = Seen(summed(fed.middle)[good] / pairs[good], np.log(charges[good] / rises[good]), sd)
    return seen, float(rises[good].sum())


def _soc_now(view: View, charge: LogCurve, step: float) -> tuple[float, float]:
    """State of charge at the view's end and its sd, out of the last steps and the charge since each of them."""
    part = view.session
    soc, current, span = view.soc[part], view.current[part], view.span_s[part]
    known = np.isfinite(soc) & np.isfinite(current)
    if not known.any():
        return math.nan, math.nan
    each = np.exp(np.interp(np.nan_to_num(soc, nan=50.0), GRID, charge.mean))
    rate = np.where(known, np.nan_to_num(current) / 3600 / each, 0.0)
    between = 0.5 * (rate[1:] + rate[:-1]) * span[:-1]
    after = rate[-1] * view.lag_s + np.append(np.cumsum(between[::-1])[::-1], 0.0)
    whole = min(_STEPS_BACK, max(1, math.floor(float(after.max()) / step)))
    recent = known & (after <= whole * step + 1e-9)
    if not recent.any():
        recent = known & (np.arange(len(soc)) >= len(soc) - 3)
    seen = soc[recent] + after[recent]
    steps = min(float(after[recent].max()) / step, float(whole))
    return float(seen.mean()), step * (0.29 if steps < 0.9 else 0.07)
