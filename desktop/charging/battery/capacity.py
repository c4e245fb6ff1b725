"""How much the battery holds, what it takes to fill it, and the uncertainty of both."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.chemistry import Chemistry, Range
from desktop.charging.battery.facts import NOT_KNOWN, Estimate, Lack, Origin
from desktop.charging.battery.fit import Fit, efficiency_prior, fit
from desktop.charging.battery.levels import Levels, half_cycles
from desktop.charging.battery.told import Hidden
from desktop.charging.battery.voltages import BINS, WIDTH, Voltages, voltages

Floats = NDArray[np.float64]

DRAWS = 4000
_WIDEST = 0.5
"""An interval wider than ± half of its value says nothing worth telling."""

_LEAST_POINTS = 10.0
_LEARNED = 0.7
"""An efficiency counts as measured where the recording narrowed down what was assumed to this share of it."""

_LITTLE = 0.02

_OTHERS = 32
"""So many counts are tried in place of one whose meter tells coarse steps."""

_RATE_SD = 0.01
"""By how much what the terminals give or take differs with the current that a discharge or charge has."""

_SHAPE_SD = 0.02
"""What the energy of a percentage point differs by over the state of charge, where the voltage isn't recorded."""


@dataclass(frozen=True, slots=True)
class Meters:
    """How good the meters are, one standard deviation.

    charge_gain, energy_gain  as shares
    offset_w                  W
    """

    charge_gain: float
    energy_gain: float
    offset_w: float


@dataclass(frozen=True, slots=True)
class Capacity:
    """The estimates, and the fit that they rest on; see BatteryFacts."""

    capacity_wh: Estimate = NOT_KNOWN
    fill_wh: Estimate = NOT_KNOWN
    capacity_ah: Estimate = NOT_KNOWN
    coulombic: Estimate = NOT_KNOWN
    energy_efficiency: Estimate = NOT_KNOWN
    half_cycles: int = 0
    lack: Lack = ""
    fit: Fit | None = None


def capacity(
    levels: Levels,
    meters: Meters,
    usual_v: float,
    kind: Chemistry | None,
    cells: int,
    hidden: Hidden | None = None,
) -> Capacity:
    """Judge levels of the state of charge.

    hidden   what the steps of the meter may hide; None for nothing
    usual_v  the voltage at which the battery usually is, V; NaN where it isn't recorded: then energy is counted
             instead of charge
    """
    by_energy = not usual_v > 0
    if len(levels) < 2 or np.ptp(levels.soc) < _LEAST_POINTS:
        return Capacity(lack="too little moved")
    turned = half_cycles(levels)
    if by_energy:
        levels = replace(levels, soc=_energy_level(levels.soc, kind))
    offset = meters.offset_w if by_energy else meters.offset_w / usual_v
    prior = efficiency_prior(kind, energy=by_energy)
    found = fit(levels, prior, offset, energy=by_energy)
    if found is None:
        return Capacity(lack="nothing fits", half_cycles=turned)
    if hidden is not None and hidden.matters:
        others = [fit(one, prior, offset, energy=by_energy) for one in _others(levels, hidden)]
        rounded = float(np.std([one.capacity / found.capacity for one in others if one is not None]))
        meters = replace(
            meters,
            charge_gain=math.hypot(meters.charge_gain, rounded),
            energy_gain=math.hypot(meters.energy_gain, rounded),
        )
    drawn = _Draws(found, meters, _whole(kind, energy=by_energy))
    judged = _by_energy(drawn) if by_energy else _by_charge(drawn, levels, kind, cells)
    if not _tells(judged.capacity_wh):
        return Capacity(lack="nothing fits", half_cycles=turned)
    return replace(judged, half_cycles=turned, fit=found)


def _others(levels: Levels, hidden: Hidden) -> list[Levels]:
    """The levels as they may have been counted by a meter without steps."""
    chance = np.random.default_rng(_OTHERS)
    return [hidden.other(levels, chance) for _ in range(_OTHERS)]


def _whole(kind: Chemistry | None, *, energy: bool) -> Range | None:
    """The usual efficiency of a whole charge, where it is known apart from that of its bands."""
    if kind is None or not kind.lead_acid:
        return None
    return kind.energy if energy else kind.coulombic


def _energy_level(soc: Floats, kind: Chemistry | None) -> Floats:
    """The share of its energy, in percent, that a battery has left at a state of charge."""
    if kind is None:
        return soc
    grid = np.linspace(0.0, 100.0, 101)
    volts = kind.rest.at(grid)
    held = np.concatenate(([0.0], np.cumsum(0.5 * (volts[1:] + volts[:-1]))))
    level: Floats = np.interp(soc, grid, 100.0 * held / held[-1])
    return level


class _Draws:
    """Equally likely values of everything that was fitted; always the same numbers for the same fit.

    capacity (DRAWS,), efficiency (k, DRAWS), charge_gain and energy_gain (DRAWS,) factors on Ah and on Wh
    learned_efficiency  True where the recording tells of it
    """

    def __init__(self, found: Fit, meters: Meters, whole: Range | None) -> None:
        self._rng = np.random.default_rng(20_210)
        cov = found.cov.copy()
        unseen = (1.0 - found.seen) * found.prior.sd
        diagonal = np.arange(2, len(cov))
        cov[diagonal, diagonal] += unseen**2
        drawn = self._rng.multivariate_normal(found.mean, cov, DRAWS, method="eigh").T
        self._edges = np.array(found.prior.edges)
        self.efficiency: Floats = np.clip(drawn[2:], 0.1, 1.0)
        if whole is not None:
            drawn = drawn[:, self._likely(whole)]
            self.efficiency = np.clip(drawn[2:], 0.1, 1.0)
        self.capacity: Floats = np.maximum(drawn[0], 1e-9)
        self.charge_gain: Floats = 1.0 + meters.charge_gain * self._rng.standard_normal(DRAWS)
        self.energy_gain: Floats = 1.0 + meters.energy_gain * self._rng.standard_normal(DRAWS)
        width = np.diff(self._edges)
        before = float(width @ found.prior.sd)
        self.learned_efficiency = float(width @ np.sqrt(cov[diagonal, diagonal])) < _LEARNED * before

    def _likely(self, whole: Range) -> NDArray[np.intp]:
        """(DRAWS,) drawn anew by how well the bands together give the usual efficiency of a whole charge."""
        lasting = 1.0 / self.taken_in(np.full((BINS, 1), 1.0 / BINS))
        odds = np.exp(-0.5 * ((lasting - whole.value) / ((whole.high - whole.low) / 4)) ** 2)
        share = np.cumsum(odds)
        even = (np.arange(DRAWS) + 0.5) / DRAWS
        chosen: NDArray[np.intp] = np.minimum(np.searchsorted(share, even * share[-1]), DRAWS - 1)
        return chosen

    def shared(self) -> Floats:
        """(DRAWS,) one error that everything not measured has in common."""
        return self._rng.standard_normal(DRAWS)

    def taken_in(self, weights: Floats) -> Floats:
        """(DRAWS,) Σ over bins of weight ÷ efficiency; weights (BINS,) or (BINS, DRAWS)."""
        centre = (np.arange(BINS) + 0.5) * WIDTH
        band = np.searchsorted(self._edges, centre, side="right") - 1
        total: Floats = (weights / self.efficiency[band]).sum(axis=0)
        return total


def _by_charge(drawn: _Draws, levels: Levels, kind: Chemistry | None, cells: int) -> Capacity:
    middle = float(np.median(drawn.capacity))
    out = voltages(levels, middle, kind, cells, charging=False)
    into = voltages(levels, middle, kind, cells, charging=True)
    even = np.full((BINS, 1), 1.0 / BINS)
    filled = drawn.taken_in(even)
    delivered = _energy(drawn, out, even) if out is not None else None
    taken = _energy(drawn, into, even, filling=True) if into is not None else None
    return Capacity(
        capacity_wh=NOT_KNOWN if delivered is None else Estimate.of(delivered * drawn.energy_gain),
        fill_wh=NOT_KNOWN
        if taken is None
        else Estimate.of(taken * drawn.energy_gain, _origin(drawn, filled)),
        capacity_ah=Estimate.of(drawn.capacity * drawn.charge_gain),
        coulombic=Estimate.of(1.0 / filled, "measured" if drawn.learned_efficiency else "assumed"),
        energy_efficiency=(
            Estimate.of(np.minimum(delivered / taken, 1.0), _origin(drawn, filled))
            if delivered is not None and taken is not None
            else NOT_KNOWN
        ),
    )


def _origin(drawn: _Draws, filled: Floats) -> Origin:
    """Whether what rests on the efficiency is measured: where it was learned, or where it matters little."""
    spread = float(np.std(filled) / np.mean(filled))
    return "measured" if drawn.learned_efficiency or spread < _LITTLE else "assumed"


def _energy(drawn: _Draws, found: Voltages, even: Floats, *, filling: bool = False) -> Floats:
    """(DRAWS,) energy of a whole discharge or charge at the terminals, Wh, by the meter as it is."""
    volts = found.volts[:, None] + found.sd[:, None] * drawn.shared()
    weights = volts * (1.0 + _RATE_SD * drawn.shared()) * even
    share: Floats = drawn.taken_in(weights) if filling else weights.sum(axis=0)
    return drawn.capacity * share


def _by_energy(drawn: _Draws) -> Capacity:
    even = np.full((BINS, 1), 1.0 / BINS)
    filled = drawn.taken_in(even)
    shape = 1.0 + math.hypot(_SHAPE_SD, _RATE_SD) * drawn.shared()
    return Capacity(
        capacity_wh=Estimate.of(drawn.capacity * drawn.energy_gain * shape),
        fill_wh=Estimate.of(drawn.capacity * filled * drawn.energy_gain * shape, _origin(drawn, filled)),
        energy_efficiency=Estimate.of(1.0 / filled, _origin(drawn, filled)),
    )


def _tells(estimate: Estimate) -> bool:
    return estimate.known and estimate.high - estimate.low <= 2 * _WIDEST * estimate.value
