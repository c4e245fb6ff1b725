"""What speaks against corrected readings besides the balances: signs, ratings, the battery's voltage and charge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.case import Case
from desktop.diagnosis.suspects.robust import losses
from desktop.flow.streams import SIGNED
from desktop.site import Site

Floats = NDArray[np.float64]

_ABOVE_RATING = 1.5
"""No source gives this many times its rating for long."""

_SURE = 3.0
_LEAST_CHANGE_W, _LEAST_CHANGE_V = 200.0, 0.05
_PER_PAIR, _MOST_BY_VOLTAGE = 0.5, 10.0
_DISCORDANT = 0.7
_STRETCHES, _LEAST_RISE, _FEWEST = 6, 3.0, 3
_PER_STRETCH, _UNANIMOUS = 4.0, 1000.0


def witnesses(case: Case, readings: Floats, gain: Floats) -> float:
    """What these readings (J, n) cost by themselves."""
    return _bounds(case, readings, gain) + _by_voltage(case, readings) + _by_charge(case, readings)


def _bounds(case: Case, readings: Floats, gain: Floats) -> float:
    """Streams that run one way can't be negative, nor far above their rating."""
    cells = len(case.cells)
    noise = case.noise(readings, gain)[:, :cells]
    size = np.abs(gain)
    cost = 0.0
    for row, meter in enumerate(case.meters):
        read, weight = readings[row, :cells], case.weight[:cells]
        over = np.zeros(cells)
        if meter.stream not in SIGNED:
            # Turned down, a reading is as far on the wrong side as before.
            over = np.maximum(over, -read / size[row] - _SURE * noise[row])
        rated = _rated(case.site, meter.stream)
        if rated:
            over = np.maximum(over, np.abs(read) - _ABOVE_RATING * rated)
        z = np.nan_to_num(over / noise[row])
        if z.any():
            cost += float(weight @ losses(z))
    return cost


def _rated(site: Site, stream: str) -> float:
    match stream:
        case "generator":
            return site.generator.rated_w or 0.0
        case "solar" | "solar_ac":
            return site.solar.rated_w or 0.0
        case "converter_ac" | "converter_dc":
            return 2 * max(site.inverter.rated_w or 0.0, site.charger.rated_w or 0.0)
    return 0.0


def _by_voltage(case: Case, readings: Floats) -> float:
    """A battery's voltage rises with the power into it."""
    rows = case.telling.get("battery")
    count = len(case.cells)
    if not rows or count < 2:
        return 0.0
    power, volts = readings[rows, :count].sum(axis=0), case.snapshot.battery_v[case.cells]
    near = np.diff(case.snapshot.time[case.cells]) <= 3 * case.snapshot.width_s * 1e9
    change_w, change_v = np.diff(power), np.diff(volts)
    told = near & (np.abs(change_w) > _LEAST_CHANGE_W) & (np.abs(change_v) > _LEAST_CHANGE_V)
    if not told.any():
        return 0.0
    against = float((change_w * change_v < 0)[told].mean())
    return min(_MOST_BY_VOLTAGE, _PER_PAIR * told.sum()) if against > _DISCORDANT else 0.0


def _by_charge(case: Case, readings: Floats) -> float:
    """A battery that is charged gets fuller: how much by, takes its capacity, the direction doesn't.

    Where the capacity is known, charge stands among the balances.
    """
    rows = case.telling.get("battery")
    if not rows or case.site.battery.capacity_kwh is not None:
        return 0.0
    power, soc = readings[rows, : len(case.cells)].sum(axis=0), case.snapshot.soc[case.cells]
    known = np.flatnonzero(np.isfinite(power) & np.isfinite(soc))
    told = against = 0
    for part in np.array_split(known, _STRETCHES):
        if len(part) < 2:
            continue
        rise, mean = float(soc[part[-1]] - soc[part[0]]), float(power[part].mean())
        if abs(rise) >= _LEAST_RISE and abs(mean) > _LEAST_CHANGE_W:
            told += 1
            against += rise * mean < 0
    # A gauge that goes the other way all the time, by points and not by steps, leaves nothing to be weighed.
    return _UNANIMOUS if against == told >= _FEWEST else _PER_STRETCH * against
