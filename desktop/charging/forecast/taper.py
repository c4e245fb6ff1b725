"""What current the battery accepts over its state of charge: assumed by chemistry, read off its past tapers."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.chemistry import Chemistry, cells_of
from desktop.charging.forecast.ceilings import Ceilings
from desktop.charging.forecast.curves import GRID, Doubt, LogCurve, Seen
from desktop.charging.forecast.held import HELD, STANDS, charge_v, held_v
from desktop.charging.forecast.store import Store
from desktop.charging.forecast.view import View, kind_of, known_mean
from desktop.site import Site

Floats = NDArray[np.float64]

_FAR = 1e3
_WARM_UP = 3
_BELOW = 0.95
_LEAST_C = 0.004
_HIGH_SOC = 85.0
_HIGHEST, _LESS, _GIVES_WAY_SOC = 0.995, 0.9, 65.0
_SLOWLY = 2.0
"""Over minutes diffusion takes about as much voltage again as the resistance does (single-particle models of
lithium cells)."""
_BY_BMS, _USUAL_C = 0.05, 0.2
_SLOW_S, SLOW_SD, _SLOW_SPANS = 600.0, 0.5, 4.0
"""Time constant of that and the sd of its logarithm (some ten minutes; common practice, no source), and how many of
them are remembered."""
_REST_SD_V = 0.01
"""How well the course of a cell's rest voltage is known, V (common practice, no source)."""
_TAIL_SOC, _TAIL_SOC_SD = 99.5, 0.3
"""Where no more than the tail current flows: chargers are done then, and gauges call it full from 99 % on."""
_OHM_SD = 0.4
"""How well the resistance is known beforehand, as a share (common practice, no source)."""
_BEGINS_SD = 1.0
_MOST_DOUBT = 0.6
_TAUGHT_SD = 0.05
_HINTED_SD = 0.1
_FLOOR_SD = 0.1

_UNKNOWN = Doubt(0.7, tilt=0.5, wiggle=0.05)
_LEAD = Doubt(0.25, tilt=0.2, wiggle=0.08)
_BLIND_LEAD = Doubt(0.45, tilt=0.3, wiggle=0.08)
_LITHIUM = Doubt(0.4, tilt=0.3, wiggle=0.1, reach=3.0)


@dataclass(frozen=True, slots=True)
class Acceptance:
    """The current that a battery takes at its charge voltage.

    curve   A on the grid of states of charge, taken for long
    slowly  voltage that comes with `slow_s` over that which comes at once: what flowed before still counts
    past_a  A that flowed before, as far as it counts
    """

    curve: LogCurve
    slowly: float = 0.0
    past_a: float = 0.0
    slow_s: float = _SLOW_S

    def at(self, soc: float) -> float:
        """A taken now."""
        return max((1 + self.slowly) * math.exp(self.curve.at(soc)) - self.slowly * self.past_a, 0.0)


def acceptance(view: View, ceilings: Ceilings, store: Store, site: Site) -> Acceptance:
    """What the battery takes at its charge voltage from the end of a view on."""
    kind = kind_of(site)
    capacity = store.capacity_ah
    lead = kind is not None and kind.lead_acid
    accepted = _assumed(view, store, kind, capacity, site)
    assumed = np.log(accepted)
    doubt = _UNKNOWN if kind is None else _LEAD if view.metered_v else _BLIND_LEAD
    if kind is not None and not lead:
        doubt = replace(
            _LITHIUM, shape=_at_the_end(accepted, kind, cells_of(site.battery, view.volts_now), capacity)
        )
    slowly = 0.0 if kind is None or lead or by_bms(kind) else _SLOWLY - 1
    holds_v = held_v(view, site)
    seen = _tapers(view, ceilings, capacity, holds_v, _early(kind, site), slowly)
    if lead and kind is not None:
        seen = _with_hint(seen, view, kind, holds_v, site)
    seen = _with_floor(seen, view, store.soc, assumed)
    soc, current, sd = seen
    rest = np.log(current) - np.interp(soc, GRID, assumed)
    curve = LogCurve.learned(assumed, doubt, Seen(soc, rest, sd))
    return Acceptance(curve, slowly, float(_past_a(view, np.array([len(view.time) - 1]))[0]))


def _past_a(view: View, rows: NDArray[np.intp]) -> Floats:
    """A into the battery before the ends of these minutes, the earlier the less it counts."""
    total, weights = np.zeros(len(rows)), np.zeros(len(rows))
    for back in range(round(_SLOW_SPANS * _SLOW_S / 60.0)):
        one = np.maximum(rows - back, 0)
        apart_s = (view.time[rows] - view.time[one]) / 1e9
        counts = np.where(rows >= back, view.span_s[one] * np.exp(-apart_s / _SLOW_S), 0.0)
        total += counts * np.nan_to_num(view.current[one])
        weights += counts
    past: Floats = total / np.maximum(weights, 1e-9)
    return past


def _assumed(view: View, store: Store, kind: Chemistry | None, capacity: float, site: Site) -> Floats:
    """(grid,) A: falling straight beyond where the taper begins at 0.2 C, down to the tail."""
    if kind is None:
        return capacity * np.maximum(0.03, 0.3 - 0.012 * (GRID - 80.0))
    falling = 0.2 + kind.taper_c_per_soc * (kind.taper_soc.value - GRID)
    accepted = capacity * np.clip(falling, kind.tail_c.value, 3.0)
    cells = cells_of(site.battery, view.volts_now)
    if by_bms(kind):
        accepted = _bms(kind, capacity, _most_a(view, capacity, site))
    if kind.lead_acid or not cells:
        return accepted
    by_voltage = _by_voltage(view, store, kind, cells, capacity, site)
    if by_bms(kind):
        by_voltage = np.minimum(accepted, by_voltage)
    return np.maximum(by_voltage, 0.5 * kind.tail_c.value * capacity)


def _at_the_end(accepted: Floats, kind: Chemistry, cells: int, capacity: float) -> Floats:
    """(grid,) what is in doubt of the logarithm of the current near full: a little voltage, or where electronics
    begin to ask for less, decides there of all that still flows."""
    by_voltage = cells * _REST_SD_V / (_SLOWLY * cells * kind.ohm_c.value / capacity) if cells else 0.0
    begins = _BEGINS_SD / (100.0 - kind.taper_soc.value) if by_bms(kind) else 0.0
    beyond = kind.taper_soc.low <= GRID
    return np.where(beyond, np.minimum(begins + by_voltage / accepted, _MOST_DOUBT), 0.0)


def by_bms(kind: Chemistry) -> bool:
    """True where the battery's electronics ask for less near full, as those of iron phosphate do."""
    return kind.taper_c_per_soc >= _BY_BMS


def _most_a(view: View, capacity: float, site: Site) -> float:
    """The most that the electronics ever allow, A: the sheet's, else what is usual, or what flows."""
    if site.battery.max_charge_a is not None:
        return site.battery.max_charge_a
    current = view.current[view.session]
    seen = float(np.nanquantile(current, 0.9)) if np.isfinite(current).any() else 0.0
    return max(_USUAL_C * capacity, seen)


def _bms(kind: Chemistry, capacity: float, most_a: float) -> Floats:
    """(grid,) A that the electronics allow near full: from where the taper begins less and less of the most that
    they ever allow, down to nothing at full."""
    falling = most_a * (100.0 - GRID) / (100.0 - kind.taper_soc.value)
    allowed: Floats = np.clip(falling, kind.tail_c.value * capacity, 3.0 * capacity)
    return allowed


def _by_voltage(view: View, store: Store, kind: Chemistry, cells: int, capacity: float, site: Site) -> Floats:
    """(grid,) A at which the terminals come to the charge voltage.

    The rest voltage's course is believed. Its level is read at the terminals, where they are metered; and full is
    where the tail current is all that still flows. Each tells well where it is near, and counts by that; once the
    charge voltage stands, readings tell the level.
    """
    rest = np.interp(GRID, kind.rest.soc, kind.rest.volts) * cells
    here = float(np.interp(store.soc, kind.rest.soc, kind.rest.volts)) * cells
    ohm = _SLOWLY * cells * kind.ohm_c.value / capacity
    tail = kind.tail_c.value * capacity
    full = np.interp(_TAIL_SOC, GRID, rest)
    from_full: Floats = tail + (full - rest) / ohm
    if not view.metered_v:
        now, from_now = 0.0, (charge_v(view, site, here) - rest) / ohm
    elif view.volts_now >= STANDS * held_v(view, site):
        return np.maximum(from_full, 0.5 * tail)
    else:
        now = view.current_now
        from_now = now + (held_v(view, site) - view.volts_now - (rest - here)) / ohm
    tail_sd = (kind.tail_c.high - kind.tail_c.low) / 4 * capacity
    tail_sd = math.hypot(tail_sd, _TAIL_SOC_SD * (rest[-1] - rest[-2]) / ohm)
    full_sd = np.hypot(tail_sd, _OHM_SD * (from_full - tail))
    # Where electronics lead down to the tail it says nothing of the voltage.
    full_sd = np.full(len(GRID), math.inf) if by_bms(kind) else full_sd
    now_sd = np.hypot(_REST_SD_V * cells / ohm, _OHM_SD * (from_now - now))
    share = 1.0 / (1.0 + (full_sd / now_sd) ** 2)
    accepted: Floats = np.maximum(share * from_full + (1 - share) * from_now, 0.5 * tail)
    return accepted


def _tapers(
    view: View, ceilings: Ceilings, capacity: float, holds_v: float, early: float, slowly: float
) -> tuple[Floats, Floats, Floats]:
    """((k,) states of charge, A accepted there for long, sd of their logarithms) where nothing else held the
    charge down.

    early   state of charge from which on a battery may take less though its voltage isn't held yet
    slowly  as in `Acceptance`
    """
    current, soc = view.current, view.soc
    charger_a = view.converter_dc / view.volts
    on = view.source > 0.02 * np.nanmax(np.append(view.source, 1.0))
    lit = np.convolve(on, np.ones(_WARM_UP + 1), "full")[: len(on)] > _WARM_UP
    # Before it stops a set is relieved of its load.
    for ahead in range(1, _WARM_UP):
        lit[:-ahead] &= on[ahead:]
    free = on & lit & (current > _LEAST_C * capacity)
    free &= view.source < _BELOW * _limit(ceilings.source_w.value, view.source, on)
    free &= charger_a < _BELOW * _limit(ceilings.charger_a.value, charger_a, on)
    free &= view.ac_of(view.converter_dc) < _BELOW * ceilings.charger_w.value
    free &= current < _BELOW * ceilings.battery_a.value
    if view.metered_v and holds_v > 0:
        free &= (view.volts >= HELD * holds_v) | ((soc > early) & (current > 0.02 * capacity))
    elif view.metered_v:
        free &= _gives_way(view)
    free &= ~ceilings.held
    free &= np.isfinite(soc)
    width = 1.25
    places = np.clip(soc[free] / width, 0, None).astype(np.int64)
    # What was read latest counts most: a charge ago half as much.
    ages = (view.end - view.time[free]) / 86_400e9
    weights = 0.5 ** (ages / 3.0)
    total = np.bincount(places, weights)
    many = np.flatnonzero(np.bincount(places) >= 2)
    lasting = current[free]
    if slowly:
        past = np.maximum(_past_a(view, np.flatnonzero(free)), 0.0)
        lasting = (lasting + slowly * past) / (1 + slowly)
    logs = np.bincount(places, weights * np.log(lasting))[many] / total[many]
    at = np.bincount(places, weights * soc[free])[many] / total[many]
    return at, np.exp(logs), np.full(len(many), _TAUGHT_SD)


def _gives_way(view: View) -> NDArray[np.bool_]:
    """Where nothing tells which voltage is held: minutes near the highest one, with less current than before."""
    volts, current = view.volts[view.session], view.current[view.session]
    most = float(np.nanquantile(current, 0.9)) if np.isfinite(current).any() else math.inf
    gives: NDArray[np.bool_] = view.volts >= _HIGHEST * float(np.nanmax(volts))
    return gives & (view.soc > _GIVES_WAY_SOC) & (view.current < _LESS * most)


def _early(kind: Chemistry | None, site: Site) -> float:
    if kind is not None and kind.lead_acid:
        return math.inf
    # With several legs a charge may be held by the busiest of them at any load, which shows in no sum.
    return _HIGH_SOC if kind is None or site.generator.legs == 1 else kind.taper_soc.value


def _limit(ceiling: float, values: Floats, on: NDArray[np.bool_]) -> float:
    """The ceiling; where nothing tells of one, the most that was seen."""
    if math.isfinite(ceiling):
        return ceiling
    known = values[on & np.isfinite(values)]
    return float(np.quantile(known, 0.98)) if known.size else math.inf


def _with_hint(
    seen: tuple[Floats, Floats, Floats], view: View, kind: Chemistry, holds_v: float, site: Site
) -> tuple[Floats, Floats, Floats]:
    """Before lead-acid reaches its charge voltage, what drives the current tells how much that would drive."""
    soc_now = known_mean(view.soc[-3:])
    cells = cells_of(site.battery, view.volts_now)
    if not cells or not view.metered_v or not holds_v > 0 or (len(seen[0]) and seen[0].max() > soc_now - 5):
        return seen
    rest = cells * float(np.interp(soc_now, kind.rest.soc, kind.rest.volts))
    drive = view.volts_now - rest
    full_drive = max(holds_v - rest, drive)
    if drive < 0.1 * cells * 0.5 or view.current_now <= 0:
        return seen
    hint = view.current_now * full_drive / drive
    sd = _HINTED_SD + 0.5 * math.log(full_drive / drive)
    return _added(seen, soc_now, hint, sd)


def _with_floor(
    seen: tuple[Floats, Floats, Floats], view: View, soc: float, assumed: Floats
) -> tuple[Floats, Floats, Floats]:
    """What flows is accepted: where less is assumed, that is mended."""
    flowing = view.current_now
    if (len(seen[0]) and seen[0].max() > soc - 5) or flowing < math.exp(float(np.interp(soc, GRID, assumed))):
        return seen
    return _added(seen, soc, 1.1 * flowing, _FLOOR_SD)


def _added(
    seen: tuple[Floats, Floats, Floats], soc: float, current: float, sd: float
) -> tuple[Floats, Floats, Floats]:
    one, two, three = (np.append(*pair) for pair in zip(seen, (soc, current, sd), strict=True))
    return one, two, three
