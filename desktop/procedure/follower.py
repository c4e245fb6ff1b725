"""Follows a cursor through a review's rows, forwards by the rows between, backwards from a mark before."""

from __future__ import annotations

from desktop.diagnosis.plant import Plant
from desktop.procedure.progress import Progress
from desktop.procedure.signs import signs_of
from desktop.review import Review

MARK_ROWS = 65_536
"""How many rows must be taken again at most."""


class Follower:
    """What the rows of a review show up to any of them."""

    def __init__(self, review: Review) -> None:
        self._review = review
        self._anew: tuple[int, ...] = ()
        self._learned = review.learned
        self.plant = Plant.of(review.learned, review.site)
        self._stop = 0
        self._progress = Progress(review.gap_s)
        self._marks = {0: self._progress.copy()}

    def at(self, row: int, anew: tuple[int, ...] = ()) -> Progress:
        """What the rows up to and with this one show. Nobody may change it.

        anew  instants at which a person said that another charge begins
        """
        if self._learned is not self._review.learned or anew != self._anew:
            # A review that learned something new has worked through the past anew.
            self._anew = anew
            self._restart()
        stop = min(row + 1, len(self._review))
        if stop < self._stop:
            self._stop = stop // MARK_ROWS * MARK_ROWS
            self._progress = self._marks[self._stop].copy()
        while self._stop < stop:
            self._go_on(stop)
        return self._progress

    def _restart(self) -> None:
        self._learned = self._review.learned
        self.plant = Plant.of(self._learned, self._review.site)
        self._stop = 0
        self._progress = Progress(self._learned.gap_s)
        self._marks = {0: self._progress.copy()}

    def _go_on(self, stop: int) -> None:
        end = min(stop, (self._stop // MARK_ROWS + 1) * MARK_ROWS)
        self._progress.extend(signs_of(self._review, self.plant, self._stop, end), self._anew)
        self._stop = end
        if end % MARK_ROWS == 0:
            self._marks.setdefault(end, self._progress.copy())
