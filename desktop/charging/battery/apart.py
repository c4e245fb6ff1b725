"""Where the reported state of charge leaves the one that was counted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from desktop.charging.battery.facts import OwnSoc

ALLOWED = 10.0
"""Percentage points, beside two standard deviations of the count."""

LEAST_S = 1800.0


@dataclass(frozen=True, slots=True)
class Apart:
    """A stretch in which they part. Times UTC nanoseconds; reported and counted (percent) where it is worst."""

    start: int
    end: int
    reported: float
    counted: float
    sd: float


def stretches_apart(own: OwnSoc) -> list[Apart]:
    """Stretches of LEAST_S and more in which the gauge is off by more than counting may err, in order of time."""
    off = np.abs(own.reported - own.soc)
    beyond = np.concatenate(([False], off > ALLOWED + 2 * own.sd, [False]))
    edges = np.flatnonzero(np.diff(beyond))
    found = []
    for first, after in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        start, end = int(own.time[first]), int(own.time[after - 1])
        if end - start >= LEAST_S * 1e9:
            worst = first + int(np.argmax(off[first:after]))
            found.append(
                Apart(start, end, float(own.reported[worst]), float(own.soc[worst]), float(own.sd[worst]))
            )
    return found
