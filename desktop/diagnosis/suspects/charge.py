"""What a battery's state of charge says of the power that went into it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.book import Snapshot
from desktop.site import Site

Floats = NDArray[np.float64]

_MOST_BLOCKS, _SHORTEST_S, _LONGEST_S = 24, 900.0, 3 * 3600.0
_COVERED = 0.8
_FULL, _EMPTY = 95.0, 2.0
_JUMP = 4.0
_CAPACITY_DOUBT, _LEAD_DOUBT = 0.2, 0.35
_TRICKLE_W, _SHARE = 100.0, 0.15


@dataclass(frozen=True, slots=True)
class Charge:
    """Stretches of time. k of them.

    readings  (J, k) mean of each meter over the stretch, W
    power     (k,) W into the battery by its state of charge
    sd        (k,) by the steps in which it is told, W
    doubt     how well capacity and efficiency are known, a share
    """

    readings: Floats
    power: Floats
    sd: Floats
    doubt: float


def charge_of(snapshot: Snapshot, site: Site) -> Charge | None:
    """None where the capacity isn't known, or nothing tells."""
    capacity_kwh = site.battery.capacity_kwh
    known = np.isfinite(snapshot.soc)
    if capacity_kwh is None or known.sum() < 2:
        return None
    time = snapshot.time / 1e9 + snapshot.width_s / 2
    length = float(np.clip((time[-1] - time[0]) / _MOST_BLOCKS, _SHORTEST_S, _LONGEST_S))
    block = ((time - time[0]) // length).astype(np.int64)
    step = _told_in_steps_of(snapshot.soc[known])
    columns = []
    for number in np.unique(block[known]):
        cells = np.flatnonzero((block == number) & known)
        found = _block(snapshot, time, cells, length)
        if found is not None:
            columns.append(found)
    if not columns:
        return None
    watts_per_percent = capacity_kwh * 1000 / 100 * 3600
    seconds = np.array([each[2] for each in columns])
    power = watts_per_percent * np.array([each[1] for each in columns]) / seconds
    sd = np.hypot(np.hypot(watts_per_percent * step * 0.41 / seconds, _TRICKLE_W), _SHARE * power)
    lead = site.battery.chemistry in ("flooded", "agm", "gel")
    readings = np.column_stack([each[0] for each in columns])
    return Charge(readings, power, sd, _LEAD_DOUBT if lead else _CAPACITY_DOUBT)


def _block(
    snapshot: Snapshot, time: Floats, cells: NDArray[np.intp], length: float
) -> tuple[Floats, float, float] | None:
    """Mean readings, rise in percent, and seconds; None where too little is known."""
    soc = snapshot.soc[cells]
    seconds = float(time[cells[-1]] - time[cells[0]])
    covered = len(cells) * max(snapshot.width_s, snapshot.interval_s)
    if seconds < length / 2 or covered < _COVERED * seconds or soc.max() > _FULL or soc.min() < _EMPTY:
        return None
    if np.abs(np.diff(soc)).max() > _JUMP:
        return None
    mean = snapshot.mean[:, cells]
    finite = np.isfinite(mean)
    enough = finite.mean(axis=1) > _COVERED / 2
    total = np.where(finite, mean, 0.0).sum(axis=1) / np.maximum(finite.sum(axis=1), 1)
    return np.where(enough, total, np.nan), float(soc[-1] - soc[0]), seconds


def _told_in_steps_of(soc: Floats) -> float:
    whole = float(np.mean(np.abs(soc - np.round(soc)) < 0.02))
    return 1.0 if whole > 0.5 else 0.1
