"""What holds the charge down: input limit, charger limit, battery; off the sheet, and better as they show."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.held import HELD, held_v
from desktop.charging.forecast.view import View, kind_of
from desktop.site import Site

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

_WARM_UP = 3
_RECENT = 90
_NEAR, _FREE = 0.93, 0.95
_NEAR_INPUT = 0.85
UNSEEN_INPUT, _UNSEEN_INPUT_SD = 0.96, 0.03
"""What of the input limit is used where it holds: devices keep below it."""
_UNSEEN, _UNSEEN_SD = 0.99, 0.025
_SEEN_SD = 0.004
_LEAST_HELD = 3
_EXCEEDED = 0.8
_LATELY, _LEAST_SPREAD, _STEADY_SD = 30, 0.005, 0.01
_ABOVE, _ABOVE_SD = 1.3, 0.2
"""Where something else holds the charge, an input limit or a generator of unknown size gives out not far above what
was taken of it (common practice, no source)."""
_STEADY, _MOVING, _FOLLOWS = 0.03, 0.03, 0.3


@dataclass(frozen=True, slots=True)
class Ceiling:
    """A ceiling and its standard deviation; infinite where nothing tells of one. `seen`: it was reached."""

    value: float
    sd: float
    seen: bool


@dataclass(frozen=True, slots=True)
class Ceilings:
    """source_w  what the input limit lets through, W: legs times what it allows the busiest one
    charger_a  out of the converter, A (DC)
    charger_w  into the converter, W (AC)
    battery_a  into the battery, A
    held       (m,) the minutes in which nothing but the input limit held the charge
    """

    source_w: Ceiling
    charger_a: Ceiling
    charger_w: Ceiling
    battery_a: Ceiling
    held: Mask


def ceilings_of(view: View, site: Site) -> list[tuple[float, Ceilings]]:
    """What the ceilings of the charge that goes on may be, and how likely each; the likeliest first."""
    part = slice(max(view.first + _WARM_UP, len(view.time) - _RECENT), len(view.time))
    if part.stop - part.start < 2:
        part = slice(view.first, len(view.time))
    reported = float(view.charge_limit_a[-1])
    charger = reported if reported > 0 else _or_nan(site.charger.limit_a)
    unitary = view.volts_now <= 1.0
    amperes = view.converter_dc / view.volts
    charger_a = _ceiling(amperes[part], math.nan if unitary else charger)
    charger_w = _ceiling(view.ac_of(view.converter_dc[part]), _or_nan(site.charger.rated_w))
    battery_a = _ceiling(view.current[part], math.nan if unitary else _or_nan(site.battery.max_charge_a))
    found = Ceilings(
        Ceiling(math.inf, 0.0, seen=False), charger_a, charger_w, battery_a, np.zeros(len(amperes), np.bool_)
    )
    named = math.isfinite(charger_a.value) or math.isfinite(charger_w.value)
    if not view.limit_w[-1] > 0 or not named:
        return _unnamed(view, site, found, part)
    held = _held(view, site, found, part)
    if _unmoved(view, held):
        steady = _plateau(amperes[held])
        return [(1.0, _with_input(view, replace(found, charger_a=steady)))]
    return [(1.0, _with_input(view, replace(found, held=held)))]


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value


def _ceiling(values: Floats, given: float) -> Ceiling:
    """The sheet's ceiling; where the values keep close below it, their own plateau."""
    if not given > 0:
        return Ceiling(math.inf, 0.0, seen=False)
    known = values[np.isfinite(values)]
    # Above it: it isn't kept, or the voltage isn't quite known. What is seen counts.
    if known.size and float(np.quantile(known, 0.9)) >= _NEAR * given:
        return _plateau(known)
    return Ceiling(_UNSEEN * given, _UNSEEN_SD * given, seen=False)


def _plateau(values: Floats) -> Ceiling:
    """Where values keep below a ceiling: not at the highest readings, which are high by chance, but in the middle
    of those that lie within the readings' noise below them."""
    high = float(np.quantile(values, 0.9))
    noise = float(np.median(np.abs(np.diff(values)))) / 0.954 if len(values) > 2 else 0.0
    on = values[values >= high - max(0.04 * high, 4 * noise)][-30:]
    sd = math.hypot(_SEEN_SD * high, 1.25 * noise / math.sqrt(len(on)))
    return Ceiling(float(np.median(on)), sd, seen=True)


def _held(view: View, site: Site, ceilings: Ceilings, part: slice) -> Mask:
    """(m,) the minutes of the part in which neither charger nor battery is at its ceiling, nor tapering."""
    kind = kind_of(site)
    free = np.zeros(len(view.time), np.bool_)
    free[part] = True
    free &= view.converter_dc / view.volts < _FREE * ceilings.charger_a.value
    free &= view.ac_of(view.converter_dc) < _FREE * ceilings.charger_w.value
    free &= view.current < _FREE * ceilings.battery_a.value
    free &= np.isfinite(view.source) & np.isfinite(view.else_ac)
    # What was exceeded by far later on was no limit: the battery wasn't charged then, or by another source.
    later = np.maximum.accumulate(np.nan_to_num(view.source)[::-1])[::-1]
    free &= view.source >= _EXCEEDED * later
    holds_v = held_v(view, site)
    if holds_v > 0:
        free &= view.volts < HELD * holds_v
    if kind is not None:
        free &= ~(
            view.soc > (kind.taper_soc.value if holds_v > 0 and not kind.lead_acid else kind.taper_soc.low)
        )
    return free


def _unmoved(view: View, held: Mask) -> bool:
    """True where the charger stayed as it was while the house changed: it is held by a limit that nobody told."""
    if held.sum() < 2 * _LEAST_HELD:
        return False
    rest, amperes = view.else_ac[held], (view.converter_dc / view.volts)[held]
    taken = view.ac_of(view.converter_dc)[held]
    low, middle, high = np.quantile(amperes, (0.1, 0.5, 0.9))
    moved = float(np.std(rest))
    if high - low > _STEADY * middle or moved < _MOVING * float(np.mean(taken)):
        return False
    off = rest - rest.mean()
    return float(off @ taken) > -_FOLLOWS * float(off @ off)


def _with_input(view: View, ceilings: Ceilings) -> Ceilings:
    """With what the input limit lets through, off the minutes in which it held, else off the sheet."""
    busiest = view.source * view.uneven
    given = float(view.limit_w[-1])
    held = busiest[ceilings.held & np.isfinite(busiest)]
    if len(held) >= _LEAST_HELD:
        return replace(ceilings, source_w=_plateau(held))
    if not given > 0:
        return ceilings
    known = view.source[view.session] * np.nan_to_num(view.uneven[view.session], nan=1.0)
    most = float(np.nanquantile(known, 0.9)) if np.isfinite(known).any() else 0.0
    usual = Ceiling(max(UNSEEN_INPUT * given, most), _UNSEEN_INPUT_SD * given, seen=bool(ceilings.held.any()))
    return replace(ceilings, source_w=usual)


def _unnamed(view: View, site: Site, ceilings: Ceilings, part: slice) -> list[tuple[float, Ceilings]]:
    """Where the sheet lacks a limit: the source's power, the charger's or the battery's current, the likelier the
    steadier it keeps."""
    busiest = view.source * np.nan_to_num(view.uneven, nan=1.0)
    amperes = view.converter_dc / view.volts
    given = float(view.limit_w[-1])
    known = np.flatnonzero(np.isfinite(busiest) & np.isfinite(amperes))
    known = known[known >= part.start]
    if ceilings.charger_a.seen or ceilings.charger_w.seen or len(known) < 5:
        return [(1.0, _with_input(view, ceilings))]
    steady = [_Steady.of(one[known]) for one in (busiest, amperes, view.current)]
    by_input = replace(ceilings, source_w=steady[0].ceiling, held=_held(view, site, ceilings, part))
    if given > 0 and float(np.quantile(busiest[known[-_LATELY:]], 0.9)) >= _NEAR_INPUT * given:
        return [(1.0, by_input)]
    if not given > 0:
        # The sun stands in for it at times.
        most = float(np.nanquantile((busiest + view.sun + view.sun_ac)[part], 0.9))
        ceilings = replace(ceilings, source_w=Ceiling(_ABOVE * most, _ABOVE_SD * most, seen=False))
    cases = [by_input, _with_input(view, replace(ceilings, charger_a=steady[1].ceiling))]
    # Where the sun charges as well, it may be the battery that sets the current.
    if view.sun[known[-_LATELY:]].any():
        cases.append(_with_input(view, replace(ceilings, battery_a=steady[2].ceiling)))
    found = [(one.odds, case) for one, case in zip(steady, cases, strict=False) if one.odds > 0]
    if not found:
        return [(1.0, _with_input(view, ceilings))]
    total = sum(odds for odds, _ in found)
    return sorted(((odds / total, case) for odds, case in found), key=lambda one: -one[0])


@dataclass(frozen=True, slots=True)
class _Steady:
    """What a reading keeps to of late, as a ceiling, and how likely it is one; 0 where it was exceeded by far."""

    ceiling: Ceiling
    odds: float

    @classmethod
    def of(cls, values: Floats) -> _Steady:
        lately = values[-_LATELY:]
        middle = float(np.quantile(lately, 0.75))
        # What keeps to a ceiling tells it no better than it keeps to it.
        ceiling = Ceiling(middle, max(_STEADY_SD * middle, float(np.std(lately))), seen=True)
        if not middle > _EXCEEDED * float(np.quantile(values, 0.95)) or not middle > 0:
            return cls(ceiling, 0.0)
        spread = float(np.std(values) / np.mean(values)) if np.mean(values) > 0 else math.inf
        return cls(ceiling, 1.0 / (_LEAST_SPREAD + spread) ** 2)
