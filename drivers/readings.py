"""One round of readings of one device, before it becomes a row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Reading:
    """What a device told in one round.

    values       channel → value in the channel's unit and sign; NaN where the device says it has none
    read_at      channel → when it was read, seconds of the monotonic clock
    device_time  UTC nanoseconds by the device's own clock, where it tells
    faults       what went wrong, each one clause
    """

    values: Mapping[str, float]
    read_at: Mapping[str, float]
    device_time: int | None = None
    faults: Sequence[str] = field(default_factory=tuple)
