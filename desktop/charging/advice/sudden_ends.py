"""Ends of a run that came with a load step: the set stopped before the readings could show an overload."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from recordings.recording import Recording

Singles = NDArray[np.float32]

_CARRIED, _GONE = 0.3, 0.05
_STEP = 0.08
_DEAD_VOLTS, _DEAD_HZ = 0.5, 0.8


def sudden_ends(
    recording: Recording, load: Singles, generator: Singles, carried_w: float, volts: float, hz: float
) -> tuple[int, ...]:
    """When the set went dead between two readings as the house's load rose, UTC nanoseconds.

    A set that is switched off by hand stops so as well, but seldom in the very moment at which a load comes on.

    load, generator  (n,) W; NaN where not known
    carried_w        what the set can carry, W
    volts, hz        nominal; NaN where not known
    """
    dead = _dead(recording, volts, hz)
    known = np.flatnonzero(np.isfinite(generator))
    before, after = known[:-1], known[1:]
    fell = (generator[before] > _CARRIED * carried_w) & (generator[after] < _GONE * carried_w)
    rows = after[fell]
    return tuple(
        int(recording.time[row]) for row in rows.tolist() if dead[row] and _rose(load, row, carried_w)
    )


def _dead(recording: Recording, volts: float, hz: float) -> NDArray[np.bool_]:
    """(n,) True where the set's terminals show that it doesn't turn."""
    dead = np.zeros(len(recording), bool)
    for name in recording.channels:
        if name.startswith("generator_voltage") and volts > 0:
            dead |= recording.column(name) < _DEAD_VOLTS * volts
    if "generator_frequency" in recording and hz > 0:
        dead |= recording.column("generator_frequency") < _DEAD_HZ * hz
    return dead


def _rose(load: Singles, row: int, carried_w: float) -> bool:
    around = load[row : row + 2]
    earlier = load[max(0, row - 4) : row]
    if not np.isfinite(around).any() or not np.isfinite(earlier).any():
        return False
    return bool(np.nanmax(around) - np.nanmedian(earlier) > _STEP * carried_w)
