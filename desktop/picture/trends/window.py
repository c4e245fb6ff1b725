"""The window of time that is seen, and how it moves."""

from __future__ import annotations

from dataclasses import dataclass

NARROWEST = 1_000_000_000
"""A window is never narrower than a second."""

_MARGIN = 0.01


@dataclass(frozen=True, slots=True)
class TimeWindow:
    """[start, stop) in UTC nanoseconds, kept within [first, last], the whole that there is to see."""

    start: int
    stop: int
    first: int
    last: int

    @classmethod
    def fitted(cls, first: int, last: int) -> TimeWindow:
        """All of it, with a little room at both ends."""
        last = max(last, first + NARROWEST)
        room = round((last - first) * _MARGIN)
        return cls(first - room, last + room, first, last)

    @property
    def span(self) -> int:
        """Nanoseconds."""
        return self.stop - self.start

    @property
    def fits(self) -> bool:
        """True where everything is seen."""
        return self.start <= self.first and self.stop >= self.last

    @property
    def follows(self) -> bool:
        """True where the end of everything is seen."""
        return self.start <= self.last <= self.stop

    def moved(self, nanoseconds: float) -> TimeWindow:
        """Shifted, as far as there is something to see."""
        return self._placed(self.start + round(nanoseconds), self.span)

    def zoomed(self, factor: float, about: int) -> TimeWindow:
        """Narrower (factor < 1) or wider, with the instant `about` staying where it is."""
        whole = TimeWindow.fitted(self.first, self.last)
        span = min(max(round(self.span * factor), NARROWEST), whole.span)
        share = (about - self.start) / self.span
        return self._placed(about - round(share * span), span)

    def showing(self, instant: int) -> TimeWindow:
        """Moved no more than needed to see an instant; it then lies in the middle."""
        if self.start <= instant <= self.stop:
            return self
        return self._placed(instant - self.span // 2, self.span)

    def at_first(self) -> TimeWindow:
        """Moved to the beginning."""
        return self.moved(self.first - self.stop)

    def at_last(self) -> TimeWindow:
        """Moved to the end."""
        return self.moved(self.last - self.start)

    def between(self, start: int, stop: int) -> TimeWindow:
        """From start to stop."""
        return self._placed(start, max(stop - start, NARROWEST))

    def grown(self, first: int, last: int, *, follow: bool = True, most: int | None = None) -> TimeWindow:
        """As there is more to see: everything stays seen, and an end that was seen stays seen.

        follow  False: the same stretch of time stays seen
        most    where everything is seen, no more than this last stretch of it, nanoseconds
        """
        window = TimeWindow(self.start, self.stop, first, last)
        if not follow:
            return window
        if self.fits:
            return window.latest(most)
        return window.moved(max(0, last - self.last)) if self.follows else window

    def latest(self, most: int | None = None) -> TimeWindow:
        """Everything, or no more than the last stretch of it, nanoseconds."""
        whole = TimeWindow.fitted(self.first, self.last)
        if most is None or whole.span <= most:
            return whole
        return TimeWindow(whole.stop - most, whole.stop, self.first, self.last)

    def _placed(self, start: int, span: int) -> TimeWindow:
        whole = TimeWindow.fitted(self.first, self.last)
        span = min(span, whole.span)
        start = min(max(start, whole.start), whole.stop - span)
        return TimeWindow(start, start + span, self.first, self.last)
