"""What a person said: which steps are done, and that a charge begins anew."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Tick:
    """A step and when it was done, as a person said at a time that may be later. UTC nanoseconds."""

    key: str
    done: int
    said: int


class Ticks:
    """Ticks and new beginnings with their times, UTC nanoseconds by the readings' clock."""

    def __init__(self) -> None:
        self._ticks: list[Tick] = []
        self._anew: list[tuple[int, list[Tick]]] = []

    def __bool__(self) -> bool:
        return bool(self._ticks or self._anew)

    @property
    def anew(self) -> tuple[int, ...]:
        """When a person began anew, in order."""
        return tuple(sorted(time for time, _ in self._anew))

    @property
    def last_anew(self) -> int | None:
        """The beginning that was said last; None where there is none to be taken back."""
        return self._anew[-1][0] if self._anew else None

    def take_over(self, other: Ticks) -> None:
        """What was said there was said of this plant."""
        self._ticks += other._ticks
        self._anew += other._anew
        other._ticks, other._anew = [], []

    def begin_anew(self, time: int, until: int) -> None:
        """From a time on it is another charge. What was ticked from then until now belonged to the one before."""
        gone = [one for one in self._ticks if time <= one.done <= until]
        self._ticks = [one for one in self._ticks if one not in gone]
        self._anew.append((time, gone))

    def take_back_anew(self) -> None:
        """The beginning that was said last wasn't meant: all stands as before, with what was ticked since."""
        if self._anew:
            _, gone = self._anew.pop()
            self._ticks = gone + self._ticks

    def of(self, key: str, since: int, until: int) -> Tick | None:
        """The latest tick of a step, of those within these instants."""
        found = [one for one in self._ticks if one.key == key and since <= one.done <= until]
        return max(found, key=lambda one: one.done, default=None)

    def last(self, since: int, until: int) -> str | None:
        """The step that was ticked last, of those ticked within these instants."""
        return next((one.key for one in reversed(self._ticks) if since <= one.done <= until), None)

    def tick(self, key: str, done: int, said: int | None = None) -> None:
        """A step is done. `said`: when a person said so, where that is later."""
        self._ticks.append(Tick(key, done, done if said is None else said))

    def untick(self, key: str, since: int, until: int) -> None:
        """It isn't, as to these instants."""
        self._ticks = [one for one in self._ticks if not (one.key == key and since <= one.done <= until)]

    def untick_last(self, key: str) -> None:
        """The latest tick of a step wasn't meant."""
        places = [place for place, one in enumerate(self._ticks) if one.key == key]
        if places:
            del self._ticks[places[-1]]
