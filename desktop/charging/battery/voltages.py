"""The voltage at which the battery takes in and gives back charge, over its state of charge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.chemistry import Chemistry
from desktop.charging.battery.levels import Levels

Floats = NDArray[np.float64]

BINS = 20
WIDTH = 100.0 / BINS

_LEAST_POINTS = 1.0
_UNSEEN_SD, _UNSEEN_LOW_SD, _UNKNOWN_SD, _NEVER_SD = 0.02, 0.05, 0.05, 0.03
_LOW_SOC = 10.0


@dataclass(frozen=True, slots=True)
class Voltages:
    """Mean terminal voltage in each of BINS equal bins of the state of charge, and how well it is known.

    volts, sd  (BINS,) V; where a bin was never passed it follows the chemistry's rest voltage, else the nearest
               bin that was
    seen       (BINS,) True where it was measured
    """

    volts: Floats
    sd: Floats
    seen: NDArray[np.bool_]


def voltages(
    levels: Levels, capacity_ah: float, kind: Chemistry | None, cells: int, *, charging: bool
) -> Voltages | None:
    """From counted energy by counted charge between levels; None where nothing was passed and nothing tells.

    A battery of known chemistry that was never discharged gives its charge back near its rest voltage.
    """
    ah, wh = (levels.ah_in, levels.wh_in) if charging else (levels.ah_out, levels.wh_out)
    near = np.diff(levels.piece) == 0
    middle = 0.5 * (levels.soc[1:] + levels.soc[:-1])[near]
    bins = np.clip((middle / WIDTH).astype(int), 0, BINS - 1)
    charge = np.bincount(bins, np.diff(ah)[near], BINS)
    energy = np.bincount(bins, np.diff(wh)[near], BINS)
    seen = charge >= _LEAST_POINTS / 100 * capacity_ah
    centre = WIDTH * (np.arange(BINS, dtype=np.float64) + 0.5)
    if not seen.any():
        if charging or kind is None or not cells:
            return None
        rest = _rest(kind, cells, centre)
        return Voltages(rest, _NEVER_SD * rest, seen)
    volts = np.divide(energy, charge, out=np.full(BINS, np.nan), where=seen)
    return _completed(volts, seen, centre, kind, cells)


def _completed(
    volts: Floats, seen: NDArray[np.bool_], centre: Floats, kind: Chemistry | None, cells: int
) -> Voltages:
    known = np.flatnonzero(seen)
    nearest = known[np.argmin(np.abs(centre[:, None] - centre[known]), axis=1)]
    filled, spread = volts[nearest], np.full(len(volts), _UNKNOWN_SD)
    if kind is not None and cells:
        rest = _rest(kind, cells, centre)
        filled = rest + (volts - rest)[nearest]
        spread = np.where(centre < _LOW_SOC, _UNSEEN_LOW_SD, _UNSEEN_SD)
    return Voltages(
        np.where(seen, volts, filled),
        np.where(seen, 0.0, spread * np.where(np.isnan(filled), 0.0, filled)),
        seen,
    )


def _rest(kind: Chemistry, cells: int, centre: Floats) -> Floats:
    return cells * kind.rest.at(centre)
