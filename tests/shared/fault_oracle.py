"""Which faults could be told at all: a judge that knows the plant and the truth, and works without noise.

A fault counts as *detectable* where the balances, with everything that healthy meters may be off by, fit the faulty
readings worse than by chance; as *identifiable* where, besides, no other single fault fits them about as well. A
plant whose meters leave no balance to check has neither.

Every reading may have a gain and an offset within its meter's class for as long as the recording lasts; the
converter's loss is known only roughly. Whatever these can explain is no evidence.

Nor is what goes on unmetered in every healthy plant: contactors, the battery's electronics, meters' own supplies
and the heat of cables take some tens of watts that come and go, and so does a converter's idle loss with voltage
and temperature (common practice, no source). Something that is used or feeds in unmetered, or an offset, isn't
detectable while it is less than that.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from meter_faults import MeterFault
from numpy.typing import NDArray

from drivers.plant.meters import class_of
from drivers.plant.scenario import Scenario
from recordings.recording import Recording

Floats = NDArray[np.float64]

DETECTABLE, DISTINCT = 40.0, 16.0
"""Deviances (twice the logarithm of the odds) by which healthy meters, and any rival, must fit worse."""

LEAST_AMISS_W = 40.0
"""On average over the time that it lasts: less than this goes on unmetered in every plant."""

_LASTING = ("unmetered_load", "unmetered_source", "offset")
_STREAMS = (
    "generator_power",
    "grid_power",
    "solar_ac_power",
    "load_power",
    "converter_ac_power",
    "converter_dc_power",
    "solar_power",
    "battery_power",
    "dc_load_power",
)
_AC = np.array([1, 1, 1, -1, -1, 0, 0, 0, 0.0])
_DC = np.array([0, 0, 0, 0, 0, 1, 1, -1, -1.0])
_CELL_S, _MOST_CELLS = 60.0, 240
_IDLE_SD, _SLOPE_SD = 30.0, 0.025
_LEAST_NOISE_W, _NOISE_SHARE = 3.0, 0.003


@dataclass(frozen=True, slots=True)
class Verdict:
    """Deviances that healthy meters and the best other fault lie above the true fault; which that is.

    amiss_w  by how much readings are off on average, of a fault whose size lies in that
    """

    healthy: float
    rival: float
    rival_name: str
    amiss_w: float = np.inf

    @property
    def detectable(self) -> bool:
        return self.healthy > DETECTABLE and self.amiss_w >= LEAST_AMISS_W

    @property
    def identifiable(self) -> bool:
        return self.detectable and self.rival > DISTINCT


@dataclass(frozen=True, slots=True)
class _Case:
    """Cells of one plant: (streams, cells) readings without noise, which streams are read, and how well."""

    y: Floats
    read: NDArray[np.bool_]
    there: NDArray[np.bool_]
    charging: NDArray[np.bool_]
    noise: Floats
    gain_sd: Floats
    offset_sd: Floats
    idle: float
    slope: float


def verdict(scenario: Scenario, truth: Recording, faulty: Recording, fault: MeterFault) -> Verdict:
    """Whether a fault could be told.

    truth   true values of all the plant's channels
    faulty  true values of the channels that are read, with the fault put in
    """
    case = _case(scenario, truth, faulty, fault)
    true = _case(scenario, truth, truth, None)
    true = replace(true, read=case.read & true.read, noise=case.noise)
    rows = np.zeros(case.y.shape[1], bool)
    count = rows.size
    rows[round(fault.since * count) : max(1, round(fault.until * count))] = True
    # The true fault leaves what the truth leaves: next to nothing.
    own = _deviance(true, "healthy", "", "", rows)
    if fault.kind == "unmetered_load":
        # How such a load wanders isn't held to be evidence: an offset might wander as well.
        own = max(own, _deviance(case, "unmetered", fault.name, "", rows))
    healthy = _deviance(case, "healthy", "", "", rows) - own
    best, name = np.inf, ""
    for kind, channel, other in _rivals(case, fault):
        rival = _deviance(case, kind, channel, other, rows) - own
        if rival < best:
            best, name = rival, f"{kind} {channel}"
    return Verdict(healthy, best, name, _amiss(truth, faulty, fault))


def _amiss(truth: Recording, faulty: Recording, fault: MeterFault) -> float:
    """By how much a meter is off on average while it is, W; what has no meter at all is off by all of it."""
    if fault.kind not in _LASTING:
        return np.inf
    true = truth.column(fault.channel).astype(np.float64)
    read = faulty.column(fault.channel).astype(np.float64) if fault.channel in faulty else np.zeros(len(true))
    rows = slice(round(fault.since * len(true)), max(1, round(fault.until * len(true))))
    return float(np.nanmean(np.abs(true - read)[rows]))


def _case(scenario: Scenario, truth: Recording, faulty: Recording, fault: MeterFault | None) -> _Case:
    cell = max(1, round(_CELL_S / scenario.log.interval_s), -(-len(truth) // _MOST_CELLS))
    count = len(truth) // cell
    y = np.zeros((len(_STREAMS), count))
    read = np.zeros(len(_STREAMS), bool)
    there = np.zeros(len(_STREAMS), bool)
    noise, gain, offset = np.zeros_like(y), np.zeros(len(_STREAMS)), np.zeros(len(_STREAMS))
    ac = np.zeros(count)
    for row, name in enumerate(_STREAMS):
        if name not in truth:
            continue
        # What lost its meter altogether isn't known to be there.
        there[row] = name in faulty or fault is None or name != fault.channel
        true = _cells(truth, name, cell, count)
        if name == "converter_ac_power":
            ac = true
        if name in faulty:
            kind = class_of(name, scenario.meters.get(name))
            read[row], y[row] = True, _cells(faulty, name, cell, count)
            gain[row], offset[row] = kind.percent / 100, 0.6 * kind.floor
            noise[row] = np.hypot(0.8 * kind.floor / np.sqrt(cell), kind.quantum / np.sqrt(12)) ** 2
            noise[row] += _LEAST_NOISE_W**2 + (_NOISE_SHARE * true) ** 2
    inverter = scenario.inverter
    return _Case(y, read, there, ac > 0, noise, gain, offset, inverter.idle_w, inverter.slope)


def _cells(recording: Recording, name: str, cell: int, count: int) -> Floats:
    values: Floats = (
        recording.column(name)[: cell * count].astype(np.float64).reshape(count, cell).mean(axis=1)
    )
    return values


def _rivals(case: _Case, fault: MeterFault) -> Iterator[tuple[str, str, str]]:
    """Every other fault that could be meant. The same meter's more general kinds aren't others."""
    metered = [name for name, read in zip(_STREAMS, case.read, strict=True) if read]
    for name in metered:
        for kind in ("scale", "offset", "reversed", "lag"):
            if name == fault.channel and _nested(kind, fault.kind):
                continue
            yield kind, name, ""
    for one, other in combinations(metered, 2):
        if fault.kind != "swapped" or {one, other} != {fault.channel, fault.other}:
            yield "swapped", one, other
    for bus in ("ac", "dc"):
        if not (fault.kind.startswith("unmetered") and fault.name == bus):
            yield "unmetered", bus, ""
            if _as_free(case, fault):
                yield "anything", bus, ""


def _as_free(case: _Case, fault: MeterFault) -> bool:
    """Whether a fault may be of any course in time, as what is unmetered may.

    A meter that stands is seen to stand, but for one that says nothing flows.
    """
    if fault.kind == "stuck":
        return float(np.min(np.abs(case.y[_STREAMS.index(fault.channel)]))) == 0.0
    return fault.kind == "one_leg" or fault.kind.startswith("unmetered")


def _nested(kind: str, true: str) -> bool:
    if true == "stuck":
        return True
    return kind == true or (kind == "scale" and true in ("reversed", "one_leg"))


def _deviance(case: _Case, kind: str, channel: str, other: str, rows: NDArray[np.bool_]) -> float:
    """The least weighted sum of squares of the balances under a hypothesis."""
    y, read, there = case.y.copy(), case.read.copy(), case.there.copy()
    row = _STREAMS.index(channel) if channel in _STREAMS else -1
    free: list[tuple[int, Floats]] = []
    bus = -1
    match kind:
        case "reversed":
            y[row, rows] *= -1
        case "swapped":
            second = _STREAMS.index(other)
            y[row, rows], y[second, rows] = y[second, rows].copy(), y[row, rows].copy()
        case "scale":
            free.append((row, np.where(rows, y[row], 0.0)))
        case "offset":
            free.append((row, np.where(rows, 1.0, 0.0)))
        case "lag":
            free.append((row, np.where(rows, np.gradient(y[row]) if rows.size > 1 else 0.0, 0.0)))
        case "unmetered":
            bus = 0 if channel == "ac" else 2
        case "anything":
            bus = 0 if channel == "ac" else 2
            return _without_bus(case, bus, rows)
    total = 0.0
    gone = -1 if kind != "bus" else 0 if channel == "ac" else 2
    blocks = [
        _equations(case, y, (read, there), free, (bus, gone), cells, charging)
        for charging in (True, False)
        if (cells := case.charging == charging).any()
    ]
    left = np.concatenate([block[0] for block in blocks])
    columns = np.concatenate([block[1] for block in blocks])
    if left.size:
        columns = columns[:, np.any(columns != 0, axis=0)]
        theta, *_ = np.linalg.lstsq(
            np.vstack((columns, np.eye(columns.shape[1]))),
            np.append(left, np.zeros(columns.shape[1])),
            rcond=None,
        )
        total = float(np.sum((left - columns @ theta) ** 2) + np.sum(theta**2))
    return total


def _without_bus(case: _Case, bus: int, rows: NDArray[np.bool_]) -> float:
    """With an unmetered load, or source, at a bus that takes what it must, as long as it is always one of the two.

    Where the other streams at the bus leave open what it would take, anything goes.
    """
    balance = _AC if bus == 0 else _DC
    if bool(np.all(case.read | ~case.there | (balance == 0))):
        missing = balance @ case.y
        lasting = (case.gain_sd[:, None] * case.y) ** 2 + case.offset_sd[:, None] ** 2
        spread = np.sqrt(np.abs(balance) @ (case.noise + lasting))
        clear = missing[np.abs(missing) > 3 * spread]
        if clear.size and min(np.sum(clear > 0), np.sum(clear < 0)) > 0.02 * clear.size:
            return np.inf
    return _deviance(case, "bus", "ac" if bus == 0 else "dc", "", rows)


def _equations(
    case: _Case,
    y: Floats,
    known: tuple[NDArray[np.bool_], NDArray[np.bool_]],
    free: list[tuple[int, Floats]],
    at: tuple[int, int],
    cells: NDArray[np.bool_],
    charging: bool,
) -> tuple[Floats, Floats]:
    """Whitened balances that are left (e,), and what may explain them (e, p), each by its own deviation."""
    read, there = known
    bus, gone = at
    keep = 1.0 - case.slope
    converter = np.zeros(len(_STREAMS))
    converter[4:6] = (keep, -1.0) if charging else (1.0, -keep)
    balances = np.vstack((_AC, converter, _DC))
    unread = balances[:, there & ~read]
    if gone >= 0:
        unread = np.hstack((unread, np.eye(3)[:, [gone]]))
    left, singular, _ = np.linalg.svd(unread) if unread.size else (np.eye(3), np.empty(0), None)
    basis = left[:, int(np.sum(singular > 1e-9)) :].T
    if not len(basis):
        return np.empty(0), np.empty((0, 2 * len(_STREAMS) + 2 + len(free) + (bus >= 0)))
    of = basis @ np.where(read, balances, 0.0)
    part = y[:, cells]
    loss = basis @ np.array([0.0, 1.0, 0.0])
    residual = of @ part - loss[:, None] * case.idle
    feeds = np.abs(_fed(part, read, case, charging))
    columns = [of[:, [row]] * part[row] * case.gain_sd[row] for row in range(len(_STREAMS))]
    columns += [of[:, [row]] * (part[row] != 0) * case.offset_sd[row] for row in range(len(_STREAMS))]
    columns += [loss[:, None] * feeds * _SLOPE_SD, loss[:, None] * np.full(part.shape[1], _IDLE_SD)]
    columns += [of[:, [row]] * values[cells] * 1e3 for row, values in free]
    if bus >= 0:
        columns.append(basis[:, [bus]] * np.full(part.shape[1], 1e4))
    spread = np.einsum("qm,mk,rm->kqr", of, case.noise[:, cells], of) + 1e-3 * np.eye(len(of))
    whiten = np.linalg.inv(np.linalg.cholesky(spread))
    stacked = np.stack((residual, *columns))
    white = np.einsum("kqr,crk->ckq", whiten, stacked).reshape(len(stacked), -1)
    return white[0], white[1:].T


def _fed(part: Floats, read: NDArray[np.bool_], case: _Case, charging: bool) -> Floats:
    """About what goes through the converter, W, for the doubt about its slope."""
    row = 4 if charging else 5
    if read[row]:
        return part[row]
    if read[9 - row]:
        return part[9 - row]
    return part[0] + part[1] + part[2] - part[3] if charging else part[6] - part[7] - part[8]
