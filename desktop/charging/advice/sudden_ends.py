"""Ends of a run that came with a load step: the set stopped before the readings could show an overload."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from recordings.recording import Recording

Singles = NDArray[np.float32]

_CARRIED, _GONE = 0.3, 0.05
_STEP = 0.08
_DEAD_VOLTS, _DEAD_HZ = 0.5, 0.8


def sudden_ends(
    recording: Recording,
    load: Singles,
    generator: Singles,
    carried_w: float,
    volts: float,
    hz: float,
    longest_s: float = math.inf,
) -> tuple[int, ...]:
    """When the set went dead between two readings as the house's load rose, UTC nanoseconds.

    A set that is switched off by hand stops so as well, but seldom in the very moment at which a load comes on.
    Where nothing is read at its terminals, the load must have been more than the set carries together with what
    hung on it.

    load, generator  (n,) W; NaN where not known
    carried_w        what the set can carry, W
    volts, hz        nominal; NaN where not known
    longest_s        readings further apart tell nothing
    """
    dead, turns = _dead(recording, volts, hz)
    known = np.flatnonzero(np.isfinite(generator))
    before, after = known[:-1], known[1:]
    fell = (generator[before] > _CARRIED * carried_w) & (generator[after] < _GONE * carried_w)
    fell &= recording.time[after] - recording.time[before] <= longest_s * 1e9
    ends = []
    for last, row in zip(before[fell].tolist(), after[fell].tolist(), strict=True):
        rise = _rise(load, row)
        tripped = dead[row] or (not turns[row] and generator[last] + rise > carried_w)
        if tripped and rise > _STEP * carried_w:
            ends.append(int(recording.time[row]))
    return tuple(ends)


def _dead(recording: Recording, volts: float, hz: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(n,) each: True where the set's terminals show that it doesn't turn, and that it does."""
    turns = np.zeros(len(recording), bool)
    dead = np.zeros(len(recording), bool)
    for name in recording.channels:
        if name.startswith("generator_voltage") and volts > 0:
            turns |= recording.column(name) >= _DEAD_VOLTS * volts
            dead |= recording.column(name) < _DEAD_VOLTS * volts
    if "generator_frequency" in recording and hz > 0:
        turns |= recording.column("generator_frequency") >= _DEAD_HZ * hz
        dead |= recording.column("generator_frequency") < _DEAD_HZ * hz
    return dead, turns


def _rise(load: Singles, row: int) -> float:
    """How far the house's load has risen at a row, W; 0 where not known."""
    around = load[row : row + 2]
    earlier = load[max(0, row - 4) : row]
    if not np.isfinite(around).any() or not np.isfinite(earlier).any():
        return 0.0
    return float(np.nanmax(around) - np.nanmedian(earlier))
