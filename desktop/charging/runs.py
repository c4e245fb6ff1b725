"""The generator's runs under load, found in blocks that follow each other."""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from desktop.charging.currents import leg_currents
from desktop.charging.run import Energies, Run, Stretch, held
from desktop.charging.stops import Facts, carrying_w, generator_w
from desktop.flow.block import Block
from desktop.site import Site

SHORTEST_S = 10.0
"""What carries load for less than this is no run."""

LONGEST_UNSEEN_S = 900.0
"""After more time without a reading it stays open whether the generator ran on: the run ends."""

MARK_ROWS = 1024
"""How many rows must be worked through again at most, to see a run as it stood at any row."""

_NAN = float("nan")

_HAIR_S = 1e-6
"""Sums of the same steps in another order may differ by their last digits."""


class Runs:
    """Finds the runs and counts what each of them gave.

    A dip below the threshold ends a run only when it lasts longer than a gap does (`facts.gap_s`). Missing
    readings don't end it when load was carried on both sides of them, up to a quarter of an hour. The result
    depends on the rows alone, not on how they were cut into blocks.
    """

    def __init__(self, facts: Facts, site: Site) -> None:
        self._generator = site.generator
        self._volts = float(facts.volts or _NAN)
        self._threshold = carrying_w(site)
        self._dip_s = facts.gap_s + _HAIR_S
        self._run: Run | None = None
        self._powers_before: np.ndarray | None = None
        self._soc = _NAN
        self._on = False

    @property
    def standing(self) -> Run | None:
        """The run that isn't over yet."""
        return self._run if self._run is not None and self._run.long_enough(SHORTEST_S) else None

    @property
    def latest(self) -> Run | None:
        """The run that isn't over yet, however short it is."""
        return self._run

    def copy(self) -> Runs:
        """An independent copy, to go on from here in another direction."""
        twin = copy.copy(self)
        twin._run = replace(self._run) if self._run is not None else None
        return twin

    def extend(self, block: Block, marks: dict[int, Runs] | None = None) -> list[Run]:
        """Count the next rows; gives the runs that were over within them.

        marks  takes a copy at each multiple of MARK_ROWS at which a run stands, by row number
        """
        ended: list[Run] = []
        if not len(block) or self._idles(block):
            return ended
        stretch = self._stretch(block)
        self._complete_row_before(stretch)
        for start, stop in stretch.parts(MARK_ROWS):
            after = start
            for first, last in self._groups(stretch, start, stop):
                ended += self._carry(stretch, after, first, last)
                after = last + 1
            ended += self._wait(stretch, after, stop)
            self._soc, self._on = float(stretch.soc[stop - 1]), bool(stretch.on[stop - 1])
            # Within a block a row's energy already holds the half step after it.
            self._powers_before = stretch.powers[:, -1].copy() if stop == len(block) else None
            if marks is not None and self._run is not None and (block.start + stop) % MARK_ROWS == 0:
                marks[block.start + stop] = self.copy()
        return ended

    def _idles(self, block: Block) -> bool:
        """True where there is nothing to count; the block is then done with."""
        if self._run is not None or self._on or bool((generator_w(block) > self._threshold).any()):
            return False
        self._soc = float(held(block.channel("battery_soc"), self._soc)[-1])
        self._powers_before = None
        return True

    def _stretch(self, block: Block) -> Stretch:
        generator = self._generator
        currents = leg_currents(block, self._volts, generator.legs, generator.power_factor)
        return Stretch.of(block, self._threshold, self._on, self._soc, currents)

    def _complete_row_before(self, stretch: Stretch) -> None:
        run = self._run
        if run is None or self._powers_before is None:
            return
        rest = stretch.second_half(self._powers_before)
        if run.latest == stretch.block.start - 1:
            run.body += rest
        else:
            run.tail += rest

    def _groups(self, stretch: Stretch, start: int, stop: int) -> Iterator[tuple[int, int]]:
        """First and last row of each group of rows under load that no long pause divides."""
        rows = start + np.flatnonzero(stretch.carrying[start:stop])
        if not rows.size:
            return
        paused = np.diff(stretch.quiet[rows]) > self._dip_s
        paused |= np.diff(stretch.unseen[rows]) > LONGEST_UNSEEN_S
        ends = np.flatnonzero(paused)
        firsts = rows[np.concatenate(([0], ends + 1))]
        lasts = rows[np.concatenate((ends, [rows.size - 1]))]
        yield from zip(firsts.tolist(), lasts.tolist(), strict=True)

    def _carry(self, stretch: Stretch, after: int, first: int, last: int) -> list[Run]:
        """Take a group of rows under load into the open run, or begin a new one with it."""
        self._pause(stretch, after, first + 1)
        ended = self._over()
        run = self._run
        if run is None:
            run = self._run = self._begin(stretch, first)
            run.body += stretch.between(first, last + 1)
        else:
            run.body += run.tail + stretch.between(after, last + 1)
        run.tail, run.quiet_s, run.unseen_s = Energies(), 0.0, 0.0
        run.latest, run.end = stretch.block.start + last, int(stretch.block.time[last])
        run.soc_end = float(stretch.soc[last])
        if math.isnan(run.soc_start):
            run.soc_start = stretch.first_soc(first, last + 1)
        run.peak_a = float(np.fmax(run.peak_a, stretch.peak(first, last + 1)))
        return ended

    def _begin(self, stretch: Stretch, row: int) -> Run:
        number, time = stretch.block.start + row, int(stretch.block.time[row])
        return Run(number, number, time, time, float(stretch.soc[row]), _NAN, _NAN)

    def _wait(self, stretch: Stretch, after: int, stop: int) -> list[Run]:
        """Keep what came after the latest row under load, in case that load comes back."""
        if self._run is None or after >= stop:
            return []
        self._run.tail += stretch.between(after, stop)
        self._pause(stretch, after, stop)
        return self._over()

    def _pause(self, stretch: Stretch, after: int, stop: int) -> None:
        run = self._run
        if run is None or stop <= after:
            return
        quiet, unseen = (stretch.quiet[after - 1], stretch.unseen[after - 1]) if after else (0.0, 0.0)
        run.quiet_s += float(stretch.quiet[stop - 1] - quiet)
        run.unseen_s += float(stretch.unseen[stop - 1] - unseen)

    def _over(self) -> list[Run]:
        run = self._run
        if run is None or (run.unseen_s <= LONGEST_UNSEEN_S and run.quiet_s <= self._dip_s):
            return []
        self._run = None
        return [run] if run.long_enough(SHORTEST_S) else []
