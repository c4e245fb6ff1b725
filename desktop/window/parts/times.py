"""Clock times of one recording."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, tzinfo

from desktop.words import local


@dataclass(frozen=True, slots=True)
class Times:
    """Writes instants (UTC nanoseconds) by the site's clock, with the day where the recording has several."""

    first: int = 0
    last: int = 0
    zone: tzinfo = UTC

    @property
    def several_days(self) -> bool:
        """True where a time of day alone doesn't tell which is meant."""
        return local(self.first, self.zone).date() != local(self.last, self.zone).date()

    def __call__(self, instant: int, *, seconds: bool = True) -> str:
        """`14:03:20`, or `2026-02-14 14:03:20`."""
        form = "%H:%M:%S" if seconds else "%H:%M"
        return local(instant, self.zone).strftime(f"%Y-%m-%d {form}" if self.several_days else form)

    def day(self, instant: int) -> str:
        """`2026-02-14`."""
        return local(instant, self.zone).strftime("%Y-%m-%d")

    def clock(self, instant: int) -> str:
        """`14:03:20`."""
        return local(instant, self.zone).strftime("%H:%M:%S")
