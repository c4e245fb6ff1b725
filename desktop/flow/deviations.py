"""How good each reading is: one standard deviation per sample, from the meter's class and from skew.

    variance = (percent·reading)² + floor² + (rate of change · skew)²

Meters aren't read at the same instant. So a reading that has just moved may belong to the row before or after,
and the others may follow a row late. The skew is one interval; the rate is the greater of those into the row
and into the row before. Rows that come later are never looked at.
"""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from desktop.flow.forms import Scratch

Floats = NDArray[np.float64]

BEFORE = 2
"""How many earlier rows a row's deviations depend on."""

LEAST_W = 0.1
"""No meter is believed to be better than this, whatever its class."""


def pace(step: Floats, interval_s: float, gap_s: float) -> Floats | None:
    """(n,) square of the share of a change over each step that skew may hide; None where it is 1 throughout.

    All of it within the longest step that is bridged: nobody knows when in the step it came. Beyond, as much as
    comes in one interval at an even rate.

    step  (n,) s, above zero; NaN where there is no row before
    """
    if not np.fmax.reduce(step, initial=0.0) > gap_s:
        return None
    with np.errstate(invalid="ignore"):
        return np.where(step > gap_s, (interval_s / step) ** 2, 1.0)


class Deviations:
    """Variances of readings.

    percent, floor_w  (10,) the class of each stream's meter
    """

    def __init__(self, percent: tuple[float, ...], floor_w: tuple[float, ...]) -> None:
        self._percent = [(share / 100) ** 2 for share in percent]
        self._floor = [max(floor, LEAST_W) ** 2 for floor in floor_w]
        self._scratch = Scratch()

    def variances(
        self,
        readings: Floats,
        pace: Floats | None,
        whole: Collection[int],
        holey: Collection[int],
        out: Floats,
    ) -> None:
        """Variances of some streams into the rows of `out` (10, n), W²; NaN where there is no reading.

        readings      (10, BEFORE + n) W, with the rows just before
        pace          (1 + n,) for the steps into the last row before and into each row
        whole, holey  the streams: those that have every reading, and the others
        """
        self._scratch.begin(readings.shape[1] - 1)
        change, own = self._scratch.take(), self._scratch.take()[1:]
        for stream in (*whole, *holey):
            series, now, spread = readings[stream], readings[stream, BEFORE:], out[stream]
            np.subtract(series[1:], series[:-1], out=change)
            np.multiply(change, change, out=change)
            if pace is not None:
                np.multiply(change, pace, out=change)
            np.maximum(change[1:], change[:-1], out=spread)
            if stream in holey:
                np.copyto(spread, _over_holes(series, change, pace))
            np.multiply(now, now, out=own)
            np.multiply(own, self._percent[stream], out=own)
            np.add(own, self._floor[stream], out=own)
            np.add(spread, own, out=spread)


def _over_holes(series: Floats, change: Floats, pace: Floats | None) -> Floats:
    """The same where readings are missing: a change over one missing row counts from the row before that."""
    whole = (series[BEFORE:] - series[:-BEFORE]) ** 2
    if pace is not None:
        whole *= np.minimum(pace[1:], pace[:-1])
    one = np.where(np.isnan(change[1:]), whole, change[1:])
    moved: Floats = np.fmax(np.fmax(one, change[:-1]), 0.0)
    return moved


def deviations(
    readings: Floats,
    step: Floats,
    interval_s: float,
    gap_s: float,
    percent: tuple[float, ...],
    floor_w: tuple[float, ...],
) -> Floats:
    """(10, n) standard deviations of a recording's readings from its first row on, W; NaN without a reading.

    readings    (10, n) W
    step        (n,) s since the row before, NaN in the first row
    interval_s  the skew; gap_s: the longest step that is bridged
    percent, floor_w  (10,) the classes of the meters
    """
    first = np.repeat(readings[:, :1], BEFORE, axis=1)
    out = np.full(readings.shape, np.nan)
    Deviations(percent, floor_w).variances(
        np.hstack((first, readings)),
        pace(np.concatenate(([np.nan], step)), interval_s, gap_s),
        (),
        range(len(readings)),
        out,
    )
    np.sqrt(out, out=out)
    return out
