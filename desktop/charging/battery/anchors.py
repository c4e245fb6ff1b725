"""Moments at which the state of charge is known without a gauge: full, and at rest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.chemistry import Chemistry
from desktop.charging.battery.levels import Levels
from desktop.charging.battery.records import Table

Floats = NDArray[np.float64]
Truths = NDArray[np.bool_]

_HELD_S = 300.0
_FULL_REPORTED, _FULL_REPORTED_S = 99.5, 600.0
_NEAR_ABSORPTION = 0.993
_FULL_SD_LITHIUM, _FULL_SD_LEAD = 2.0, 3.0
_REST_C = 0.01
_WIDEST_REST_SD = 12.0
_REFERENCE_C = 25.0


@dataclass(frozen=True, slots=True)
class Bank:
    """What anchors need to know of the battery. NaN where not known.

    ah          about its capacity; absorb_v its absorption voltage at 25 °C
    ohm         resistance, 0 where not known
    volts_sd    of the voltmeter, as a share
    """

    kind: Chemistry | None
    cells: int
    ah: float
    absorb_v: float
    ohm: float
    volts_sd: float


@dataclass(frozen=True, slots=True)
class Anchors:
    """State of charge and sd, percent, in those of m minutes where it is known; (n,) each.

    row   number of the minute
    full  True where the battery was full, False at rest
    """

    row: NDArray[np.intp]
    soc: Floats
    sd: Floats
    full: Truths


def anchors(minutes: Table, bank: Bank) -> Anchors:
    """All anchors in the minutes of a book, in order of time."""
    full = _full(minutes, bank)
    rest, rest_soc, rest_sd = _at_rest(minutes, bank)
    rest &= ~full
    row = np.flatnonzero(full | rest)
    full_sd = _FULL_SD_LEAD if bank.kind is not None and bank.kind.lead_acid else _FULL_SD_LITHIUM
    return Anchors(
        row=row,
        soc=np.where(full[row], 100.0, rest_soc[row]),
        sd=np.where(full[row], full_sd, rest_sd[row]),
        full=full[row],
    )


def as_levels(found: Anchors, minutes: Table) -> Levels:
    """The last anchor of each stretch as a level, for a recording without a gauge.

    An sd stands there as the half width of the even distribution that has it.
    """
    if not len(found.row):
        last = np.zeros(0, np.bool_)
    else:
        last = np.append((np.diff(found.row) > 1) | (found.full[1:] != found.full[:-1]), True)
    row = found.row[last]
    nothing = np.zeros(len(row))
    counts = {name: minutes[name][row] for name in ("at", "ah_in", "ah_out", "wh_in", "wh_out")}
    return Levels(
        piece=minutes["run"][row].astype(np.int64),
        soc=found.soc[last],
        half=np.sqrt(3.0) * found.sd[last],
        half_ah=nothing,
        half_wh=nothing,
        **counts,
    )


def _full(minutes: Table, bank: Bank) -> Truths:
    """(m,) absorption voltage held while the current has fallen to the tail; or 100 % reported, and held."""
    reported = _lasting(minutes, minutes["soc"] >= _FULL_REPORTED, _FULL_REPORTED_S)
    if bank.kind is None or not bank.absorb_v > 0 or not bank.ah > 0:
        return reported
    warmth = np.where(np.isfinite(minutes["celsius"]), minutes["celsius"] - _REFERENCE_C, 0.0)
    least = _NEAR_ABSORPTION * (bank.absorb_v + bank.cells * bank.kind.mv_per_c / 1000 * warmth)
    tail = bank.kind.tail_c.value * bank.ah
    amperes = minutes["amperes"]
    reached = (minutes["volts"] >= least) & (amperes >= 0) & (amperes <= tail)
    return reported | _lasting(minutes, reached, _HELD_S)


def _at_rest(minutes: Table, bank: Bank) -> tuple[Truths, Floats, Floats]:
    """(m,) whether the battery has rested long enough, and (m,) state of charge and sd by its voltage."""
    m, kind = len(minutes), bank.kind
    if kind is None or not bank.cells or not bank.ah > 0:
        return np.zeros(m, np.bool_), np.full(m, np.nan), np.full(m, np.nan)
    quiet = np.abs(minutes["amperes"]) <= _REST_C * bank.ah
    rested = _lasting(minutes, quiet, kind.rest.settle_s, from_its_start=False)
    volts = (minutes["volts"] - minutes["amperes"] * bank.ohm) / bank.cells
    soc, slope = kind.rest.soc_at(volts), kind.rest.slope(volts)
    sd = np.hypot(kind.rest.sd, bank.volts_sd * volts / slope)
    good = rested & np.isfinite(soc) & (slope >= kind.rest.flat) & (sd <= _WIDEST_REST_SD)
    return good, soc, sd


def _lasting(minutes: Table, true: Truths, least_s: float, *, from_its_start: bool = True) -> Truths:
    """(m,) True where it has been so without a break for `least_s`.

    from_its_start  counts the first `least_s` of such a stretch as well
    """
    at, run = minutes["at"], minutes["run"]
    broken = np.ones(len(at), np.bool_)
    broken[1:] = ~true[1:] | ~true[:-1] | (np.diff(run) != 0)
    stretch = np.cumsum(broken)
    start = np.maximum.accumulate(np.where(broken, np.arange(len(at)), 0))
    if not from_its_start:
        long_enough: Truths = true & (at - at[start] >= least_s)
        return long_enough
    longest = np.zeros(int(stretch[-1]) + 1 if len(at) else 1)
    np.maximum.at(longest, stretch, at - at[start])
    whole: Truths = true & (longest[stretch] >= least_s)
    return whole
