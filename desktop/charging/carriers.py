"""Who carried the house, stretch by stretch: generator, grid, or battery and sun."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from desktop.charging.stops import carrying_w
from desktop.flow.minutes import Minutes
from desktop.site import Site

Carrier = Literal["generator", "grid", "generator and grid", "battery and sun", "not known"]

GRID_W = 50.0
"""A grid that gives more than this carries the house."""

LEAST_MINUTES = 3
"""What lasts less belongs to what was before it."""

_NAMES: tuple[Carrier, ...] = ("battery and sun", "generator", "grid", "generator and grid", "not known")


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch with one carrier, from the start of its first minute to the end of its last, UTC nanoseconds."""

    start: int
    end: int
    by: Carrier


def carriers(minutes: Minutes, site: Site) -> tuple[Stretch, ...]:
    """The stretches in order; minutes without any row end one. A pure function."""
    if not len(minutes):
        return ()
    number = _smoothed(_by_minute(minutes, site))
    width = round(minutes.width_s * 1e9)
    time = minutes.time
    breaks = np.flatnonzero((np.diff(number) != 0) | (np.diff(time) > width)) + 1
    edges = [0, *breaks.tolist(), len(number)]
    return tuple(
        Stretch(int(time[first]), int(time[stop - 1]) + width, _NAMES[int(number[first])])
        for first, stop in pairwise(edges)
    )


def grid_away(stretches: tuple[Stretch, ...]) -> Iterator[Stretch]:
    """The times between two stretches with the grid in which it gave nothing."""
    with_grid = [number for number, one in enumerate(stretches) if "grid" in one.by]
    for before, after in pairwise(with_grid):
        if after > before + 1:
            between = stretches[before + 1 : after]
            yield Stretch(between[0].start, between[-1].end, between[-1].by)


def _by_minute(minutes: Minutes, site: Site) -> NDArray[np.int64]:
    generator, grid = minutes.stream("generator"), minutes.stream("grid")
    by = np.where(generator > carrying_w(site), 1, 0) + np.where(grid > GRID_W, 2, 0)
    return np.where(np.isnan(generator) & ~(grid > GRID_W), 4, by)


def _smoothed(number: NDArray[np.int64]) -> NDArray[np.int64]:
    """Runs shorter than LEAST_MINUTES take the number of the run before; a short first one that of the next."""
    edges = [0, *(np.flatnonzero(np.diff(number)) + 1).tolist(), len(number)]
    runs: list[tuple[int, int]] = []
    for first, stop in pairwise(edges):
        if runs and (stop - first < LEAST_MINUTES or int(number[first]) == runs[-1][0]):
            runs[-1] = (runs[-1][0], runs[-1][1] + stop - first)
        else:
            runs.append((int(number[first]), stop - first))
    if len(runs) > 1 and runs[0][1] < LEAST_MINUTES:
        runs[:2] = [(runs[1][0], runs[0][1] + runs[1][1])]
    return np.repeat([kind for kind, _ in runs], [length for _, length in runs])
