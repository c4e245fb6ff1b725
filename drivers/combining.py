"""One row out of the readings of several devices."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drivers.roles import Role, owns
from drivers.source import Frame
from recordings.channels import CHANNELS

_ADDED = ("W", "A")


@dataclass(frozen=True, slots=True)
class Share:
    """What one device brings to a row.

    role     what it does in the plant, None where that isn't known
    channels all that it gives, whether or not it has told it this time
    values   channel → value; what is absent wasn't read this time
    read_at  channel → when, seconds of the monotonic clock
    """

    role: Role | None
    channels: frozenset[str]
    values: Mapping[str, float]
    read_at: Mapping[str, float]


def combined(shares: Sequence[Share]) -> tuple[dict[str, float], dict[str, float]]:
    """(channel → value, channel → when it was read) of all devices together.

    Where several tell the same channel, those count whose role it is. Their powers and currents are added
    up, of everything else the mean is taken; a sum or mean of which a part is missing is missing (NaN).
    """
    values: dict[str, float] = {}
    read_at: dict[str, float] = {}
    for channel in sorted(set().union(*(share.channels for share in shares))):
        having = [share for share in shares if channel in share.channels]
        if len(having) > 1:
            best = max(owns(share.role, channel) for share in having)
            having = [share for share in having if owns(share.role, channel) == best]
        parts = [share.values.get(channel, math.nan) for share in having]
        value = sum(parts)
        if len(parts) > 1 and CHANNELS[channel].unit not in _ADDED:
            value /= len(parts)
        values[channel] = value
        whens = [share.read_at[channel] for share in having if channel in share.read_at]
        if whens and value == value:
            read_at[channel] = min(whens)
    return values, read_at


def row(
    stamp: int, values: Mapping[str, float], ages: Mapping[str, float], device_time: int | None = None
) -> Frame:
    """A frame of one row; `ages` in seconds before the stamp."""
    columns = {channel: np.array([value], np.float32) for channel, value in values.items()}
    return Frame(np.array([stamp], np.int64), columns, dict(ages), device_time)
