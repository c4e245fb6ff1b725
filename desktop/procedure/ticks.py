"""What a person said: which steps are done, and that a charge begins anew."""

from __future__ import annotations


class Ticks:
    """Ticks and new beginnings with their times, UTC nanoseconds by the readings' clock."""

    def __init__(self) -> None:
        self._ticks: dict[str, list[int]] = {}
        self._anew: list[int] = []

    @property
    def anew(self) -> tuple[int, ...]:
        """When a person began anew, in order."""
        return tuple(sorted(self._anew))

    def begin_anew(self, time: int, until: int) -> None:
        """From a time on it is another charge. What was ticked from then until now belonged to the one before."""
        for key in self._ticks:
            self.untick(key, time, until)
        self._anew.append(time)

    def at(self, key: str, since: int, until: int) -> int | None:
        """When a step was ticked, within these instants."""
        found = [time for time in self._ticks.get(key, ()) if since <= time <= until]
        return max(found, default=None)

    def any(self, since: int, until: int) -> bool:
        """Whether anything was ticked within these instants."""
        return any(self.at(key, since, until) is not None for key in self._ticks)

    def tick(self, key: str, time: int) -> None:
        """A step is done."""
        self._ticks.setdefault(key, []).append(time)

    def untick(self, key: str, since: int, until: int) -> None:
        """It isn't, as to these instants."""
        kept = [time for time in self._ticks.get(key, ()) if not since <= time <= until]
        self._ticks[key] = kept
