"""Long judgements of a recording that is open are made in a thread, before a page shows them."""

from __future__ import annotations

import logging

from PySide6.QtCore import QObject, Signal

from desktop.review import Review
from desktop.review.growing import GrowingReview
from desktop.window.parts.latest import Latest

JUDGEMENTS: tuple[str, ...] = ("balance", "suspects", "limit_advice", "battery", "fuel", "forecasts")
"""What may take seconds for a long recording, by the name that a review has for it."""

AT_ONCE_ROWS = 20_000
"""Of a recording of no more rows than this everything is said within some tens of milliseconds."""

_WAIT_S = 30.0


class Beforehand(QObject):
    """Makes the judgements of one review at a time.

    came  there is more that can be shown
    """

    came = Signal()
    _made = Signal(int, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._review: Review | None = None
        self._known: set[str] = set()
        self._latest = Latest("looking into it", _WAIT_S)
        self._made.connect(self._take)

    def look_at(self, review: Review) -> None:
        """Make the judgements of this one."""
        if review is self._review:
            return
        self._latest.drop()
        self._review, self._known = review, set()
        # What grows makes its judgements beside by itself.
        if isinstance(review, GrowingReview) or len(review) <= AT_ONCE_ROWS:
            self._known = set(JUDGEMENTS)
            return
        self._latest.begin(self._work, review)

    def knows(self, judgement: str) -> bool:
        """Whether a judgement of JUDGEMENTS can be shown at once."""
        return judgement in self._known

    def give_up(self) -> None:
        """Go on to nothing more, and keep nothing."""
        self._latest.drop()
        self._review, self._known = None, set()

    def close(self) -> None:
        """Give up, and wait for what is under way: no thread may tell what is no longer there."""
        self.give_up()
        self._latest.close()

    def _work(self, token: int, review: Review) -> None:
        for name in JUDGEMENTS:
            if not self._latest.counts(token):
                return
            try:
                getattr(review, name)
            except Exception:
                # It is told where it is shown.
                logging.getLogger(__name__).exception("looking into %s", name)
            if self._latest.counts(token):
                self._made.emit(token, name)

    def _take(self, token: int, name: str) -> None:
        if self._latest.counts(token):
            self._known.add(name)
            self.came.emit()
