"""Many possible courses of one charge, worked through step by step, all at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.ahead import Ahead
from desktop.charging.forecast.ceilings import Ceiling, Ceilings
from desktop.charging.forecast.curves import GRID
from desktop.charging.forecast.store import Store
from desktop.charging.forecast.taper import SLOW_SD, Acceptance
from desktop.charging.forecast.view import View

Floats = NDArray[np.float64]

FINE = 0.25
"""Points of state of charge between two entries of the tables that the steps look up, percent."""

_TABLE = np.arange(0.0, 100.0 + FINE / 2, FINE) + FINE / 2
"""What an entry stands for: its middle."""


@dataclass(frozen=True, slots=True)
class Paths:
    """p paths at k + 1 instants.

    seconds  (k + 1,) from the view's end
    soc      (k + 1, p) percent
    power    (k, p) W into the battery between two instants
    """

    seconds: Floats
    soc: Floats
    power: Floats

    @classmethod
    def joined(cls, parts: Sequence[Paths]) -> Paths:
        """The paths of all parts, which have the same instants."""
        soc, power = (
            np.concatenate([getattr(one, name) for one in parts], axis=1) for name in ("soc", "power")
        )
        return cls(parts[0].seconds, soc, power)

    def reaches(self, soc: float) -> Floats:
        """(p,) seconds after which each path first stands at a state of charge; infinite where it never does."""
        over = self.soc >= soc - 1e-9
        reached = over.any(axis=0)
        row = np.maximum(np.argmax(over, axis=0), 1)
        columns = np.arange(self.soc.shape[1])
        low, high = self.soc[row - 1, columns], self.soc[row, columns]
        share = np.clip((soc - low) / np.maximum(high - low, 1e-12), 0.0, 1.0)
        at = self.seconds[row - 1] + share * (self.seconds[row] - self.seconds[row - 1])
        return np.where(reached, np.where(over[0], 0.0, at), math.inf)


def run_paths(
    view: View,
    ceilings: Ceilings,
    store: Store,
    accepts: Acceptance,
    ahead: Ahead,
    chance: np.random.Generator,
) -> Paths:
    """Charge from now on, as many paths as `ahead` has."""
    paths = ahead.else_ac.shape[1]
    into, beside = _converter_w(view, ceilings, ahead, chance)
    most_a = np.minimum(_drawn(ceilings.charger_a, paths, chance), math.inf)
    battery_a = _drawn(ceilings.battery_a, paths, chance)
    charge = _table(store.charge.drawn(paths, chance))
    accepted = _table(accepts.curve.drawn(paths, chance))
    if not accepts.slowly:
        accepted = np.minimum(accepted, battery_a)
    soc = np.clip(store.soc + store.soc_sd * chance.standard_normal(paths), 0.0, 100.0)
    past = _Past.drawn(accepts, battery_a, ahead.step_s, chance) if accepts.slowly else None
    return _charge(soc, into, beside, most_a, accepted, charge, _volts(view, store), ahead.step_s, past)


@dataclass(slots=True)
class _Past:
    """What flowed before and still lowers what is accepted: A by path, and how quickly it is forgotten."""

    amperes: Floats
    most: Floats
    slowly: float
    share: Floats

    @classmethod
    def drawn(cls, accepts: Acceptance, most: Floats, step_s: float, chance: np.random.Generator) -> _Past:
        slow_s = accepts.slow_s * np.exp(SLOW_SD * chance.standard_normal(len(most)))
        return cls(np.full(len(most), accepts.past_a), most, accepts.slowly, -np.expm1(-step_s / slow_s))

    def limit(self, accepted: Floats) -> Floats:
        """(p,) A accepted now of what is accepted for long."""
        now = (1 + self.slowly) * accepted - self.slowly * self.amperes
        return np.minimum(np.maximum(now, 0.0), self.most)

    def add(self, current: Floats) -> None:
        """A step of this current."""
        self.amperes += self.share * (current - self.amperes)


def _converter_w(
    view: View, ceilings: Ceilings, ahead: Ahead, chance: np.random.Generator
) -> tuple[Floats, Floats]:
    """(steps, paths) W that the converter can give to the DC bus, and W that the sun adds there."""
    paths = ahead.else_ac.shape[1]
    source = _drawn(ceilings.source_w, paths, chance)
    room = np.maximum(source + ahead.sun_ac - ahead.burden, 0.0)
    taken = np.minimum(room, _drawn(ceilings.charger_w, paths, chance))
    beside = ahead.sun - ahead.dc_load
    return view.dc_of(taken), np.broadcast_to(beside, taken.shape)


def _drawn(ceiling: Ceiling, paths: int, chance: np.random.Generator) -> Floats:
    return ceiling.value + ceiling.sd * chance.standard_normal(paths)


def _table(curves: Floats) -> Floats:
    """(n, paths) of (grid, paths): straight between the grid's points, in the middles of steps of FINE."""
    each = round((GRID[1] - GRID[0]) / FINE)
    shares = ((np.arange(each) + 0.5) / each)[:, None]
    between = curves[:-1, None] * (1 - shares) + curves[1:, None] * shares
    return np.concatenate((between.reshape(-1, curves.shape[1]), curves[-1:]))


def _volts(view: View, store: Store) -> Floats:
    """(n,) voltage at the terminals over the table's states of charge: straight on as it rose in this charge."""
    part = view.session
    soc, volts = view.soc[part], view.volts[part]
    known = np.isfinite(soc) & np.isfinite(volts)
    known[: min(3, len(known) - 1)] = False
    slope = 0.0
    if known.sum() > 5 and np.ptp(soc[known]) > 2:
        off = soc[known] - soc[known].mean()
        slope = max(0.0, float(off @ volts[known]) / float(off @ off))
    now = view.volts_now
    highest = float(np.nanmax(view.volts[part]))
    return np.clip(now + slope * (_TABLE - store.soc), 0.8 * now, max(highest, 1.04 * now))


def _charge(
    soc: Floats,
    into: Floats,
    beside: Floats,
    most_a: Floats,
    accepted: Floats,
    charge: Floats,
    volts: Floats,
    step_s: float,
    past: _Past | None,
) -> Paths:
    steps, paths = into.shape
    course, power = np.empty((steps + 1, paths)), np.empty((steps, paths))
    course[0] = soc
    columns = np.arange(paths)
    flat_accepted, flat_hours = accepted.ravel(), (step_s / 3600 / charge).ravel()
    rise = np.zeros(paths)
    for step in range(steps):
        # Tables are looked up in the middle of the step, as it was in the step before.
        rows = (np.minimum(soc + 0.5 * rise, 100.0) * (1 / FINE)).astype(np.int64)
        places = rows * paths + columns
        v = volts[rows]
        current = np.minimum(into[step] / v, most_a)
        current += beside[step] / v
        accepts = flat_accepted[places]
        np.minimum(current, accepts if past is None else past.limit(accepts), out=current)
        if past is not None:
            past.add(current)
        np.multiply(current, v, out=power[step])
        np.multiply(current, flat_hours[places], out=rise)
        soc = np.minimum(np.maximum(soc + rise, 0.0), 100.0)
        course[step + 1] = soc
    return Paths(np.arange(steps + 1) * step_s, course, power)
