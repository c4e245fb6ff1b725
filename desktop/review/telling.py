"""Which instants of a review are worth a look."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from desktop.diagnosis.finding import SEVERITIES, Finding
from desktop.flow.streams import CHANNEL_OF, STREAMS

if TYPE_CHECKING:
    from desktop.review.reviewing import Review

_AFTER_S = 5.0
"""What follows a stop is told by the readings shortly after it: the house must be carried by something else."""

_MOST_ROWS = 20_000


def most_telling(review: Review) -> int:
    """The instant to show first (UTC nanoseconds).

    The most urgent finding at its worst, else the middle of the longest session, else the instant at which the
    battery is charged hardest; the end, where nothing tells.
    """
    time = review.recording.time
    if not len(time):
        return 0
    urgent = [each for each in review.findings if each.severity != "note"]
    if urgent:
        return worst(review, min(urgent, key=lambda each: (SEVERITIES.index(each.severity), each.start)))
    if review.sessions:
        longest = max(review.sessions, key=lambda each: each.end - each.start)
        return (longest.start + longest.end) // 2
    charged = np.nan_to_num(review.stream("battery"), nan=0.0)
    return int(time[int(charged.argmax())]) if charged.max() > 0 else int(time[-1])


def typical(review: Review, start: int, end: int) -> int:
    """The instant of a span (UTC nanoseconds) whose powers are nearest to the span's own medians, all in all."""
    time = review.recording.time
    first, stop = np.searchsorted(time, start), np.searchsorted(time, end, side="right")
    rows = np.arange(first, max(stop, first + 1))
    rows = rows[:: max(1, len(rows) // _MOST_ROWS)]
    away = np.zeros(len(rows))
    for name in STREAMS:
        power = review.stream(name)[rows].astype(np.float64)
        if np.isfinite(power).any():
            # A row in which something isn't known is no typical one where others know it.
            distance = np.abs(power - np.nanmedian(power))
            away += np.where(np.isfinite(distance), distance, 2 * np.nanmax(distance) + 1.0)
    return int(time[rows[int(np.argmin(away))]])


def worst(review: Review, finding: Finding) -> int:
    """The instant at which a finding is seen best."""
    time = review.recording.time
    if finding.kind == "generator_stopped_under_load":
        after = finding.start + round(_AFTER_S * 1e9)
        return min(after, finding.end or after, int(time[-1]))
    until = int(time[-1]) if finding.end is None else finding.end
    first, stop = np.searchsorted(time, finding.start), np.searchsorted(time, until, side="right")
    values = _values(review, finding.channel)
    if stop <= first or values is None or not np.isfinite(values[first:stop]).any():
        return finding.start
    part = np.abs(values[first:stop])
    lowest = finding.peak < finding.threshold
    return int(time[first + int(np.nanargmin(part) if lowest else np.nanargmax(part))])


def _values(review: Review, channel: str) -> np.ndarray | None:
    """What tells most of a channel: its readings, else the stream that stands for it."""
    if channel in review.recording:
        return review.recording.column(channel)
    for name, power in CHANNEL_OF.items():
        if channel == power:
            return review.stream(name)
    if channel.startswith(("generator_current", "input")):
        return review.stream("generator")
    return None
