"""What holds a charge down: at an instant, and over the last hour, so that the story is a steady one."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.ceilings import Ceiling, Ceilings
from desktop.charging.forecast.held import HELD, STANDS, charge_v, held_v
from desktop.charging.forecast.view import View, known_mean
from desktop.site import Site

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

Limit = Literal["input limit", "charger limit", "battery", "taper", "float"]
"""What can hold a charge down. "float": the charger is done, and only keeps the battery where it is."""

_ORDER: tuple[Limit, ...] = ("input limit", "charger limit", "battery")
_NOW, _LATELY = 5, 60
_OFTEN = 0.1
_AT, _AT_HELD, _TAPERED = 0.95, 0.985, 1.25
_WARM_UP = 3
_ROOM = 0.9
_QUIET = 3
_LEAST_HELD = 5
_FELL = 0.6
_KEPT_SD = 0.3
_NEAR_V = 0.03
_FULL_SOC, _FULL_C, _FULL_SHARE = 97.0, 0.01, 0.05


def limited_now(view: View, ceilings: Ceilings, site: Site, accepted_a: float) -> Limit:
    """What holds the charge down at present. `accepted_a`: what the battery would take at its charge voltage."""
    if ceilings.held[-_NOW:].sum() > 2:
        return "input limit"
    shares = [known_mean(one[-_NOW:]) for one in _shares(view, ceilings)]
    known = [(-math.inf if math.isnan(one) else one) for one in shares]
    most = max(known)
    stands = view.volts_now >= STANDS * held_v(view, site)
    if most < (_AT_HELD if stands else _AT) and accepted_a < _TAPERED * view.current_now:
        return "taper"
    return _ORDER[known.index(most)]


def limits_lately(view: View, ceilings: Ceilings, now: Limit) -> tuple[Limit, ...]:
    """What held the charge down in a good part of the last hour, in a steady order.

    A kettle makes the input limit hold for some minutes what the charger limit holds otherwise; and where two
    ceilings lie close together, chance decides in each minute which of them is the lower one.
    """
    if now not in _ORDER:
        return (now,)
    part = slice(max(view.first + _WARM_UP, len(view.time) - _LATELY), len(view.time))
    shares = np.nan_to_num(np.stack(_shares(view, ceilings))[:, part])
    shares[0, ceilings.held[part]] = np.inf
    at = np.where(shares.max(axis=0, initial=0.0) >= _AT, shares.argmax(axis=0), -1)
    told = np.count_nonzero(at >= 0)
    often = {
        _ORDER[place] for place in range(len(_ORDER)) if told and np.mean(at[at >= 0] == place) >= _OFTEN
    }
    return tuple(one for one in _ORDER if one in often or one == now)


def _shares(view: View, ceilings: Ceilings) -> tuple[Floats, Floats, Floats]:
    """(m,) of _ORDER's ceilings, how much of each is used."""
    amperes = view.converter_dc / view.volts
    charger = np.maximum(
        amperes / ceilings.charger_a.value, view.ac_of(view.converter_dc) / ceilings.charger_w.value
    )
    return view.source / ceilings.source_w.value, charger, view.current / ceilings.battery_a.value


def floats(view: View, ceilings: Ceilings, site: Site, capacity_ah: float) -> bool:
    """True where the charger is done: the battery takes little though all limits leave room, after its charge
    voltage was held, or near full."""
    source, charger, _ = (one[-_QUIET:] for one in _shares(view, ceilings))
    if view.session_minutes < _QUIET or not (np.nan_to_num(np.maximum(source, charger)) < _ROOM).all():
        return False
    current = view.current[view.session]
    most = float(np.nanquantile(current, 0.9)) if np.isfinite(current).any() else math.nan
    little = _FULL_C * capacity_ah if capacity_ah > 0 else _FULL_SHARE * most
    if known_mean(view.soc[-_QUIET:]) >= _FULL_SOC and (np.nan_to_num(current[-_QUIET:]) <= little).all():
        return True
    return view.metered_v and _let_down(view, site)


def _let_down(view: View, site: Site) -> bool:
    """True where the charge voltage was held for a while, and voltage and current have since been let down."""
    volts, current = view.volts[view.session], view.current[view.session]
    highest = float(np.nanmax(volts))
    if not abs(highest / charge_v(view, site, highest) - 1) < _NEAR_V:
        return False
    held = np.flatnonzero(volts >= HELD * highest)
    if len(held) < _LEAST_HELD or len(volts) - 1 - held[-1] < _QUIET:
        return False
    return known_mean(current[-_QUIET:]) < _FELL * known_mean(current[held[-_LEAST_HELD:]])


def let_down(ceilings: Ceilings, view: View) -> Ceilings:
    """The ceilings while the charger only keeps the battery where it is: what it takes now, and no more."""
    now = max(view.current_now, 0.0)
    return replace(ceilings, battery_a=Ceiling(now, _KEPT_SD * now, seen=True))
