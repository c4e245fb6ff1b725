"""House load and sun ahead: drawn from recorded minutes, beginning with what they are now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.ceilings import Ceilings
from desktop.charging.forecast.draw import Draw
from desktop.charging.forecast.room import burden_of
from desktop.charging.forecast.strangers import Strangers
from desktop.charging.forecast.sun import sun_ahead
from desktop.charging.forecast.view import View
from desktop.site import Site

Floats = NDArray[np.float64]

_NOW = 2
_LOOK_BACK = 300


@dataclass(frozen=True, slots=True)
class Ahead:
    """(steps, paths) W: what of the AC side doesn't go into the converter, what that takes off the input limit,
    both suns, DC loads; a step takes `step_s`. `usual_w`: what the set carries for the house in the long run."""

    step_s: float
    else_ac: Floats
    burden: Floats
    sun: Floats
    sun_ac: Floats
    dc_load: Floats
    usual_w: float = 0.0

    @classmethod
    def joined(cls, parts: Sequence[Ahead]) -> Ahead:
        """The paths of all parts, which have the same steps."""
        if len(parts) == 1:
            return parts[0]

        def every(name: str) -> Floats:
            return np.concatenate(
                [np.broadcast_to(getattr(one, name), one.else_ac.shape) for one in parts], axis=1
            )

        else_ac, burden, sun, sun_ac, dc_load = map(every, ("else_ac", "burden", "sun", "sun_ac", "dc_load"))
        return cls(parts[0].step_s, else_ac, burden, sun, sun_ac, dc_load, parts[0].usual_w)


def powers_ahead(
    view: View,
    ceilings: Ceilings,
    site: Site,
    steps: int,
    step_s: float,
    paths: int,
    chance: np.random.Generator,
) -> Ahead:
    """Draw what lies ahead of the end of a view."""
    house = _comparable(view)
    drawn = Draw.like_now(view, house, steps, step_s, paths, chance)
    else_ac, burden = _house(view, ceilings, site, house, drawn, chance)
    sun, sun_ac = (
        sun_ahead(view, recorded, site, drawn.seconds, drawn, chance)
        if recorded.any() or (site.solar.rated_w and site.solar.coupling == coupling)
        else np.zeros((1, 1))
        for recorded, coupling in ((view.sun, "dc"), (view.sun_ac, "ac"))
    )
    usual_w = max(0.0, float(house.mean() - view.sun_ac.mean()))
    return Ahead(step_s, else_ac, burden, sun, sun_ac, _dc(view), usual_w)


def _dc(view: View) -> Floats:
    """DC loads hardly change: as they were of late."""
    recent = view.dc_load[-60:]
    return np.full((1, 1), float(recent.mean()))


def _house(
    view: View, ceilings: Ceilings, site: Site, house: Floats, drawn: Draw, chance: np.random.Generator
) -> tuple[Floats, Floats]:
    """What is drawn, and what it takes off the input limit."""
    legs, paths = site.generator.legs, drawn.rows.shape[1]
    strangers = Strangers.drawn(view, legs, paths, chance)
    patience = chance.random((paths,))
    rows = _lasting(house, drawn, patience, chance)
    load = house[rows] + strangers.load(drawn.seconds)
    np.maximum(load, 0.0, out=load)
    if legs == 1:
        return load, load
    burden = burden_of(view, ceilings, house, site)
    slopes = np.clip(burden.slope + burden.slope_sd * chance.standard_normal(paths), 0.0, legs)
    weighed = burden.base[rows] + slopes * burden.tilt[rows]
    weighed += strangers.burden(drawn.seconds)
    return load, np.maximum(weighed, load)


def _lasting(house: Floats, drawn: Draw, patience: Floats, chance: np.random.Generator) -> NDArray[np.int64]:
    """(steps, paths) the drawn minutes, and before them those of the present state of the house for as long as that
    lasts: what has just begun soon ends, what has gone on for hours goes on (of what has lasted for t, one half
    lasts for t more, a tenth for 9 t).

    house  (m,); patience  (paths,) 0..1
    """
    now = float(np.mean(house[-_NOW:]))
    unlike = np.abs(now - house[drawn.rows].mean(axis=0))
    apart = np.maximum.accumulate(np.abs(house[::-1][:_LOOK_BACK] - now))
    since = np.clip(np.searchsorted(apart, 0.5 * unlike), 1, len(apart))
    for_s = 60.0 * since * (1.0 / np.maximum(patience, 1e-3) - 1.0)
    minute = (drawn.seconds / 60.0).astype(np.int64)[:, None] + chance.integers(0, _LOOK_BACK, len(patience))
    present = len(house) - 1 - minute % since
    return np.where(drawn.seconds[:, None] < for_s, present, drawn.rows)


def _comparable(view: View) -> Floats:
    """(m,) the house as the charge's own meters show it: before the charge it was another meter's word."""
    part = view.session
    both = np.isfinite(view.else_ac[part]) & np.isfinite(view.load[part])
    offset = float(np.median((view.else_ac[part] - view.load[part])[both])) if both.any() else 0.0
    house = np.where(np.arange(len(view.time)) >= view.first, view.else_ac, view.load + offset)
    known = np.isfinite(house)
    usual = float(np.median(house[known])) if known.any() else 0.0
    return np.where(known, house, usual)
