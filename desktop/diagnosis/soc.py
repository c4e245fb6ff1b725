"""The reported state of charge against what flowed into the battery."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.alarm import Event, Stage, Treatment
from desktop.diagnosis.bursts import Burst, Bursts
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows
from desktop.diagnosis.trackers import Previous
from desktop.diagnosis.watch import Floats, Reading, Told, Watch, during, found
from desktop.words import Phrase

Times = NDArray[np.int64]

JUMP = 3.0
"""Percentage points between two readings beyond what flowed; a gauge may show steps of one."""

BARE_JUMP = 5.0
"""The same where the capacity isn't known."""

_FASTEST_PER_S = 100.0 / 3600
"""Without capacity: no faster than full in one hour."""

_MERGE_S = 600.0
_DISAGREE, _DISAGREE_SHARE, _DISAGREE_SHARE_LEAD = 10.0, 0.15, 0.25
_DAY = 86_400_000_000_000


@dataclass(frozen=True, slots=True)
class Steps:
    """Neighbouring readings of the state of charge: (n,) each, for the rows that have one.

    moved    by how many points it moved since the reading before; NaN after a gap and ahead of the first
    counted  by how many points what flowed in should have moved it; NaN where not known
    """

    time: Times
    before: Times
    soc: Floats
    soc_before: Floats
    moved: Floats
    counted: Floats


class Gauge:
    """Follows the state of charge and the power beside it, row by row."""

    def __init__(self, plant: Plant) -> None:
        self._plant = plant
        self._soc, self._power = Previous(), Previous()

    def steps(self, rows: Rows) -> Steps:
        """The readings of these rows."""
        read = rows.block.channel("battery_soc")
        here = ~np.isnan(read)
        time, soc = rows.time[here], read[here]
        power = rows.power("battery")[here]
        before, soc_before = self._soc.extend(time, soc)
        _, power_before = self._power.extend(time, power)
        seconds = (time - before) / 1e9
        bridged = seconds <= self._plant.slow_hold_s
        moved = np.where(bridged, soc - soc_before, np.nan)
        counted = 0.5 * (power + power_before) * seconds / 3600 / self._plant.capacity_wh * 100
        return Steps(time, before, soc, soc_before, moved, np.where(bridged, counted, np.nan))


class SocJumps:
    """State of charge that moves faster than charge can flow. Jumps within ten minutes make one finding."""

    def __init__(self, plant: Plant) -> None:
        self._gauge = Gauge(plant)
        self._bursts = Bursts(_MERGE_S)

    def extend(self, rows: Rows) -> None:
        """Take the next rows."""
        if "battery_soc" not in rows.block.channels:
            return
        steps = self._gauge.steps(rows)
        seconds = (steps.time - steps.before) / 1e9
        blind = np.isnan(steps.counted)
        allowed = np.where(blind, BARE_JUMP + _FASTEST_PER_S * seconds, JUMP + 0.5 * np.abs(steps.counted))
        beyond = np.abs(steps.moved - np.where(blind, 0.0, steps.counted))
        jumped = beyond > allowed
        if not jumped.any():
            return
        noted = {"was": steps.soc_before[jumped], "became": steps.soc[jumped], "allowed": allowed[jumped]}
        self._bursts.extend(steps.before[jumped], steps.time[jumped], np.abs(steps.moved[jumped]), noted)

    def findings(self) -> list[Finding]:
        """What was found so far."""
        return self._bursts.told(lambda burst: found("soc_jump", burst.start, burst.end, _tell_jump(burst)))


def _tell_jump(jump: Burst) -> Told:
    again = Phrase("")
    if jump.count > 1:
        again = Phrase(" It jumped {count:d} times.", count=jump.count)
    return Told(
        channel="battery_soc",
        peak=jump.worst,
        threshold=jump.noted["allowed"],
        unit="%",
        title=Phrase("State of charge jumped"),
        text=Phrase(
            "State of charge went from {was:%} to {became:%} at once; no such charge flowed.{again}",
            was=jump.noted["was"],
            became=jump.noted["became"],
            again=again,
        ),
        cause=Phrase(
            "The gauge was set anew, or lost count: after a full charge or a restart that is usual."
        ),
        advice=Phrase(
            "Don't rely on the percentage from before. If it happens often, let the battery charge full once, and "
            "check that the gauge knows the battery's capacity."
        ),
    )


class _Count:
    """What has flowed since the anchor: the first reading after a gap, a jump or midnight (UTC)."""

    def __init__(self, plant: Plant) -> None:
        self._gauge = Gauge(plant)
        self._share = _DISAGREE_SHARE_LEAD if plant.lead_acid else _DISAGREE_SHARE
        self._sum = 0.0
        self._through = 0.0
        self._anchor = (0.0, 0.0, np.nan)

    def measure(self, rows: Rows) -> Reading | None:
        steps = self._gauge.steps(rows)
        n = len(rows.time)
        if not len(steps.time):
            return Reading(np.full(n, np.nan), np.nan)
        fresh = np.isnan(steps.moved) | np.isnan(steps.counted)
        fresh |= np.abs(steps.moved - steps.counted) > JUMP + 0.5 * np.abs(steps.counted)
        fresh |= steps.time // _DAY != steps.before // _DAY
        counted = np.where(fresh, 0.0, steps.counted)
        # Added up one after another, so that blocks may be cut anywhere.
        total = np.cumsum(np.concatenate(([self._sum], counted)))[1:]
        through = np.cumsum(np.concatenate(([self._through], np.abs(counted))))[1:]
        base = self._since(fresh, total, through, steps.soc)
        off = steps.soc - (base[2] + (total - base[0]))
        allowed = _DISAGREE + self._share * (through - base[1])
        self._sum, self._through = float(total[-1]), float(through[-1])
        self._anchor = (float(base[0][-1]), float(base[1][-1]), float(base[2][-1]))
        here = ~np.isnan(rows.block.channel("battery_soc"))
        return Reading(
            _spread(np.abs(off), here),
            _spread(allowed, here),
            {"soc": _spread(steps.soc, here), "off": _spread(off, here)},
        )

    def _since(
        self, fresh: np.ndarray, total: Floats, through: Floats, soc: Floats
    ) -> tuple[Floats, Floats, Floats]:
        latest = np.maximum.accumulate(np.where(fresh, np.arange(len(fresh)), -1))
        within = latest >= 0
        return (
            np.where(within, total[latest], self._anchor[0]),
            np.where(within, through[latest], self._anchor[1]),
            np.where(within, soc[latest], self._anchor[2]),
        )


def _spread(values: Floats, here: np.ndarray) -> Floats:
    spread = np.full(len(here), np.nan)
    spread[here] = values
    return spread


def soc_disagrees(plant: Plant) -> Watch:
    """Reported state of charge that leaves what was counted, by more than counting itself may err."""
    count = _Count(plant)
    return Watch(
        "soc_disagrees",
        Treatment((Stage(600.0),), 600.0, plant.slow_hold_s, deadband=2.0),
        count.measure,
        partial(_tell_count, plant),
        applies=lambda rows: plant.capacity_wh > 0 and "battery_soc" in rows.block.channels,
    )


def _tell_count(plant: Plant, event: Event) -> Told:
    soc, off = event.at_peak["soc"], event.at_peak["off"]
    return Told(
        channel="battery_soc",
        peak=event.peak,
        threshold=event.threshold,
        unit="%",
        title=Phrase("State of charge disagrees with what flowed"),
        text=Phrase(
            "The gauge read {soc:%} where counting the battery's power gives {counted:%}{during}.",
            soc=soc,
            counted=soc - off,
            during=during(event),
        ),
        cause=Phrase(
            "The gauge, the battery's power meter, or the {capacity:Wh} of the site sheet is wrong.",
            capacity=plant.capacity_wh,
        ),
        advice=Phrase(
            "Check sign and scale of the battery meter first, then the capacity in the site sheet."
        ),
    )
