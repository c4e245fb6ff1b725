"""Steps of the battery's current, with what they did to its voltage."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.counting import FIELD, FIELDS, Counted
from desktop.charging.battery.records import Records, Table

Floats = NDArray[np.float64]

STEP_FIELDS = ("minute", "side", "amperes", "volts", "seconds", "soc", "at")
"""One step: the minute it happened in; 1 while charging and 0 while discharging; by how much current and voltage
changed; how far apart the two rows are; the reported state of charge; and when, as in a counted row."""

LONGEST_S = 30.0
"""Over a longer step the battery's own voltage moves as much as its resistance shows."""

_LEAST_W = 200.0
_MINUTE = 60_000_000_000


class Steps:
    """Keeps the largest step of each minute while charging, and the largest while discharging."""

    def __init__(self) -> None:
        self._records = Records(STEP_FIELDS)
        self._last: Floats = np.full((len(FIELDS), 1), np.nan)
        self._open: Floats = np.empty((len(STEP_FIELDS), 0))

    def extend(self, counted: Counted) -> None:
        """Take the next rows."""
        if not len(counted.time):
            return
        rows = np.concatenate((self._last, counted.rows), axis=1)
        self._last = rows[:, -1:].copy()
        amperes, volts, at = (rows[FIELD[name]] for name in ("amperes", "volts", "at"))
        jump, seconds = np.diff(amperes), np.diff(at)
        with np.errstate(invalid="ignore"):
            large = (np.abs(jump) * volts[1:] >= _LEAST_W) & (amperes[1:] * amperes[:-1] > 0)
        large &= ~counted.torn & (seconds <= LONGEST_S) & np.isfinite(volts[:-1])
        minute = counted.time // _MINUTE
        if large.any():
            here = np.flatnonzero(large)
            found = np.stack(
                (
                    minute[here].astype(float),
                    (amperes[here + 1] > 0).astype(float),
                    jump[here],
                    np.diff(volts)[here],
                    seconds[here],
                    rows[FIELD["soc"], here + 1],
                    at[here + 1],
                )
            )
            self._open = _largest(np.concatenate((self._open, found), axis=1))
        over = self._open[0] < minute[-1]
        if over.any():
            self._records.extend(self._open[:, over])
            self._open = self._open[:, ~over]

    def table(self) -> Table:
        """All steps so far."""
        return self._records.table(self._open)


def _largest(steps: Floats) -> Floats:
    """The largest of each minute and side, in order of time."""
    order = np.lexsort((-np.abs(steps[2]), steps[1], steps[0]))
    ordered = steps[:, order]
    first = np.ones(ordered.shape[1], np.bool_)
    first[1:] = (np.diff(ordered[0]) != 0) | (np.diff(ordered[1]) != 0)
    chosen: Floats = ordered[:, first]
    return chosen
