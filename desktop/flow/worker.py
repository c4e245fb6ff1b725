"""Works through rows of a recording: measures, judges, reconciles and traces them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.flow.block import Block
from desktop.flow.deviations import BEFORE, Deviations, pace
from desktop.flow.learned import Learned
from desktop.flow.measure import STANDING_SD_W
from desktop.flow.observability import Knowledge
from desktop.flow.reconcile import Reconciled, Reconciler
from desktop.flow.streams import INDEX, SINKS, SOURCES, STREAMS
from desktop.flow.trace import Tracer
from desktop.site import Site
from recordings.recording import Recording

Floats = NDArray[np.float64]

AT_ONCE = 16_384
"""Rows that are worked through at a time: what they need stays in the processor's cache."""

_GENERATOR = INDEX["generator"]


class Worker:
    """Reconciles the rows of one recording.

    A row's result depends on what was learned, the site and the rows up to it alone, however they are cut.
    """

    def __init__(self, learned: Learned, site: Site) -> None:
        self.learned = learned
        self.site = site
        metering = learned.metering
        self._streams = sorted(
            {INDEX[name] for name in (*metering.direct, *metering.products)}
            | ({_GENERATOR} if learned.network.has("generator") else set())
        )
        self._deviations = Deviations(metering.percent, metering.floor_w)
        self._reconciler = Reconciler(learned.network, learned.conversion)
        self._tracer = Tracer(learned.network.present)
        self._variance = np.empty((len(STREAMS), AT_ONCE))

    def work(self, recording: Recording, start: int, stop: int) -> Block:
        """Rows [start, stop) of the recording, with a look back at the few rows before them."""
        start, stop, _ = slice(start, stop).indices(len(recording))
        rows, first = max(0, stop - start), max(0, start - BEFORE)
        lacking = BEFORE - (start - first)
        readings = np.empty((len(STREAMS), BEFORE + rows))
        window = slice(first, start + rows)
        channels = self.learned.metering.read(recording, window, readings[:, lacking:])
        still = self._stand_still(channels, readings[:, lacking:])
        # Before the recording's first row nothing had moved.
        readings[:, :lacking] = readings[:, lacking : lacking + 1] if rows else np.nan
        time = recording.time[window]
        step = np.empty(1 + rows)
        step[:lacking] = np.nan
        np.divide(time[1:] - time[:-1], 1e9, out=step[lacking:])
        ahead = BEFORE - lacking
        block = self._block(start, time[ahead:], step[1:], readings[:, BEFORE:])
        block.channels.update((name, values[ahead:]) for name, values in channels.items())
        self._fill(block, readings, step, None if still is None else still[ahead:])
        return block

    def knowledge(self, measured: Floats) -> dict[str, Knowledge]:
        """What is known of each stream in a row whose readings are these, (10,) as in `Block.measured`."""
        return self._reconciler.knowledge(measured)

    def _stand_still(self, channels: dict[str, Floats], measured: Floats) -> NDArray[np.bool_] | None:
        """Where the generator stands still a missing reading of its power is 0."""
        if not self.learned.network.has("generator"):
            return None
        still = self.learned.metering.standing(channels)
        unread = None if still is None else still & np.isnan(measured[_GENERATOR])
        if unread is not None and unread.any():
            if "generator_power" in channels:
                channels["generator_power"] = channels["generator_power"].copy()
            measured[_GENERATOR, unread] = 0.0
        return still

    def _block(self, start: int, time: NDArray[np.int64], step: Floats, measured: Floats) -> Block:
        found = Reconciled.empty(len(time))
        return Block(
            start=start,
            time=time,
            step=step,
            gap=step > self.learned.gap_s,
            channels={},
            measured=measured,
            derived=self.learned.metering.derived,
            value=found.value,
            sd=found.sd,
            unaccounted=found.unaccounted,
            unaccounted_sd=found.unaccounted_sd,
            chi2=found.chi2,
            dof=found.dof,
            traced=np.empty((len(SOURCES), len(SINKS), len(time))),
        )

    def _fill(self, block: Block, readings: Floats, step: Floats, still: NDArray[np.bool_] | None) -> None:
        paces = pace(step, self.learned.interval_s, self.learned.gap_s)
        found = Reconciled(
            block.value, block.sd, block.unaccounted, block.unaccounted_sd, block.chi2, block.dof
        )
        holey = [i for i in self._streams if np.isnan(readings[i].sum())]
        whole = [i for i in self._streams if i not in holey]
        for start in range(0, len(block), AT_ONCE):
            part = slice(start, min(start + AT_ONCE, len(block)))
            variance = self._variance[:, : part.stop - start]
            around = slice(start, part.stop + BEFORE)
            nearby = None if paces is None else paces[start : part.stop + 1]
            self._deviations.variances(readings[:, around], nearby, whole, holey, variance)
            if still is not None:
                self._believe(still[part], block.measured[_GENERATOR, part], variance[_GENERATOR])
            self._reconciler.run(block.measured[:, part], variance, found.part(part), whole)
            self._tracer.run(block.value[:, part], block.traced[:, :, part])

    def _believe(self, still: NDArray[np.bool_], power: Floats, variance: Floats) -> None:
        """A reading near zero of a generator that stands still is zero: its meter's floor is no doubt then."""
        near = 3 * max(self.learned.metering.floor_w[_GENERATOR], STANDING_SD_W)
        variance[still & (np.abs(power) <= near)] = STANDING_SD_W**2
