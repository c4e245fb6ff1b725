"""Works the rows of a recording through, block by block, into everything that a review holds."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.book import BatteryBook
from desktop.charging.counter import SessionCounter
from desktop.charging.energy import EnergyBooks
from desktop.charging.stops import Stops
from desktop.diagnosis.causes.book import CauseBook
from desktop.diagnosis.findings import Diagnosis
from desktop.diagnosis.settings_check.book import SettingsBook
from desktop.diagnosis.suspects import SuspectBook
from desktop.flow.block import Block
from desktop.flow.learned import Learned
from desktop.flow.minutes import Minutes
from desktop.flow.streams import GAPS, INDEX, STREAMS
from desktop.flow.worker import Worker
from desktop.review.balance import BalanceCounter
from desktop.review.trends import Trends
from desktop.site import Site
from recordings.recording import Recording

BLOCK_ROWS = 16_384
"""Rows that are worked through at once: what they take stays in the processor's cache."""

UNACCOUNTED = tuple(f"unaccounted_{place}" for place in GAPS)


class Builder:
    """The state after the rows so far. What was learned is fixed for a builder's life.

    channels  those that have readings. Others are left aside: what is found must not depend on whether a
              channel without any reading was there from the beginning
    """

    def __init__(self, learned: Learned, channels: frozenset[str], site: Site, recording: Recording) -> None:
        self.learned = learned
        self.channels = channels
        self.site = site
        self.worker = Worker(learned, site)
        stops = Stops(learned, site)
        self.diagnosis = Diagnosis(learned, site, recording.provenance.repairs.clock_jumps, stops)
        self.energy = EnergyBooks()
        self.sessions = SessionCounter(learned, site, stops)
        self.balance = BalanceCounter()
        self.minutes = Minutes()
        self.battery = BatteryBook(learned, site)
        self.causes = CauseBook(learned, site, stops)
        self.settings = SettingsBook(learned, site)
        self.suspects = SuspectBook(learned, site)
        self.trends = Trends(self._kept(), len(recording), recording.room)
        self.gaps: list[tuple[int, int]] = []
        self.largest = np.full(len(STREAMS), np.nan)
        self.rows = 0

    def _kept(self) -> tuple[str, ...]:
        streams = tuple(name for name in STREAMS if self.learned.network.has(name))
        return (*streams, *UNACCOUNTED, "chi2")

    def knows(self, learned: Learned, channels: frozenset[str]) -> bool:
        """True where this is what was learned already."""
        return learned == self.learned and channels == self.channels

    def work(
        self,
        recording: Recording,
        stop: int,
        progress: Callable[[float], None] | None = None,
        at_once: int = BLOCK_ROWS,
    ) -> None:
        """Work through the rows up to `stop`.

        progress  is told the share that is done, 0..1
        at_once   rows that are worked through at a time; fewer take less memory
        """
        while self.rows < stop:
            end = min(stop, (self.rows // at_once + 1) * at_once)
            self._take(self.block(recording, self.rows, end), recording.time)
            self.rows = end
            if progress is not None:
                progress(end / stop)

    def block(self, recording: Recording, start: int, stop: int) -> Block:
        """The rows [start, stop), reconciled."""
        block = self.worker.work(recording, start, stop)
        for name in block.channels.keys() - self.channels:
            del block.channels[name]
        return block

    def _take(self, block: Block, time: NDArray[np.int64]) -> None:
        self.energy.extend(block)
        self.sessions.extend(block)
        self.diagnosis.extend(block)
        self.balance.extend(block)
        self.minutes.extend(block)
        self.battery.extend(block)
        self.causes.extend(block)
        self.settings.extend(block)
        self.suspects.extend(block)
        self._keep(block)
        for row in (np.flatnonzero(block.gap) + block.start).tolist():
            self.gaps.append((int(time[row - 1]), int(time[row])))
        highest = np.fmax.reduce(np.abs(block.value), axis=1)
        self.largest = np.fmax(self.largest, highest)

    def _keep(self, block: Block) -> None:
        values = {name: block.value[INDEX[name]] for name in STREAMS}
        values.update(zip(UNACCOUNTED, block.unaccounted, strict=True))
        values["chi2"] = block.chi2
        self.trends.append(values, len(block))

    def unaccounted(self) -> NDArray[np.float32]:
        """(n,) unaccounted power of all places together, W."""
        columns = [self.trends.column(name) for name in UNACCOUNTED]
        known = np.zeros(self.rows, bool)
        total = np.zeros(self.rows, np.float32)
        for column in columns:
            finite = np.isfinite(column)
            known |= finite
            np.add(total, column, out=total, where=finite)
        total[~known] = np.nan
        return total
