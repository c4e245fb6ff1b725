"""The energy books: how much came from where and went where over a run of rows."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.integrals import Integrals, Steps, Sums
from desktop.flow.block import Block
from desktop.flow.streams import INDEX, SIGNED, SINKS, SOURCES, STREAMS

Floats = NDArray[np.float64]

_SIGNED_ROWS = [INDEX[name] for name in STREAMS if name in SIGNED]

_SERIES = {
    "streams": len(STREAMS),
    "streams_sd": len(STREAMS),
    "forward": len(_SIGNED_ROWS),
    "forward_sd": len(_SIGNED_ROWS),
    "unaccounted": 2,
    "table": len(SOURCES) * len(SINKS),
}
"""What is integrated, in this order, and how many series each has."""


@dataclass(frozen=True, slots=True)
class Amount:
    """An energy, Wh. NaN where it was never known.

    sd         one standard deviation; meters err the same way all the time, so their errors add up in full
    unknown_s  seconds of the recording that the energy does not cover
    """

    wh: float
    sd: float
    unknown_s: float

    def __add__(self, other: Amount) -> Amount:
        return Amount(self.wh + other.wh, math.hypot(self.sd, other.sd), max(self.unknown_s, other.unknown_s))


@dataclass(frozen=True, slots=True)
class Energy:
    """The books. Energies Wh.

    forward      by stream: the energy that ran in the stream's positive direction
    backward     by stream: the energy that ran against it, as a positive number
    unaccounted  what entered and wasn't seen to leave
    table        (5, 5) from SOURCES to SINKS; NaN where never known
    duration_s   from the first row to the last
    gap_s        seconds in gaps, which are not bridged
    """

    forward: dict[str, Amount]
    backward: dict[str, Amount]
    unaccounted: Amount
    table: Floats
    duration_s: float
    gap_s: float

    @property
    def solar(self) -> Amount:
        """DC-coupled and AC-coupled solar together."""
        return self.forward["solar"] + self.forward["solar_ac"]

    def covers(self, amount: Amount) -> bool:
        """True where an energy is known for most of the time that was recorded; else it says little of it."""
        return self.missed_s(amount) <= 0.5 * (self.duration_s - self.gap_s)

    def missed_s(self, amount: Amount) -> float:
        """Seconds of the recorded time, gaps apart, that an energy doesn't cover."""
        return max(amount.unknown_s - self.gap_s, 0.0)

    @property
    def unknown_s(self) -> float:
        """Seconds that at least one energy which is given here doesn't cover; gaps included."""
        amounts = (*self.forward.values(), *self.backward.values(), self.unaccounted)
        amounts = tuple(one for one in amounts if self.covers(one))
        return max((a.unknown_s for a in amounts if not math.isnan(a.wh)), default=self.duration_s)


class EnergyBooks:
    """Counts the energy of blocks that follow each other.

    Every series is a trapezoid between rows, of the part above zero and of the part below zero. Where a
    stream crosses zero within a step both directions get their triangle over the whole step: so in less out
    is the plain trapezoid, and the source-to-sink table sums to the streams exactly. A stream that can't be
    reconciled is counted as metered.
    """

    def __init__(self) -> None:
        self._integrals = Integrals(sum(_SERIES.values()))
        self._spans = Sums(2)

    def extend(self, block: Block) -> None:
        """Count the next rows."""
        if not len(block):
            return
        step = np.where(np.isfinite(block.step), block.step, 0.0)
        steps = Steps.of(np.where(block.gap, 0.0, step))
        value, sd = best_known(block)
        above = [np.maximum(value[row], 0.0) for row in _SIGNED_ROWS]
        # An unknown power has an unknown sd, and keeps it.
        above_sd = [sd[row] * (value[row] > 0) for row in _SIGNED_ROWS]
        parts = (
            value,
            sd,
            np.stack(above),
            np.stack(above_sd),
            unaccounted_in_all(block),
            block.traced.reshape(-1, len(block)),
        )
        self._integrals.add(parts, steps)
        self._spans.add(np.array([step.sum(), step[block.gap].sum()]))

    def _of(self, series: str, numbers: Floats) -> Floats:
        names = list(_SERIES)
        start = sum(_SERIES[name] for name in names[: names.index(series)])
        return numbers[start : start + _SERIES[series]]

    def energy(self) -> Energy:
        """The books as they stand."""
        duration, gaps = (float(span) for span in self._spans.total)
        wh = self._integrals.total / 3600
        missing, spread = (float(one) for one in self._of("unaccounted", wh))
        known_s = self._of("unaccounted", self._integrals.known_s)[0]
        return Energy(
            forward=self._amounts(wh, ahead=True),
            backward=self._amounts(wh, ahead=False),
            unaccounted=Amount(missing, spread, _lasting(duration, known_s)),
            table=self._of("table", wh).reshape(len(SOURCES), len(SINKS)),
            duration_s=duration,
            gap_s=gaps,
        )

    def _amounts(self, every: Floats, *, ahead: bool) -> dict[str, Amount]:
        wh, sd = self._of("streams", every).copy(), self._of("streams_sd", every).copy()
        forward, forward_sd = self._of("forward", every), self._of("forward_sd", every)
        if ahead:
            wh[_SIGNED_ROWS], sd[_SIGNED_ROWS] = forward, forward_sd
        else:
            # Rounding may leave a trace below zero where nothing ran backward.
            wh[_SIGNED_ROWS] = np.maximum(forward - wh[_SIGNED_ROWS], 0.0)
            sd[_SIGNED_ROWS] = np.maximum(sd[_SIGNED_ROWS] - forward_sd, 0.0)
        duration = float(self._spans.total[0])
        known_s = self._of("streams", self._integrals.known_s)
        return {
            name: Amount(float(wh[row]), float(sd[row]), _lasting(duration, known_s[row]))
            for row, name in enumerate(STREAMS)
            if ahead or name in SIGNED
        }


def _lasting(duration: float, known: float) -> float:
    # Sums of the same steps in another order differ in their last digits.
    missing = duration - float(known)
    return missing if missing > 1e-9 * duration else 0.0


def best_known(block: Block) -> tuple[Floats, Floats]:
    """(10, n) power of every stream, reconciled where it can be and else as metered, and (10, n) its sd."""
    lost = np.isnan(block.value)
    if not lost.any():
        return block.value, block.sd
    lost &= np.isfinite(block.measured)
    if not lost.any():
        return block.value, block.sd
    return np.where(lost, block.measured, block.value), np.where(lost, np.nan, block.sd)


def unaccounted_in_all(block: Block) -> Floats:
    """(2, n) unaccounted power of all places together, and its sd, W; NaN where no place is known."""
    total, sd = np.full(len(block), np.nan), np.full(len(block), np.nan)
    for power, spread in zip(block.unaccounted, block.unaccounted_sd, strict=True):
        known = np.isfinite(power)
        if known.any():
            total = np.where(known, np.where(np.isnan(total), power, total + power), total)
            sd = np.where(known, np.where(np.isnan(sd), spread, sd + spread), sd)
    return np.stack((total, sd))
