"""What holds the charge down: input limit, charger limit, battery; off the sheet, and better as they show."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.view import View, known_mean
from desktop.site import Site

Floats = NDArray[np.float64]

Limit = Literal["input limit", "charger limit", "battery", "taper"]
"""What can hold a charge down."""

_WARM_UP = 3
_RECENT = 90
_NEAR_INPUT, _NEAR = 0.85, 0.93
_UNSEEN_INPUT, _UNSEEN_SD = 0.97, 0.025
_SEEN_SD = 0.004
_AT, _TAPERED = 0.95, 1.25
_USUAL_LEAN, _LEAN_WEIGHT = 0.7, 10 * 100.0**2
"""Most of what is switched on in a house with several legs sits on one of them (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Ceiling:
    """A ceiling and its standard deviation; infinite where nothing tells of one. `seen`: it was reached."""

    value: float
    sd: float
    seen: bool


@dataclass(frozen=True, slots=True)
class Ceilings:
    """source_w  what is drawn from generator and grid at most, W
    lean       by how many W that falls for each W more of house load (legs that are loaded unequally)
    usual_w    the house load at which `source_w` was seen
    charger_a  out of the converter, A (DC)
    charger_w  into the converter, W (AC)
    battery_a  into the battery, A
    """

    source_w: Ceiling
    lean: float
    usual_w: float
    charger_a: Ceiling
    charger_w: Ceiling
    battery_a: Ceiling


def ceilings_of(view: View, site: Site) -> Ceilings:
    """The ceilings of the charge that goes on."""
    part = slice(max(view.first + _WARM_UP, len(view.time) - _RECENT), len(view.time))
    if part.stop - part.start < 2:
        part = slice(view.first, len(view.time))
    source, rest = view.source[part], view.else_ac[part]
    given_w = float(view.limit_w[-1])
    input_ = _ceiling(source, given_w, _NEAR_INPUT, _UNSEEN_INPUT)
    reported = float(view.charge_limit_a[-1])
    charger = reported if reported > 0 else _or_nan(site.charger.limit_a)
    unitary = view.volts_now <= 1.0
    charger_a = _ceiling(view.converter_dc[part] / view.volts[part], math.nan if unitary else charger)
    taken = view.ac_of(view.converter_dc[part])
    charger_w = _ceiling(taken, _or_nan(site.charger.rated_w))
    battery_a = _ceiling(view.current[part], math.nan if unitary else _or_nan(site.battery.max_charge_a))
    if not math.isfinite(given_w):
        input_, charger_a = _unnamed(source, view.converter_dc[part] / view.volts[part], input_, charger_a)
    lean, usual = _leaning(source, rest, input_) if site.generator.legs > 1 else (0.0, 0.0)
    return Ceilings(input_, lean, usual, charger_a, charger_w, battery_a)


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value


def _ceiling(values: Floats, given: float, near: float = _NEAR, unseen: float = 0.99) -> Ceiling:
    """The sheet's ceiling; where the values keep close below it, their own plateau."""
    if not given > 0:
        return Ceiling(math.inf, 0.0, seen=False)
    known = values[np.isfinite(values)]
    high = float(np.quantile(known, 0.9)) if known.size else 0.0
    # Above it: it isn't kept, or the voltage isn't quite known. What is seen counts.
    if high >= near * given:
        on = known[known >= 0.96 * high]
        return Ceiling(float(np.median(on[-30:])), _SEEN_SD * high, seen=True)
    return Ceiling(unseen * given, _UNSEEN_SD * given, seen=False)


def _unnamed(source: Floats, amperes: Floats, input_: Ceiling, charger: Ceiling) -> tuple[Ceiling, Ceiling]:
    """Without an input limit on the sheet: what keeps steadier, the source's power or the charger's current."""
    known = np.isfinite(source) & np.isfinite(amperes)
    source, amperes = source[known][-30:], amperes[known][-30:]
    if len(source) < 5 or charger.seen:
        return input_, charger
    spread = [
        float(np.std(one) / np.mean(one)) if np.mean(one) > 0 else math.inf for one in (source, amperes)
    ]
    middles = [float(np.quantile(one, 0.75)) for one in (source, amperes)]
    if spread[0] < spread[1]:
        return Ceiling(middles[0], 0.01 * middles[0], seen=True), charger
    return input_, Ceiling(middles[1], 0.01 * middles[1], seen=True)


def _leaning(source: Floats, rest: Floats, ceiling: Ceiling) -> tuple[float, float]:
    """By how much the source's ceiling falls with the house load, and the load at which it was seen."""
    known = np.isfinite(source) & np.isfinite(rest)
    if not known.any() or not math.isfinite(ceiling.value):
        return 0.0, 0.0
    usual = float(np.median(rest[known]))
    held = known & (source >= 0.6 * ceiling.value) & ceiling.seen
    off = rest[held] - usual
    # As if some readings, each 100 W off, had shown what is usual.
    shown = float(off @ (ceiling.value - source[held])) + _USUAL_LEAN * _LEAN_WEIGHT
    return min(max(shown / (float(off @ off) + _LEAN_WEIGHT), 0.0), 1.0), usual


def limited_now(view: View, ceilings: Ceilings, accepted_a: float) -> Limit:
    """What holds the charge down at present. `accepted_a`: what the battery would take at its charge voltage."""
    now = slice(-5, None)
    current = known_mean(view.current[now])
    dc_a = known_mean(view.converter_dc[now] / view.volts[now])
    ac_w = known_mean(view.ac_of(view.converter_dc[now]))
    shares: list[tuple[float, Limit]] = [
        (known_mean(view.source[now]) / ceilings.source_w.value, "input limit"),
        (max(dc_a / ceilings.charger_a.value, ac_w / ceilings.charger_w.value), "charger limit"),
        (current / ceilings.battery_a.value, "battery"),
    ]
    share, limit = max(shares)
    return "taper" if share < _AT and accepted_a < _TAPERED * current else limit
