"""The moments at which the reported state of charge changes: what a display in whole percent tells best."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.counting import FIELD, FIELDS, Counted
from desktop.charging.battery.records import Records

Floats = NDArray[np.float64]

_KEPT = ("at", "ah_in", "ah_out", "wh_in", "wh_out", "soc")

CHANGE_FIELDS = ("run", *(f"{name}_{when}" for when in ("before", "after") for name in _KEPT))
"""One change: the run, and of the last row before it and of the first row after it the counts and the reading."""

_ROUNDING = 0.01
"""What single precision and a gauge's own arithmetic may take from a whole percent."""

_MINUTE = 60_000_000_000


class Changes:
    """Keeps the changes that pass a whole percent: at most the first of each minute."""

    def __init__(self) -> None:
        self.records = Records(CHANGE_FIELDS)
        self._last: Floats = np.full((len(FIELDS), 1), np.nan)
        self._minute = -1

    def extend(self, counted: Counted) -> None:
        """Take the next rows."""
        soc = counted.column("soc")
        read = np.flatnonzero(np.isfinite(soc))
        if not read.size:
            return
        whole = np.floor(np.concatenate((self._last[FIELD["soc"]], soc[read])) + _ROUNDING)
        run = np.concatenate((self._last[FIELD["run"]], counted.column("run")[read]))
        passed = np.flatnonzero((whole[1:] != whole[:-1]) & (run[1:] == run[:-1]))
        if passed.size:
            minutes, first = np.unique(counted.time[read[passed]] // _MINUTE, return_index=True)
            self._keep(counted, read, passed[first[minutes != self._minute]])
            self._minute = int(minutes[-1])
        self._last = counted.rows[:, read[-1:]].copy()

    def _keep(self, counted: Counted, read: NDArray[np.intp], kept: NDArray[np.intp]) -> None:
        """kept  numbers of the readings, among those read, that follow a change."""
        fields = [FIELD[name] for name in _KEPT]
        after = counted.rows[:, read[kept]]
        before = counted.rows[:, read[np.maximum(kept - 1, 0)]]
        before[:, kept == 0] = self._last
        self.records.extend(np.concatenate((after[FIELD["run"]][None], before[fields], after[fields])))
