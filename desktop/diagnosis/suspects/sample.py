"""Which cells a judgement looks at: some of every state that the plant was in, none of them over and over."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.book import Snapshot

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

MOST_CELLS = 400
COUNTED = 160.0
"""Cells in all that are believed to err by themselves: the others repeat the errors of their like."""

_LEVELS = 4
_ALIKE = 8


def sampled(snapshot: Snapshot) -> tuple[Rows, float]:
    """Numbers of the cells, and how much each counts."""
    known = np.flatnonzero(np.isfinite(snapshot.mean).sum(axis=0) > 1)
    if not len(known):
        return known, 0.0
    _, state = np.unique(_levels(snapshot.mean[:, known]), axis=1, return_inverse=True)
    state = state.ravel()
    picked = known[_spread(state, _ALIKE)]
    if len(picked) > MOST_CELLS:
        picked = known[_spread(state, max(1, _ALIKE * MOST_CELLS // len(picked)))]
    if len(picked) > MOST_CELLS:
        picked = picked[np.linspace(0, len(picked) - 1, MOST_CELLS).round().astype(np.intp)]
    return picked, min(1.0, COUNTED / len(picked))


def _levels(mean: Floats) -> NDArray[np.int8]:
    """(J, n) each reading as one of a few levels within its meter's range."""
    low, high = np.full((2, len(mean)), np.nan)
    read = np.isfinite(mean).any(axis=1)
    if read.any():
        ranges = np.where(np.isfinite(mean[read]), mean[read], np.nan)
        low[read], high[read] = np.nanpercentile(ranges, (2, 98), axis=1)
    width = np.where(high > low, high - low, 1.0)[:, None]
    share = np.nan_to_num((mean - low[:, None]) / width, nan=-1.0)
    levels: NDArray[np.int8] = np.clip(np.floor(share * _LEVELS), -1, _LEVELS).astype(np.int8)
    return levels


def _spread(state: Rows, most: int) -> Rows:
    """Up to `most` rows of each state, spread evenly over its rows; in order."""
    order = np.argsort(state, kind="stable")
    sizes = np.bincount(state)
    first = np.cumsum(sizes) - sizes
    rank = np.arange(len(state)) - first[state[order]]
    size = sizes[state[order]]
    kept = (size <= most) | ((rank * most) // size != ((rank - 1) * most) // size) | (rank == 0)
    return np.sort(order[kept])
