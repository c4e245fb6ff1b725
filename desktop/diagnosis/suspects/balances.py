"""The equations that readings must fulfil, cell by cell: balances of buses, and what is known besides.

    AC bus      generator + grid + solar_ac − load − converter_ac = 0
    converter   converter_ac − converter_dc − loss = 0
    DC bus      solar + converter_dc − battery − dc_load = 0

Where nothing is read between two of them, their sum is used. Besides: volts times amperes are the power, a
generator that stands still gives nothing, the sun doesn't shine at midnight, and charge that went into a battery
shows in its state of charge.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.meters import Meter
from desktop.flow.network import Network
from desktop.flow.streams import BALANCE, BUSES, INDEX, STREAMS

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]
Mask = NDArray[np.bool_]

_CAC, _CDC = INDEX["converter_ac"], INDEX["converter_dc"]
_GROUPS: tuple[tuple[int, ...], ...] = ((0,), (1,), (2,), (0, 1), (1, 2), (0, 1, 2))


@dataclass(frozen=True, slots=True)
class Equation:
    """weights @ readings − loss·(what the converter loses) − charge·(what the state of charge says) = 0

    buses    "ac", "converter", "dc": whose balances it sums up; none for what is known besides
    weights  (J,)
    loss, charge  0 or 1
    cells    where it holds
    """

    buses: tuple[str, ...]
    weights: Floats
    loss: float
    cells: Rows
    charge: float = 0.0


def primary(meters: tuple[Meter, ...]) -> dict[str, list[int]]:
    """Stream → the meters that tell its power: the one of power, else those of amperes."""
    found: dict[str, list[int]] = {}
    for row, meter in enumerate(meters):
        if meter.of_power:
            found[meter.stream] = [row]
        elif meter.stream not in found or not meters[found[meter.stream][0]].of_power:
            found.setdefault(meter.stream, []).append(row)
    return found


def fallback(meters: tuple[Meter, ...]) -> dict[str, list[int]]:
    """The same where a meter of power that isn't read is replaced by those of amperes; {} where there is none."""
    telling = primary(meters)
    found = {}
    for stream in telling:
        amperes = [row for row, meter in enumerate(meters) if meter.stream == stream and not meter.of_power]
        if amperes and amperes != telling[stream]:
            found[stream] = amperes
    return {**telling, **found} if found else {}


def balances(
    meters: tuple[Meter, ...], network: Network, readings: Floats, telling: Mapping[str, list[int]]
) -> list[Equation]:
    """Those of the buses, over readings (J, n), with these meters."""
    finite = np.isfinite(readings)

    def read(stream: int) -> Mask:
        rows = telling.get(STREAMS[stream])
        found: Mask = np.all(finite[rows], axis=0) if rows else np.zeros(readings.shape[1], np.bool_)
        return found

    known = {stream: read(stream) for stream in range(len(STREAMS) - 1)}
    found = []
    groups = _GROUPS if network.has("loss") else _GROUPS[:1]
    for group in groups:
        total = BALANCE[list(group)].sum(axis=0)
        holds = np.ones(readings.shape[1], np.bool_)
        for stream in range(len(STREAMS) - 1):
            if total[stream] and network.has(STREAMS[stream]):
                holds &= known[stream]
        for inner, pair in ((_CAC, {0, 1}), (_CDC, {1, 2})):
            if pair <= set(group):
                holds &= ~known[inner]
        weights = np.zeros(len(meters))
        for stream in np.flatnonzero(total[:-1]).tolist():
            if network.has(STREAMS[stream]):
                weights[telling.get(STREAMS[stream], [])] = total[stream]
        if holds.any() and np.count_nonzero(weights) > 1:
            buses = tuple(BUSES[row] for row in group)
            found.append(Equation(buses, weights, float(1 in group), np.flatnonzero(holds)))
    return found


def products(meters: tuple[Meter, ...], readings: Floats) -> list[Equation]:
    """Volts times amperes against the meter of power."""
    found = []
    for stream in ("generator", "battery"):
        power = [row for row, meter in enumerate(meters) if meter.stream == stream and meter.of_power]
        amperes = [row for row, meter in enumerate(meters) if meter.stream == stream and not meter.of_power]
        if power and amperes:
            weights = np.zeros(len(meters))
            weights[power], weights[amperes] = 1.0, -1.0
            holds = np.isfinite(readings[[*power, *amperes]]).all(axis=0)
            found.append(Equation((), weights, 0.0, np.flatnonzero(holds)))
    return [each for each in found if len(each.cells)]


def nothing(meters: tuple[Meter, ...], stream: str, readings: Floats, where: Mask) -> list[Equation]:
    """A stream that is known to be nothing in these cells."""
    found = []
    for row, meter in enumerate(meters):
        if meter.stream == stream:
            cells = np.flatnonzero(where & np.isfinite(readings[row]))
            if len(cells):
                found.append(Equation((), np.eye(len(meters))[row], 0.0, cells))
    return found


def charges(meters: tuple[Meter, ...], readings: Floats, cells: Rows) -> list[Equation]:
    """Battery power against what the state of charge says, in these cells."""
    rows = primary(meters).get("battery")
    if not rows:
        return []
    weights = np.zeros(len(meters))
    weights[rows] = 1.0
    held = cells[np.isfinite(readings[rows][:, cells]).all(axis=0)]
    return [Equation((), weights, 0.0, held, 1.0)] if len(held) else []
