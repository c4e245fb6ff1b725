"""The picture of the evidence: the imbalance as recorded, and as it would be with the correction."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.around import weights_of
from desktop.diagnosis.suspects.book import Snapshot
from desktop.diagnosis.suspects.case import Case, System
from desktop.diagnosis.suspects.correction import factor_of
from desktop.diagnosis.suspects.judging import healthy
from desktop.diagnosis.suspects.rounding import Rounding
from desktop.diagnosis.suspects.suspect import Suspect
from desktop.flow.learned import Learned
from desktop.site import Site

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Evidence:
    """What enters a place and isn't seen to leave, m instants; NaN where it can't be told.

    buses      "ac", "converter", "dc": what the imbalance is of
    time       (m,) UTC nanoseconds: middles of cells, or rows around the greatest step for readings that are late
    recorded   (m,) W
    corrected  (m,) W
    """

    buses: tuple[str, ...]
    time: NDArray[np.int64]
    recorded: Floats
    corrected: Floats


def evidence(suspect: Suspect, snapshot: Snapshot, learned: Learned, site: Site) -> Evidence:
    """Of the balance that tells most. The converter's loss is what fits best once the correction is made."""
    if suspect.fault == "lag":
        return _around_step(suspect, snapshot, learned)
    mended = replace(snapshot, mean=_mended(suspect, snapshot))
    case = Case.of(mended, learned, site)
    middle = snapshot.time + round(snapshot.width_s * 5e8)
    nothing = Evidence((), middle, *np.full((2, len(middle)), np.nan))
    if case is None:
        return nothing
    fitted = healthy(case).fitted.beta
    every = np.arange(len(snapshot))
    whole = replace(
        case,
        cells=every,
        charge=None,
        weight=np.ones(len(snapshot)),
        told_sd=np.zeros_like(snapshot.mean),
        rounding=Rounding.none(len(snapshot)),
        nights={},
    )
    before, after = (_imbalances(whole, each, fitted) for each in (snapshot, mended))
    rows = [row for row, meter in enumerate(snapshot.meters) if meter.channel in suspect.channels]
    best, gone = nothing, -1.0
    for equation, recorded in before.items():
        if not _concerned(equation, suspect, rows, snapshot):
            continue
        now = after.get(equation, np.full(len(middle), np.nan))
        if not suspect.channels:
            now = (
                np.minimum(recorded, 0.0) if suspect.fault == "unmetered_load" else np.maximum(recorded, 0.0)
            )
        removed = float(np.nansum(np.abs(recorded)) - np.nansum(np.abs(now)))
        if removed > gone:
            best, gone = Evidence(equation, middle, recorded, now), removed
    return best


def _concerned(buses: tuple[str, ...], suspect: Suspect, rows: list[int], snapshot: Snapshot) -> bool:
    if not suspect.channels:
        return suspect.channel in buses
    return any(bus in _BUSES[snapshot.meters[row].stream] for row in rows for bus in buses)


_BUSES = {
    "generator": ("ac",),
    "grid": ("ac",),
    "solar_ac": ("ac",),
    "load": ("ac",),
    "converter_ac": ("ac", "converter"),
    "converter_dc": ("converter", "dc"),
    "solar": ("dc",),
    "battery": ("dc",),
    "dc_load": ("dc",),
}


def _imbalances(case: Case, snapshot: Snapshot, fitted: Floats) -> dict[tuple[str, ...], Floats]:
    """Buses → (m,) imbalance of their balance, with the loss that was fitted."""
    case = replace(case, snapshot=snapshot, readings=snapshot.mean, volts=snapshot.volts)
    system = System.of(case, snapshot.mean, np.ones(len(case.meters)))
    loss = slice(2 * len(case.meters), 2 * len(case.meters) + 4)
    left = system.y - system.design[:, loss] @ fitted[loss]
    found: dict[tuple[str, ...], Floats] = {}
    for number, each in enumerate(system.equations):
        if each.buses:
            values = found.setdefault(each.buses, np.full(len(snapshot), np.nan))
            mine = system.equation == number
            values[system.cell[mine]] = left[mine]
    return found


def _mended(suspect: Suspect, snapshot: Snapshot) -> Floats:
    """(J, m) means as they would be without the fault."""
    mean = snapshot.mean.copy()
    rows = [row for row, meter in enumerate(snapshot.meters) if meter.channel in suspect.channels]
    if suspect.fault == "swapped":
        mean[rows] = mean[rows[::-1]]
    elif suspect.fault == "offset":
        mean[rows] -= suspect.parameter
    elif suspect.fault == "stuck":
        inside = (snapshot.time >= suspect.start) & (snapshot.time < suspect.end)
        stood = snapshot.low[rows] == np.float32(suspect.parameter)
        mean[rows] = np.where(
            inside & stood & (snapshot.low[rows] == snapshot.high[rows]), np.nan, mean[rows]
        )
    elif rows:
        mean[rows] /= factor_of(suspect)
    return mean


def _around_step(suspect: Suspect, snapshot: Snapshot, learned: Learned) -> Evidence:
    rows = [row for row, meter in enumerate(snapshot.meters) if meter.channel == suspect.channel]
    best, most = Evidence((), np.empty(0, np.int64), np.empty(0), np.empty(0)), -1.0
    shift = round(suspect.parameter / snapshot.interval_s)
    for step in snapshot.steps:
        for buses, weights in weights_of(snapshot, learned.network):
            used = np.flatnonzero(weights)
            if not rows or not weights[rows[0]] or not np.isfinite(step.rows[used]).all():
                continue
            recorded = weights[used] @ step.rows[used].astype(np.float64)
            late = step.rows[rows[0]].astype(np.float64)
            moved = np.concatenate((late[shift:], np.full(min(shift, len(late)), np.nan)))
            now = recorded + weights[rows[0]] * (moved - late)
            gone = float(
                np.nansum(np.abs(recorded - np.median(recorded))) - np.nansum(np.abs(now - np.nanmedian(now)))
            )
            if gone > most:
                best, most = Evidence(buses, step.time, recorded, now), gone
    return best
