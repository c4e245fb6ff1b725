"""The plant's clock: seconds since the scenario's start, and what they are in local and universal time."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class Clock:
    """Turns the local times of a scenario into seconds since its start, and those into UTC nanoseconds."""

    def __init__(self, start: datetime, timezone: str) -> None:
        self._zone = ZoneInfo(timezone)
        self._local = start.replace(tzinfo=self._zone)
        self._start = self._local.astimezone(UTC)
        self.start_ns = round((self._start - _EPOCH).total_seconds()) * 1_000_000_000

    def seconds(self, at: time, day: int = 1) -> float:
        """Seconds from the start to a local time of the scenario's nth day; negative before the start."""
        date = self._local.date() + timedelta(days=day - 1)
        return (datetime.combine(date, at, self._zone).astimezone(UTC) - self._start).total_seconds()

    def next(self, at: time, after: float) -> float:
        """The first moment later than `after` (s) at which the local clock shows this time."""
        day = (self.local(after).date() - self._local.date()).days
        while (moment := self.seconds(at, day)) <= after:
            day += 1
        return moment

    def local(self, seconds: float) -> datetime:
        """The local date and time at a moment."""
        return (self._start + timedelta(seconds=seconds)).astimezone(self._zone)

    def days_since_2000(self, seconds: float) -> float:
        """Days since 2000-01-01 12:00 UTC, as the almanac counts."""
        return (self.start_ns / 1e9 + seconds - 946_728_000.0) / 86_400.0
