"""Rows that are missing, and a logger's clock that went back."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from desktop.diagnosis.bursts import Burst, Bursts
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows
from desktop.diagnosis.watch import Told, found
from desktop.words import Phrase
from recordings.provenance import ClockJump

_MERGE_S = 600.0


class Gaps:
    """Steps between rows that are too long to be bridged. Gaps within ten minutes make one finding."""

    def __init__(self, plant: Plant) -> None:
        self._plant = plant
        self._bursts = Bursts(_MERGE_S)
        self._last = 0

    def extend(self, rows: Rows) -> None:
        """Take the next rows."""
        if not len(rows.time):
            return
        here = rows.block.gap & ~np.isnan(rows.block.step)
        if here.any():
            before = np.concatenate(([self._last], rows.time[:-1])).astype(np.int64)[here]
            after = rows.time[here]
            self._bursts.extend(before, after, (after - before) / 1e9, {})
        self._last = int(rows.time[-1])

    def findings(self) -> list[Finding]:
        """What was found so far."""
        return self._bursts.told(
            lambda burst: found("telemetry_gap", burst.start, burst.end, _tell_gap(burst, self._plant))
        )


def _tell_gap(burst: Burst, plant: Plant) -> Told:
    if burst.count == 1:
        text = Phrase("No readings for {time:time}; nothing is assumed of that time.", time=burst.worst)
    else:
        text = Phrase(
            "{count:d} gaps in the readings, the longest of {time:time}; nothing is assumed of that time.",
            count=burst.count,
            time=burst.worst,
        )
    return Told(
        channel="",
        peak=burst.worst,
        threshold=plant.hold_s,
        unit="s",
        title=Phrase("Readings missing"),
        text=text,
        advice=Phrase(
            "Energy of that time isn't counted. If it happens often, look at the logger and its cables."
        ),
    )


def clock_findings(jumps: Sequence[ClockJump]) -> list[Finding]:
    """A finding for each time that the logger's clock went back."""
    return [
        found("clock_jump", min(jump.before, jump.after), max(jump.before, jump.after), _tell_jump(jump))
        for jump in jumps
    ]


def _tell_jump(jump: ClockJump) -> Told:
    seconds = abs(jump.before - jump.after) / 1e9
    return Told(
        channel="",
        peak=seconds,
        threshold=0.0,
        unit="s",
        title=Phrase("The logger's clock jumped"),
        text=Phrase("The logger's clock went back by {time:time}.", time=seconds),
        cause=Phrase("The clock was set, or the logger was started anew."),
        advice=Phrase(
            "Times and energy around it may be off. Let the logger keep UTC, and set its clock by the network."
        ),
    )
