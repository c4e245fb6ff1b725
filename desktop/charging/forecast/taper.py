"""What current the battery accepts over its state of charge: assumed by chemistry, read off its past tapers."""

from __future__ import annotations

import math
from dataclasses import replace

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
_BY_BMS = 0.05
_REST_SD_V = 0.005
"""How well a cell's rest voltage near full is known, V (common practice, no source)."""
_BEGINS_SD = 1.0
_MOST_DOUBT = 0.6
_TAUGHT_SD = 0.05
_HINTED_SD = 0.1
_FLOOR_SD = 0.1

_UNKNOWN = Doubt(0.7, tilt=0.5, wiggle=0.05)
_LEAD = Doubt(0.25, tilt=0.2, wiggle=0.08)
_BLIND_LEAD = Doubt(0.45, tilt=0.3, wiggle=0.08)
_LITHIUM = Doubt(0.4, tilt=0.3, wiggle=0.1, reach=3.0)


def acceptance(view: View, ceilings: Ceilings, store: Store, site: Site) -> LogCurve:
    """The current that the battery takes at its charge voltage, A, on the grid of states of charge."""
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
    holds_v = held_v(view, site)
    seen = _tapers(view, ceilings, capacity, holds_v, _early(kind, site))
    if lead and kind is not None:
        seen = _with_hint(seen, view, kind, holds_v, site)
    seen = _with_floor(seen, view, store.soc, assumed)
    soc, current, sd = seen
    rest = np.log(current) - np.interp(soc, GRID, assumed)
    return LogCurve.learned(assumed, doubt, Seen(soc, rest, sd))


def _assumed(view: View, store: Store, kind: Chemistry | None, capacity: float, site: Site) -> Floats:
    """(grid,) A: falling straight beyond where the taper begins at 0.2 C, down to the tail."""
    if kind is None:
        return capacity * np.maximum(0.03, 0.3 - 0.012 * (GRID - 80.0))
    falling = 0.2 + kind.taper_c_per_soc * (kind.taper_soc.value - GRID)
    accepted = capacity * np.clip(falling, kind.tail_c.value, 3.0)
    cells = cells_of(site.battery, view.volts_now)
    if kind.lead_acid or not cells:
        return accepted
    return np.maximum(
        np.minimum(_bms(kind, capacity), _by_voltage(view, store, kind, cells, capacity, site)),
        0.5 * kind.tail_c.value * capacity,
    )


def _at_the_end(accepted: Floats, kind: Chemistry, cells: int, capacity: float) -> Floats:
    """(grid,) what is in doubt of the logarithm of the current near full: a little voltage, or where electronics
    begin to ask for less, decides there of all that still flows."""
    by_voltage = cells * _REST_SD_V / (_SLOWLY * cells * kind.ohm_c.value / capacity) if cells else 0.0
    by_bms = 0.0 if kind.taper_c_per_soc < _BY_BMS else capacity * kind.taper_c_per_soc * _BEGINS_SD
    beyond = kind.taper_soc.low <= GRID
    return np.where(beyond, np.minimum((by_voltage + by_bms) / accepted, _MOST_DOUBT), 0.0)


def _bms(kind: Chemistry, capacity: float) -> Floats:
    """(grid,) A that the electronics of iron phosphate allow near full; other lithium is held by its voltage."""
    if kind.taper_c_per_soc < _BY_BMS:
        return np.full(len(GRID), _FAR * capacity)
    falling = 0.2 + kind.taper_c_per_soc * (kind.taper_soc.value - GRID)
    return capacity * np.clip(falling, kind.tail_c.value, 3.0)


def _by_voltage(view: View, store: Store, kind: Chemistry, cells: int, capacity: float, site: Site) -> Floats:
    """(grid,) A at which the terminals come to the charge voltage.

    The rest voltage's course is believed. Its level is read at the terminals, where they are metered; and full is
    where the tail current is all that still flows. Halfway between what the two tell, by ratio; once the charge
    voltage stands, readings tell the level.
    """
    rest = np.interp(GRID, kind.rest.soc, kind.rest.volts) * cells
    here = float(np.interp(store.soc, kind.rest.soc, kind.rest.volts)) * cells
    ohm = _SLOWLY * cells * kind.ohm_c.value / capacity
    tail = kind.tail_c.value * capacity
    from_full: Floats = tail + (rest[-1] - rest) / ohm
    if not view.metered_v:
        from_now = (charge_v(view, site, here) - rest) / ohm
    elif view.volts_now >= STANDS * held_v(view, site):
        return from_full
    else:
        from_now = view.current_now + (held_v(view, site) - view.volts_now - (rest - here)) / ohm
    accepted: Floats = np.sqrt(np.maximum(from_now, 0.5 * tail) * from_full)
    return accepted


def _tapers(
    view: View, ceilings: Ceilings, capacity: float, holds_v: float, early: float
) -> tuple[Floats, Floats, Floats]:
    """((k,) states of charge, A accepted there, sd of their logarithms) where nothing else held the charge down.

    early  state of charge from which on a battery may take less though its voltage isn't held yet
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
    logs = np.bincount(places, weights * np.log(current[free]))[many] / total[many]
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
