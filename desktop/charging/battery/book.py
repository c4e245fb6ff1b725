"""What is kept of the rows to judge a battery by."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.changes import Changes
from desktop.charging.battery.counting import FIELDS, Counted, Counting
from desktop.charging.battery.records import Records, Table
from desktop.charging.battery.steps import Steps
from desktop.charging.integrals import Sums
from desktop.flow.block import Block
from desktop.flow.learned import Learned
from desktop.site import Site

Floats = NDArray[np.float64]

_MINUTE = 60_000_000_000


@dataclass(frozen=True, slots=True)
class BatterySnapshot:
    """A battery's book as it stood.

    start      the first counted row, UTC nanoseconds; every `at` counts seconds from there
    minutes    the last counted row of each minute (counting.FIELDS)
    changes    moments at which the reported state of charge passed a whole percent (changes.CHANGE_FIELDS)
    steps      steps of the current (steps.STEP_FIELDS)
    agreement  metered power divided by the reconciled one, all rows together; NaN where nothing is metered
               twice
    """

    start: int
    minutes: Table
    changes: Table
    steps: Table
    agreement: float


class BatteryBook:
    """Counts charge and energy of blocks that follow each other. Memory: some 100 bytes per minute recorded."""

    def __init__(self, learned: Learned, site: Site) -> None:
        # A stream that the plant doesn't have is 0, not unknown.
        self._present = learned.network.has("battery")
        self._counting = Counting(learned.gap_s)
        self._minutes = Records(FIELDS)
        self._changes = Changes()
        self._steps = Steps()
        self._agreement = Sums(2)
        self._open: Floats = np.empty((len(FIELDS), 0))
        self._minute = -1

    def extend(self, block: Block) -> None:
        """Take the next rows."""
        if not self._present:
            return
        counted = self._counting.extend(block)
        if not len(counted.time):
            return
        self._keep_minutes(counted)
        self._changes.extend(counted)
        self._steps.extend(counted)
        both = np.isfinite(counted.fed)
        metered, fed = counted.power[both], counted.fed[both]
        # Not by a matrix product: for one vector its threads cost more than they help.
        self._agreement.add(np.array([np.einsum("i,i->", metered, fed), np.einsum("i,i->", fed, fed)]))

    def _keep_minutes(self, counted: Counted) -> None:
        minute = counted.time // _MINUTE
        last = np.append(minute[1:] != minute[:-1], False)
        if self._open.size and minute[0] != self._minute:
            self._minutes.extend(self._open)
        self._minutes.extend(counted.rows[:, last])
        self._open, self._minute = counted.rows[:, -1:].copy(), int(minute[-1])

    def snapshot(self) -> BatterySnapshot:
        """The book as it stands; later rows don't change it."""
        product, square = (float(total) for total in self._agreement.total)
        return BatterySnapshot(
            start=self._counting.start,
            minutes=self._minutes.table(self._open),
            changes=self._changes.records.table(),
            steps=self._steps.table(),
            agreement=product / square if square > 0 else float("nan"),
        )


def total(minutes: Table, name: str) -> float:
    """What has been counted in all: one of ah_in, ah_out (Ah), wh_in, wh_out (Wh); NaN without any row."""
    if not len(minutes) or (name.startswith("ah") and not np.isfinite(minutes["amperes"]).any()):
        return float("nan")
    return float(minutes[name][-1])
