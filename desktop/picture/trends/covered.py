"""Which pixels curves cover, column by column, so that nothing is written over them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from desktop.picture.trends.columns import Floats, Points, Spans

Covered = tuple[Floats, Floats]
"""(count,) the topmost and the lowest pixel that a curve covers in each column; NaN where there is none."""


def covered(what: Points | Spans, count: int, to_pixels: Callable[[Floats], Floats]) -> Covered:
    """What a curve covers in `count` columns. `to_pixels` turns its values into pixels from the top."""
    if isinstance(what, Spans):
        return to_pixels(what.high), to_pixels(what.low)
    if not len(what.at):
        return np.full(count, np.nan), np.full(count, np.nan)
    between = to_pixels(np.interp(np.arange(count) + 0.5, what.at, what.value))
    return between, between


def crosses(curves: Sequence[Covered], columns: slice, top: float, bottom: float) -> bool:
    """True where a curve runs between two pixels from the top anywhere in these columns."""
    return any(
        bool(np.any((highest[columns] < bottom) & (lowest[columns] > top))) for highest, lowest in curves
    )
