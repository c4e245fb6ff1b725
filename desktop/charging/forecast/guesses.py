"""What plant it may be where the sheet doesn't say: each battery weighed by what the recording tells so far."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.chemistry import CHEMISTRIES, Chemistry, usual_cells
from desktop.charging.forecast.curves import GRID
from desktop.charging.forecast.store import charge_each, kept_of, shape_doubt, store_of, told_step
from desktop.charging.forecast.view import View, kind_of
from desktop.site import Site

Floats = NDArray[np.float64]

LEAST = 0.02
"""What is less likely than this isn't looked at."""

_USUAL = {"lfp": 0.45, "nmc": 0.10, "flooded": 0.17, "agm": 0.18, "gel": 0.10}
"""How common each is off the grid (common practice, no source)."""

_USUAL_LEGS = ((1, 0.6), (3, 0.4))
"""Where currents aren't read leg by leg (common practice, no source). Two legs are between the two."""

_WARM_UP = 3
_WIDTH = 2.5
_ABOVE = 1.02
_LEVEL_V, _TILT_V, _NOISE_V, _PLACE = 0.02, 0.015, 0.01, 2.0
_LEAD_LEVEL_V, _LEAD_NOISE_V = 0.03, 0.015
"""How well a cell's voltage is known from its chemistry: everywhere, over 50 points, by itself; points of state of
charge by which a reading of it may be off (common practice, no source)."""
_OVER_SD = 0.5
_SLOWLY = 2.0
_ABOVE_SD = 0.3


@dataclass(frozen=True, slots=True)
class Guess:
    """A sheet with a battery on it, how likely that battery is, and whether it is lead-acid."""

    site: Site
    weight: float
    lead_acid: bool


@dataclass(frozen=True, slots=True)
class _Course:
    """(n,) means over small ranges of the state of charge of the charge that goes on: percent, V, A."""

    soc: Floats
    volts: Floats
    amperes: Floats


def guesses_of(view: View, site: Site) -> list[Guess]:
    """The likeliest first; only the sheet itself where it tells chemistry and legs. Weights sum to 1."""
    found = [
        Guess(_with_legs(one.site, legs), one.weight * weight, one.lead_acid)
        for one in _batteries(view, site)
        for legs, weight in _legs(view, site)
    ]
    likely = sorted((one for one in found if one.weight >= LEAST), key=lambda one: -one.weight)
    left = sum(one.weight for one in likely)
    return [Guess(one.site, one.weight / left, one.lead_acid) for one in likely]


def _legs(view: View, site: Site) -> list[tuple[int, float]]:
    """How many legs the generator may have, and how likely."""
    if site.given("generator", "legs"):
        return [(site.generator.legs, 1.0)]
    return [(view.legs, 1.0)] if view.legs in (2, 3) else list(_USUAL_LEGS)


def _with_legs(site: Site, legs: int) -> Site:
    if legs == site.generator.legs:
        return site
    return site.model_copy(update={"generator": site.generator.model_copy(update={"legs": legs})})


def _batteries(view: View, site: Site) -> list[Guess]:
    kind = kind_of(site)
    if kind is not None:
        return [Guess(site, 1.0, kind.lead_acid)]
    course, each = _course(view), charge_each(view, told_step(view.soc))
    found = []
    for name, one in CHEMISTRIES.items():
        for guessed in _sheets(name, one, view, site):
            odds = _shape_odds(one, *each) + _voltage_odds(one, guessed, view, course)
            found.append((math.log(_USUAL[name]) + odds, guessed, one.lead_acid))
    if not found:
        return [Guess(site, 1.0, lead_acid=False)]
    most = max(odds for odds, _, _ in found)
    total = sum(math.exp(odds - most) for odds, _, _ in found)
    return [Guess(guessed, math.exp(odds - most) / total, lead) for odds, guessed, lead in found]


def _sheets(name: str, kind: Chemistry, view: View, site: Site) -> Iterator[Site]:
    """The sheet with a battery of this kind, of each number of cells that its voltage allows."""
    battery = site.battery.model_copy(update={"chemistry": name})
    if not view.metered_v or battery.nominal_v is not None:
        yield site.model_copy(update={"battery": battery})
        return
    volts = view.volts[view.session]
    usual, highest = float(np.nanmedian(volts)), float(np.nanquantile(volts, 0.98))
    for cells in usual_cells(name):
        if usual < cells * kind.rest.volts[0] or highest > cells * kind.absorb_v.high * _ABOVE:
            continue
        bank = battery.model_copy(update={"nominal_v": cells * kind.cell_v})
        yield site.model_copy(update={"battery": bank})


def _course(view: View) -> _Course:
    part = slice(view.first + _WARM_UP, len(view.time))
    soc, volts, amperes = view.soc[part], view.volts[part], view.current[part]
    known = np.isfinite(soc) & np.isfinite(volts) & (np.nan_to_num(amperes) > 0)
    places = np.clip(soc[known] / _WIDTH, 0, None).astype(np.int64)
    count = np.bincount(places)
    many = np.flatnonzero(count)
    return _Course(*(np.bincount(places, one[known])[many] / count[many] for one in (soc, volts, amperes)))


def _shape_odds(kind: Chemistry, soc: Floats, log_each: Floats, sd: Floats) -> float:
    """By what a percent takes over the state of charge: lead-acid keeps ever less of it near full."""
    rest = log_each + np.log(np.interp(soc, GRID, kept_of(kind)))
    spread = shape_doubt(kind).covariance(soc, soc) + np.diag(sd**2)
    return _log_density(rest - rest.mean() if len(rest) else rest, spread)


def _voltage_odds(kind: Chemistry, site: Site, view: View, course: _Course) -> float:
    """By the voltage over the state of charge, and by a current that is too much for such a battery."""
    store = store_of(view, site)
    if store is None or not len(course.soc):
        return 0.0
    rate = course.amperes / store.capacity_ah
    over = math.log(max(float(np.quantile(rate, 0.9)) / kind.accept_c.high, 1.0))
    odds = -0.5 * (over / _ABOVE_SD) ** 2
    if not view.metered_v:
        return odds
    cells = round((site.battery.nominal_v or 0.0) / kind.cell_v)
    rest = kind.rest.at(course.soc)
    lost = rate * _ohm_c(kind, course.soc)
    noise = _LEAD_NOISE_V if kind.lead_acid else _NOISE_V
    place = _PLACE * kind.rest.slope(rest)
    level = _LEAD_LEVEL_V if kind.lead_acid else _LEVEL_V
    tilt = (course.soc - 50.0) / 50.0
    spread = level**2 + _TILT_V**2 * np.outer(tilt, tilt) + _OVER_SD**2 * np.outer(lost, lost)
    spread += np.diag(noise**2 + place**2)
    return odds + _log_density(course.volts - cells * (rest + lost), cells**2 * spread)


def _ohm_c(kind: Chemistry, soc: Floats) -> Floats:
    """(n,) V per cell that 1 C takes over the rest voltage while charging. In lead-acid it is what leaves the
    current that is accepted at the charge voltage."""
    if not kind.lead_acid:
        return np.full(len(soc), _SLOWLY * kind.ohm_c.value)
    accepted = np.maximum(0.2 + kind.taper_c_per_soc * (kind.taper_soc.value - soc), kind.tail_c.value)
    ohm: Floats = (kind.absorb_v.value - kind.rest.at(soc)) / accepted
    return ohm


def _log_density(off: Floats, spread: Floats) -> float:
    """Logarithm of a normal density, without what is the same for all."""
    if not len(off):
        return 0.0
    return -0.5 * float(off @ np.linalg.solve(spread, off) + np.linalg.slogdet(spread)[1])
