"""The state of charge counted anew, from one anchor to the next."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.anchors import Anchors
from desktop.charging.battery.facts import OwnSoc
from desktop.charging.battery.records import Table

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Count:
    """How charge is turned into points of the state of charge, all in the unit of the count (Ah or Wh).

    energy         counts Wh
    capacity       and capacity_sd as a share of it
    efficiency     share of what goes in that stays, and its sd
    offset         of the meter, per hour, and its sd
    """

    energy: bool
    capacity: float
    capacity_sd: float
    efficiency: float
    efficiency_sd: float
    offset: float
    offset_sd: float


def own_soc(minutes: Table, start: int, found: Anchors, count: Count) -> OwnSoc | None:
    """Count forward from the latest anchor and back from the next one, each weighted by what it is worth.

    None without an anchor. Counting stops where the recording has a gap, until the next anchor. The sd grows with
    what flowed since (capacity, efficiency) and with the time since (the meter's offset).
    """
    if not len(found.row):
        return None
    unit = "wh" if count.energy else "ah"
    into, out = minutes[f"{unit}_in"], minutes[f"{unit}_out"]
    hours = minutes["at"] / 3600
    kept = count.efficiency * into - out + count.offset * hours
    rows = np.arange(len(minutes))
    after = np.searchsorted(found.row, rows, side="right") - 1
    before = np.searchsorted(found.row, rows, side="left")
    counted = [
        _from(np.clip(which, 0, len(found.row) - 1), valid, minutes, found, count, kept, into, hours)
        for which, valid in ((after, after >= 0), (before, before < len(found.row)))
    ]
    weights = np.stack([np.where(np.isfinite(sd), 1 / sd**2, 0.0) for _, sd in counted])
    total = weights.sum(axis=0)
    values = np.stack([np.where(np.isfinite(sd), soc, 0.0) for soc, sd in counted])
    reached = total > 0
    soc = np.divide((weights * values).sum(axis=0), total, out=np.full(len(rows), np.nan), where=reached)
    # What both counts rest on is the same meter: together they are no better than the better one.
    best = np.divide(1.0, np.sqrt(weights.max(axis=0)), out=np.full(len(rows), np.nan), where=reached)
    return OwnSoc(
        time=start + np.round(minutes["at"] * 1e9).astype(np.int64),
        soc=np.clip(soc, 0.0, 100.0),
        sd=best,
        reported=minutes["soc"].copy(),
        full=_stretches(found.row[found.full]),
        rest=_stretches(found.row[~found.full]),
    )


def _from(
    which: NDArray[np.intp],
    valid: NDArray[np.bool_],
    minutes: Table,
    found: Anchors,
    count: Count,
    kept: Floats,
    into: Floats,
    hours: Floats,
) -> tuple[Floats, Floats]:
    """(m,) state of charge and sd as counted from these anchors; sd NaN where none reaches."""
    row = found.row[which]
    moved = kept - kept[row]
    sd = np.sqrt(
        found.sd[which] ** 2
        + (100 / count.capacity) ** 2
        * (
            (count.capacity_sd * moved) ** 2
            + (count.efficiency_sd * (into - into[row])) ** 2
            + (count.offset_sd * (hours - hours[row])) ** 2
        )
    )
    same = valid & (minutes["run"] == minutes["run"][row])
    return found.soc[which] + 100 * moved / count.capacity, np.where(same, sd, np.nan)


def _stretches(rows: NDArray[np.intp]) -> int:
    return int(np.sum(np.diff(rows) > 1)) + 1 if rows.size else 0
