"""The fan of a forecast, as it is drawn: from the cursor on, never over what lies before it."""

from __future__ import annotations

import numpy as np

from desktop.charging.forecast.forecast import Fan


def fan_from(fan: Fan, instant: int) -> Fan | None:
    """The part of a fan from an instant (UTC nanoseconds) on; None where less than two points are left.

    At the instant itself its values lie on straight lines between their neighbours.
    """
    later = fan.time > instant
    if not later.any() or (instant > fan.time[0]) + int(later.sum()) < 2:
        return None
    if instant <= fan.time[0]:
        return fan
    time = np.concatenate(([instant], fan.time[later]))
    parts = [np.interp(time.astype(np.float64), fan.time.astype(np.float64), each) for each in _lines(fan)]
    return Fan(time, *parts)


def _lines(fan: Fan) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return fan.low, fan.middle, fan.high
